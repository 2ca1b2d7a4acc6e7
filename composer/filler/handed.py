"""What every kind of filler takes from the plan's hand, whatever the kind itself reads of it.

Line widths and tapers are the kinds' own affair (`Hand.outline_mm` ... `Hand.tip_mm`). Here: how full
(density), rounded corners, unsteady lines, and the tone of kinds that have no shading of their own. With
the usual hand nothing is changed, to the byte.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, End, Layer, geometry_to_rings
from composer.filler.filigree_room import room_of
from composer.filler.graded import graded
from composer.filler.ground import Ground, Wish
from composer.filler.lightning_bolt import hollow
from composer.plan.model import Hand

Draw = Callable[[Ground, Hand, Wish, np.random.Generator], Drawing | None]
Field = Callable[[np.ndarray], np.ndarray]

DENSER = 0.7
"""How far the hand's density shifts that of the wish, from one end to the other."""
SHAKE_MM, WAVES_MM = 0.16, (11.0, 24.0)
"""How far (root mean square) lines wander with a full wobble, and over what lengths."""
SLACK_MM = 0.45
"""Lines are laid so much further apart for a full wobble, so that they keep their gap."""
HELD_MM = 3.0
"""Within this of the edge of the open skin lines wander less."""
ROUND_MM = 1.8
"""How far from a corner its rounding begins, with full softness."""
CORNER_DEG = (22.0, 130.0)
"""Turns that are corners: less is a curve, more is a tip."""
PALE_SELF = frozenset({"cloud", "wind", "waves", "smoke", "stipple", "rocks", "rope", "band"})
DARK_SELF = frozenset({"cloud", "waves", "stipple", "rocks", "rope"})
"""Kinds that grow paler, darker, with the hand by themselves."""
TONE_SELF = frozenset({"stipple"})
"""Kinds that follow the field of tone dot by dot."""
SHADE_MM, BELOW = 2.2, (0.5, -0.87)
"""How far lines cast their shade with a hand of full darkness, mm, and to which side: light falls from
above on the left, as the house's motifs are lit."""
OPEN_MM = 3.5
"""So much wider than the line gap black may still be in a hand of nearly usual darkness."""


