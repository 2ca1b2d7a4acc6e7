"""Make room: what size, turn or shift would let a piece lie clear where it is now.

One thing is changed at a time, as little as will do; everything else stays. The answer is checked
against the outlines themselves.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from composer.body.units import format_length
from composer.compose.best_place_check import Checker, PanelChecker, Pose, checker
from composer.compose.best_place_field import distances, lattice_of
from composer.compose.best_place_panel import CELL_SLACK_MM, SHORT, SLACK_MM, SLACK_SHARE
from composer.compose.best_place_panel_field import away_mm, edge_mm, grid_of
from composer.compose.fit_samples import walk
from composer.compose.words import border_titles, capital, names_of
from composer.plan.errors import NotThereError
from composer.plan.model import Piece
from composer.plan.scene import Laid, Scene, matrix

SMALLEST, LARGEST = 0.35, 2.0
"""Share of its present size that is still tried, and how far it may grow where there is room."""

SHIFT_MM, MOVE_MM, TURN_DEG, STEP_MM = 3.0, 90.0, 2.0, 6.0
"""Steps and reach of a shift, step of a turn, lattice of the distance table."""


@dataclass(frozen=True)
class Room:
    """How a piece gets clear of its neighbours by the skin break. `clear_mm` now (negative: it can't lie
    there); `fits`: nothing need change. `scale`: the size factor that fits (1.2: it may grow by so much);
    `turn_deg`: how far to turn it, counter-clockwise; `shift_mm` (right, up) as skin is seen from outside, with
    `to` (u, s mm) where that takes it. None where that alone doesn't do. `sentences` say it, the mildest first, and
    `ways` what each of them is about: 'shift', 'turn', 'scale', or '' where nothing need or can be changed."""

    piece_id: str
    clear_mm: float
    fits: bool
    scale: float | None
    turn_deg: float | None
    shift_mm: tuple[float, float] | None
    to: tuple[float, float] | None
    sentences: tuple[str, ...]
    ways: tuple[str, ...] = ()


def make_room(scene: Scene, piece_id: str, *, skin_break_mm: float = 2.0, span: tuple[float, float] | None = None,
              side: Mapping[str, Any] | None = None, unit: str = "cm") -> Room:
    """What would make a piece fit. `side`: its side file, to say when a size falls below its range.

    Raises NotThereError with a sentence when it is not on this part.
    """
    laid = next((x for x in scene.laid if x.piece.id == piece_id and not x.piece.is_filler), None)
    if laid is None:
        raise NotThereError(f"There is no piece '{piece_id}' on this part; it may have been deleted in another window.")
    p = laid.piece
    look = checker(scene, _own(laid), skin_break_mm, span, without=piece_id)
    here = Pose(p.u, p.s_mm, p.turn_deg, p.scale, p.flip)
    now = look.clear_mm(here)
    fits = now >= skin_break_mm
    scale = _scale(look, here, fits)
    turn = None if fits else _turn(look, here)
    to = None if fits else _shift(look, here)
    girth = float(scene.limb.girth(p.s_mm))
    shift = None if to is None else ((to[0] - p.u) * girth, to[1] - p.s_mm)
    room = Room(piece_id, now, fits, scale, turn, shift, to, ())
    told = _say(room, scene, laid, side or {}, skin_break_mm, unit)
    return replace(room, sentences=tuple(s for s, _ in told), ways=tuple(w for _, w in told))


def _own(laid: Laid) -> Any:
    """The drawing of a laid piece at its own size and upright, undoing how it lies."""
    p = laid.piece
    back = np.linalg.inv(matrix(Piece("", "", "", "", p.u, p.s_mm, p.turn_deg, p.scale, p.flip))[:, :2])
    return laid.flat.moved(np.column_stack([back, [0.0, 0.0]]))


def _scale(look: Checker | PanelChecker, here: Pose, fits: bool) -> float | None:
    """The largest factor that fits, to 1%: from here up while it fits, or from here down until it does.

    A smaller drawing lies within a larger one only where it has no hollows, so every step down is tried. Up it goes in
    strides that double, then halves the way to the first size that no longer fits."""
    if fits:
        low, stride, high = 0, 1, round((LARGEST - 1) * 50)         # in steps of 2%

        def clear(k: int) -> bool:
            return look.clear(replace(here, scale=here.scale * (1 + k / 50)))

        while low < high and clear(k := min(low + stride, high)):
            low, stride = k, 2 * stride
        high = min(low + stride, high)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if clear(middle) else (low, middle)
        return 1 + low / 50
    for k in np.arange(0.98, SMALLEST, -0.02):
        if look.clear(replace(here, scale=here.scale * float(k))):
            finer = float(k) + 0.01
            return finer if look.clear(replace(here, scale=here.scale * finer)) else float(k)
    return None


def _turn(look: Checker | PanelChecker, here: Pose) -> float | None:
    for d in np.arange(TURN_DEG, 90.0 + 1e-9, TURN_DEG):
        for way in (d, -d):
            if look.clear(replace(here, turn_deg=here.turn_deg + float(way))):
                return float(way)
    return None


def _shift(look: Checker | PanelChecker, here: Pose) -> tuple[float, float] | None:
    """The nearest place where it fits as it is, (u, s): by the distance table first, then the outline."""
    if isinstance(look, PanelChecker):
        return _panel_shift(look, here)
    limb = look.limb
    girth = float(limb.girth(here.s_mm))
    n = np.arange(-int(MOVE_MM / SHIFT_MM), int(MOVE_MM / SHIFT_MM) + 1) * SHIFT_MM
    field = distances(limb, lattice_of(limb, STEP_MM), look.bodies)
    open_: list[tuple[float, float, float]] = []
    for y in n:
        us = np.concatenate(look.laid(replace(here, s_mm=here.s_mm + float(y))).rings)
        if us[:, 1].min() < look.span[0] or us[:, 1].max() > look.span[1]:
            continue
        column = np.rint((us[:, 0] + n[:, None] / girth) * field.columns).astype(int) % field.columns
        maybe = (field.mm[field.row(us[:, 1]), column] >= look.skin_break_mm - field.slack_mm).all(axis=1)
        open_ += [(float(np.hypot(x, y)), float(x), float(y)) for x in n[maybe] if 0 < np.hypot(x, y) <= MOVE_MM]
    for _, x, y in sorted(open_):
        pose = replace(here, u=here.u + x / girth, s_mm=here.s_mm + y)
        if look.clear(pose):
            return pose.u, pose.s_mm
    return None


def _panel_shift(look: PanelChecker, here: Pose) -> tuple[float, float] | None:
    """The same on chest or back, where an outline that is moved on the sheet falls about as it did."""
    panel, grid = look.limb, grid_of(look.limb)
    free, skin = away_mm(grid, list(look.covers)), edge_mm(panel, look.skin)
    rings = [panel.to_mm(r) for r in look.laid(here).rings]
    edge = np.concatenate([walk(r, SHIFT_MM) for r in rings])
    far = np.hypot(*(edge - panel.to_mm(np.array([here.u, here.s_mm]))).T)
    slack = CELL_SLACK_MM + SLACK_MM + 3 * SLACK_SHARE * far
    n = np.arange(-int(MOVE_MM / SHIFT_MM), int(MOVE_MM / SHIFT_MM) + 1) * SHIFT_MM
    by = np.stack(np.meshgrid(n, n, indexing="ij"), axis=-1).reshape(-1, 2)
    far = np.hypot(*by.T)
    order = np.argsort(far, kind="stable")
    for x, y in by[order[(far[order] > 0) & (far[order] <= MOVE_MM)]]:
        at = edge + np.array([x, y])
        if (grid.at(skin, at) >= -slack).all() and (grid.at(free, at) >= look.skin_break_mm * SHORT - slack).all():
            pose = replace(here, u=here.u + float(x) / panel.turn_mm, s_mm=here.s_mm + float(y))
            if look.clear(pose):
                return pose.u, pose.s_mm
    return None


def _say(room: Room, scene: Scene, laid: Laid, side: Mapping[str, Any], skin_break_mm: float,
         unit: str) -> list[tuple[str, str]]:
    """Sentences, the mildest first, and what each is about."""
    order = [x.piece for x in scene.laid if not x.piece.is_filler]
    me = capital(names_of(border_titles(laid.piece.part) | {p.id: p.title for p in order})[room.piece_id])
    size = max(float(v) for v in np.ptp(np.concatenate(laid.flat.silhouette), axis=0))
    if room.fits:
        grow = room.scale or 1.0
        more = f"it could grow to {100 * grow:.0f}% ({format_length(size * grow, unit)})" if grow > 1.0 else \
            "there is no room to grow"
        return [(f"{me} fits where it is; {more}.", "scale" if grow > 1.0 else "")]
    out: list[tuple[float, str, str]] = []
    if room.shift_mm is not None:
        out.append((float(np.hypot(*room.shift_mm)) / 30.0,
                    f"{me} fits as it is when moved {_moved(room.shift_mm)}.", "shift"))
    if room.turn_deg is not None:
        way = "left (counter-clockwise)" if room.turn_deg > 0 else "right (clockwise)"
        out.append((abs(room.turn_deg) / 20.0, f"{me} fits here when turned {abs(room.turn_deg):.0f} degrees to the "
                    f"{way}.", "turn"))
    if room.scale is not None:
        low = side.get("min_mm")
        small = f", below its natural {format_length(low, unit)}" if low and size * room.scale < low else ""
        out.append(((1 - room.scale) / 0.15 + bool(small), f"{me} fits here at {100 * room.scale:.0f}% of its size "
                    f"({format_length(size * room.scale, unit)} on its longer side{small}).", "scale"))
    if not out:
        return [(f"{me} does not fit here: no turn, no shift up to {format_length(MOVE_MM, unit)} and no size down to "
                f"{100 * SMALLEST:.0f}% keeps {skin_break_mm:g} mm of skin round it; move a neighbour or let it lie "
                "behind.", "")]
    return [(s, way) for _, s, way in sorted(out)]


def _moved(shift_mm: tuple[float, float]) -> str:
    x, y = shift_mm
    told: list[str] = []
    for mm, plus, minus in ((x, "right", "left"), (y, "up", "down")):
        if abs(mm) >= 0.5:
            told.append(f"{abs(mm):.0f} mm {plus if mm > 0 else minus}")
    return " and ".join(told)