def in_hand(draw: Draw, kind: str, ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
    """What a kind draws, in this hand, as dark as the ground's tone lets it be. None where the kind draws nothing."""
    at, hand, wish = asked(ground, hand, wish)
    tone = ground.tone
    made = draw(at, hand, wish, rng)
    if made is None:
        return None
    if hand.dark != 0.5 and kind not in (PALE_SELF if hand.dark < 0.5 else DARK_SELF):
        made = toned(made, hand, ground.line_gap_mm)
    if hand.corner > 0:
        made = mapped(made, lambda ring: rounded(ring, ROUND_MM * hand.corner))
    if hand.wobble > 0:
        made = shaken(made, ground, SHAKE_MM * hand.wobble, rng)
    return made if tone is None or kind in TONE_SELF else graded(made, tone, hand, ground.line_gap_mm, rng)


def asked(ground: Ground, hand: Hand, wish: Wish) -> tuple[Ground, Hand, Wish]:
    """What a kind is asked to draw on, with and for in this hand."""
    dense = float(np.clip(wish.density + DENSER * (hand.density - 0.5), 0.0, 1.0))
    wish = wish if dense == wish.density else replace(wish, density=dense)
    if ground.tone is not None:
        hand = replace(hand, dark=ground.tone.darkest)
    if hand.wobble > 0:
        ground = replace(ground, line_gap_mm=ground.line_gap_mm + SLACK_MM * hand.wobble)
    return ground, hand, wish


def mapped(drawing: Drawing, ring: Callable[[np.ndarray], np.ndarray]) -> Drawing:
    """The drawing with every ring (n, 2) changed by a function."""
    layers = tuple(Layer(la.role, tuple(ring(r) for r in la.rings)) for la in drawing.layers)
    return Drawing(tuple(ring(r) for r in drawing.silhouette), layers, drawing.ends, drawing.notes)


def rounded(ring: np.ndarray, reach_mm: float) -> np.ndarray:
    """A ring (n, 2) whose corners are rounded: a parabola from `reach_mm` before to as far after, or
    less where an edge is short. Curves and tips stay as they are."""
    z = ring[:, 0] + 1j * ring[:, 1]
    after = np.roll(z, -1) - z
    before = np.roll(after, 1)
    turn = np.abs(np.degrees(np.angle(after * np.conj(before))))
    room = np.minimum(np.abs(after), np.abs(before))
    corner = (turn > CORNER_DEG[0]) & (turn < CORNER_DEG[1]) & (room > 0.5)
    if not corner.any():
        return ring
    reach = np.minimum(reach_mm, 0.45 * room)
    a = z - before / np.maximum(np.abs(before), 1e-9) * reach
    b = z + after / np.maximum(np.abs(after), 1e-9) * reach
    t = np.linspace(0, 1, 6)
    bow = (1 - t) ** 2 * a[:, None] + 2 * t * (1 - t) * z[:, None] + t * t * b[:, None]
    count = np.where(corner, len(t), 1)
    out = np.repeat(z, count)
    first = np.concatenate([[0], np.cumsum(count)[:-1]])
    for k in range(len(t)):
        out[first[corner] + k] = bow[corner, k]
    return np.column_stack([out.real, out.imag])


def shake(amplitude_mm: float, rng: np.random.Generator) -> Field:
    """A smooth field of shifts (n, 2) mm for places (n, 2) mm, of this root mean square: a few plane waves."""
    n = 7
    way, phase, towards = (rng.uniform(0, 2 * np.pi, n) for _ in range(3))
    k = 2 * np.pi / np.geomspace(*WAVES_MM, n)[:, None] * np.column_stack([np.cos(way), np.sin(way)])
    to = np.column_stack([np.cos(towards), np.sin(towards)]) * amplitude_mm * np.sqrt(2.0 / n)

    def field(xy: np.ndarray) -> np.ndarray:
        return np.sin(np.asarray(xy, float) @ k.T + phase) @ to

    return field


def shaken(drawing: Drawing, ground: Ground, amplitude_mm: float, rng: np.random.Generator) -> Drawing:
    """The drawing as an unsteady hand leaves it; a mirrored one is unsteady alike on both sides."""
    field = shake(amplitude_mm, rng)
    mirror = drawing.notes.get("mirror") or ({"at": [0.0, 0.0], "deg": ground.symmetry_deg}
                                             if ground.symmetry_deg is not None else None)
    if mirror:
        field = _even(field, mirror["at"], float(mirror["deg"]))

    room = room_of(ground)

    def moved(xy: np.ndarray) -> np.ndarray:
        # at the edge of the open skin lines are held: nothing must wander out of it
        held = np.clip(np.abs(room.look_wall(xy[:, 0] + 1j * xy[:, 1])) / HELD_MM, 0.0, 1.0)
        return xy + held[:, None] * field(xy)

    def go(ring: np.ndarray) -> np.ndarray:
        return moved(_dense(ring, 2.0))

    made = mapped(drawing, go)
    spots = np.array([(e.x, e.y) for e in drawing.ends]).reshape(-1, 2)
    spots = moved(spots) if len(spots) else spots
    ends = tuple(End(float(x), float(y), e.how) for (x, y), e in zip(spots, drawing.ends, strict=True))
    notes = dict(drawing.notes)
    if notes.get("joints"):
        joints = np.array(notes["joints"], float)
        joints[:, :2] = moved(joints[:, :2])
        notes["joints"] = np.round(joints, 3).tolist()
    return replace(made, ends=ends, notes=notes)


def _even(field: Field, at: list[float], deg: float) -> Field:
    """A field made symmetric about an axis."""
    a = 2 * np.radians(deg)
    turn = np.array([[np.cos(a), np.sin(a)], [np.sin(a), -np.cos(a)]])

    def both(xy: np.ndarray) -> np.ndarray:
        image = (np.asarray(xy, float) - at) @ turn.T + at
        return (field(xy) + field(image) @ turn.T) / np.sqrt(2.0)

    return both


def _dense(ring: np.ndarray, step_mm: float) -> np.ndarray:
    """A ring (n, 2) with no edge longer than `step_mm`; its own vertices stay."""
    to = np.roll(ring, -1, axis=0) - ring
    n = np.maximum(np.ceil(np.hypot(to[:, 0], to[:, 1]) / step_mm).astype(int), 1)
    i = np.repeat(np.arange(len(ring)), n)
    share = (np.arange(len(i)) - np.repeat(np.cumsum(n) - n, n)) / n[i]
    return ring[i] + share[:, None] * to[i]


def toned(drawing: Drawing, hand: Hand, line_gap_mm: float) -> Drawing:
    """A drawing without shading of its own, as dark as the hand: a light one leaves wide black open
    as an outline, a dark one shades below the lines. As it is at 0.5."""
    if hand.dark < 0.5:
        share = hand.dark / 0.5
        layers = tuple(replace(la, rings=_opened(la.area, hand, line_gap_mm + OPEN_MM * share))
                       if la.role in ("line", "black") and la.rings else la for la in drawing.layers)
        return replace(drawing, layers=layers)
    if hand.dark > 0.5:
        ink = drawing.ink("line", "black")
        wide = SHADE_MM * (hand.dark - 0.5) / 0.5
        near = shapely.simplify(ink, 0.05)
        cast = [affinity.translate(near, BELOW[0] * wide * t, BELOW[1] * wide * t) for t in (0.5, 1.0)]
        soft = shapely.union_all([near, *cast])
        shade = shapely.difference(soft, ink)
        outline = shapely.union(drawing.outline, soft)
        light = Layer("light", tuple(geometry_to_rings(shade)))
        return Drawing(tuple(geometry_to_rings(outline)), (light, *drawing.layers), drawing.ends, drawing.notes)
    return drawing


def _opened(black: BaseGeometry, hand: Hand, least_mm: float) -> tuple[np.ndarray, ...]:
    """Black with what is wider than `least_mm` inside an outline left white."""
    white = hollow(black, hand.line_mm, least_mm)
    return tuple(geometry_to_rings(shapely.difference(black, white) if not white.is_empty else black))
