"""Feathers that have fallen: flight feathers, barred ones, round ones of the breast; they lie in the flow, few
large, more small."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import resample
from composer.art.drawing import Drawing
from composer.filler.behind import run_out
from composer.filler.cloud import pen_of
from composer.filler.cloud_lay import Field
from composer.filler.dots import poisson_dots
from composer.filler.feather_forms import breast, flight
from composer.filler.feather_shaft import Shaft
from composer.filler.filigree_room import room_of, strength
from composer.filler.ground import Ground, Wish
from composer.filler.masses import Mass, filled, own_stage, paint
from composer.filler.scatter import fits
from composer.filler.scatter_forms import Bit
from composer.filler.voids import voids
from composer.plan.model import Hand


@dataclass(frozen=True)
class Style:
    """A way of feather: its width over its length, how it is bowed (radians over its length), its sizes as
    shares of the largest, how far it reaches beyond its vanes (`spread`, 1: not)."""

    title: str
    wide: float
    bow: float
    sizes: tuple[float, ...]
    spread: float = 1.0


STYLES = {
    "flight": Style("Feathers, black-tipped", 0.31, 0.5, (1.0, 0.76, 0.58, 0.46, 0.38, 0.32, 0.32)),
    "barred": Style("Feathers, barred", 0.29, 0.45, (1.0, 0.76, 0.58, 0.46, 0.38, 0.32, 0.32)),
    "breast": Style("Feathers, small and round", 0.44, 0.7, (0.7, 0.54, 0.42, 0.34, 0.28, 0.26, 0.26), 1.1),
}
LEAST_MM, MOST_MM = 30.0, 76.0
"""Lengths of the largest feather."""
SHORT_MM = 19.0


FAN = ((0.46, 0.88), (-0.46, 0.9), (0.86, 0.76), (-0.86, 0.78))
"""Feathers behind one: turned by so many radians to the left, so much smaller."""

VOID_MM, BELOW_SHOWN = 4.6, 0.7
"""Radius of a bare place worth a feather below the others, at the usual density; how much has to be seen of it."""
FANNED = 3
"""Feathers of so many sizes have others behind them; all of them where it is to be full."""
TILTS = np.array([0.0, 0.25, -0.25, 0.5, -0.5, 0.75, -0.75])
"""Directions that a feather is tried in, off its own, radians; the last where it is to be full."""
RIM_MM = 1.4
"""An outline that goes under something so near to the edge of the skin seems to be cut off there."""
SLIM_MM = 4.5
"""Black narrower than this is a bar, and thins out where it goes behind another feather."""
SHOWN, LEAST_SHOWN_MM = 0.38, 2.3
"""What has to be seen of a feather behind others: so much of its vanes, and so many mm to either side somewhere."""


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "flight") -> Drawing | None:
    """Feathers over the open skin. Deterministic in `rng`. None where not one finds room."""
    pen = pen_of(hand, wish, ground.line_gap_mm)
    stage, home = own_stage(ground, wish)
    halo = 1.08 * ground.line_gap_mm + 0.75 * pen.outline_mm
    whole = shapely.union(home, shapely.buffer(ground.front, ground.skin_break_mm, quad_segs=4))
    masses: list[Mass] = []
    for fan in fans(ground, wish, STYLES[style], rng, whole, halo):
        for shaft in fan:
            own = breast(shaft, pen, hand.dark, rng) if style == "breast" else \
                flight(shaft, pen, hand.dark, rng, style == "barred")
            quill = shapely.buffer(shapely.LineString(shaft.path[: len(shaft.path) // 4]), 0.4, quad_segs=2)
            own = [Mass(quill), *own]       # what lies behind keeps off the quill as well
            for mass in own:
                mass.halo_mm = halo
            masses += own
    return paint(run_out(masses, pen, slim_mm=SLIM_MM), stage, pen, ground.line_gap_mm)


propose = draw


def strewn(ground: Ground, wish: Wish, look: Style, rng: np.random.Generator) -> list[Shaft]:
    """The shafts of single feathers, from large to small; each whole in open skin, clear of the others."""
    return [fan[-1] for fan in fans(ground, wish, look, rng)]


def fans(ground: Ground, wish: Wish, look: Style, rng: np.random.Generator, whole: BaseGeometry | None = None,
         clear_mm: float = 2.0) -> list[list[Shaft]]:
    """Feathers from large to small, each with those behind it, back to front. The one in front lies whole in open
    skin; those behind the largest lie in `whole`, which is all that belongs to this gap and what is hidden beside it
    (None: they stay single). Fans stay `clear_mm` apart."""
    room, field = room_of(ground).bare(), Field(ground, ground.free)
    wide = 2 * float(room.wall.max())
    largest = float(np.clip(1.65 * wide, LEAST_MM, MOST_MM)) * wish.size
    loose = 1.8 - 1.3 * wish.density
    most, full = max(1, int(12 * wish.density**1.6)), wish.density > 0.75
    out: list[list[Shaft]] = []
    taken: list[BaseGeometry] = []
    way = 1.0 if rng.uniform() < 0.5 else -1.0
    for rank, size in enumerate(look.sizes[: round(1 + 6.7 * wish.density)]):
        long = max(size * largest, SHORT_MM)
        step = min(0.3 * long, 5.0)

        def spacing(xy: np.ndarray, step: float = step) -> np.ndarray:
            return np.full(len(xy), step)

        at = poisson_dots(ground.free.bounds, spacing, rng)
        if rank == 0:   # the largest lies on the line that the artist pulled
            at = np.vstack([field.spine[len(field.spine) // 2 :][:1], at])
        z = at[:, 0] + 1j * at[:, 1]
        wall, ink = room.look(z)
        ok = (wall > 0.4 * look.wide * long) & (ink > 0.45 * look.wide * long)
        at, z, wall = at[ok], z[ok], np.minimum(wall, ink)[ok]
        if not len(at):
            continue
        fade = strength(ground, z, wish.fade_mm)
        mine = np.zeros(0, complex)
        lines = streams(field, at, long * 1.1)
        led = (at[:, None] == field.spine[len(field.spine) // 2 :][:1]).all(axis=2).any(axis=1)
        for k in np.argsort(-np.where(led, np.inf, wall), kind="stable"):
            if len(mine) >= most:
                break
            if fade[k] < 0.8 - 0.22 * rank or (len(mine) and np.abs(mine - z[k]).min() < 0.5 * long * loose):
                continue
            own = long * float(rng.uniform(0.9, 1.08))
            stray = (0.15 + 0.16 * rank) * float(rng.uniform(-1, 1))
            line = resample(lines[k][:: 1 if rng.uniform() < (0.8 if way > 0 else 0.2) else -1], 0.8)
            lead, bow = (1.0 if rng.uniform() < 0.5 else -1.0), look.bow * float(rng.uniform(-1, 1))
            if led[k]:
                stray, bow = 0.0, 0.0
            for tilt in stray + TILTS[: None if full else 5]:
                shaft = Shaft(spine(line, at[k], own, tilt, bow), look.wide * own, lead)
                if fits(room, Bit(Polygon(), *shaft.cover(look.spread)), 0j, 0.0, ground.line_gap_mm + 0.6 * loose):
                    fan = [shaft]
                    if whole is not None and (rank < FANNED or full):
                        fan = fanned(shaft, look, ground, whole, taken, wish, clear_mm)
                        taken.append(shapely.union_all([spread_of(s, look) for s in fan]))
                        for one in fan[:-1]:
                            room.stamp(*one.cover(look.spread), 9.0 + one.wide)
                    out.append(fan)
                    mine = np.append(mine, z[k])
                    break
    if whole is None:
        return out
    return [*lowest(out, look, ground, wish, field, whole, 0.6 * largest, clear_mm, rng), *out]


def fanned(front: Shaft, look: Style, ground: Ground, whole: BaseGeometry, taken: list[BaseGeometry], wish: Wish,
           clear_mm: float) -> list[Shaft]:
    """A feather (the last) with others behind it, turned about its foot to either side, smaller, so far as they lie
    in `whole`, `clear_mm` from what is `taken`, and enough of them is seen."""
    fan, before, sides = [front], front.vane(), set()
    shapely.prepare(whole)
    for turn, share in FAN[: round(len(FAN) * min(1.0, 1.25 * wish.density))]:
        if abs(turn) > 0.6 and np.sign(turn) not in sides:
            continue        # the outermost lies behind one in between
        one = behind(front, turn, share)
        area, vane = spread_of(one, look), one.vane()
        if one.long < SHORT_MM or not shapely.covers(whole, area) or shapely.dwithin(taken, area, clear_mm).any():
            continue
        shown = shapely.difference(shapely.intersection(vane, ground.free), shapely.buffer(before, clear_mm))
        if shown.area < SHOWN * vane.area or shapely.buffer(shown, -LEAST_SHOWN_MM).is_empty or cut_off(
                vane, before, ground, clear_mm):
            continue
        before = shapely.union(before, vane)
        sides.add(np.sign(turn))
        fan.insert(0, one)
    return fan


def lowest(above: list[list[Shaft]], look: Style, ground: Ground, wish: Wish, field: Field, whole: BaseGeometry,
           most_mm: float, clear_mm: float, rng: np.random.Generator) -> list[list[Shaft]]:
    """Single feathers below all others where skin is left bare; they may run behind what lies `above`."""
    cover = shapely.union_all([spread_of(s, look) for fan in above for s in fan])
    empty = voids(ground.free, cover, VOID_MM * (1.6 - wish.density), 0.32 * most_mm, clear_mm,
                  count=round(10 * wish.density**1.5))
    if not len(empty) or wish.fade_mm > 0:
        return []
    out: list[list[Shaft]] = []
    lines = streams(field, empty[:, :2], 1.1 * most_mm)
    for (x, y, r), flow in zip(empty, lines, strict=True):
        long = float(np.clip(3.4 * r, SHORT_MM, most_mm))
        line = resample(flow[:: 1 if rng.uniform() < 0.5 else -1], 0.8)
        lead, bow = (1.0 if rng.uniform() < 0.5 else -1.0), look.bow * float(rng.uniform(-1, 1))
        for tilt in TILTS:
            one = Shaft(spine(line, np.array([x, y]), long, float(tilt), bow), look.wide * long, lead)
            area, vane = spread_of(one, look), one.vane()
            if not shapely.covers(whole, area):
                continue
            shown = shapely.difference(shapely.intersection(vane, ground.free), shapely.buffer(cover, clear_mm))
            if shown.area > BELOW_SHOWN * vane.area and not cut_off(vane, cover, ground, clear_mm):
                cover = shapely.union(cover, area)
                out.insert(0, [one])
                break
    return out


def cut_off(vane: BaseGeometry, before: BaseGeometry, ground: Ground, clear_mm: float) -> bool:
    """Whether the outline of a feather goes under what lies `before` it right at the edge of the skin: what is seen of
    it would end there as if cut off."""
    under = shapely.intersection(vane.boundary, shapely.buffer(before, clear_mm).boundary)
    return bool(shapely.dwithin(under, ground.free.boundary, RIM_MM))


def spread_of(shaft: Shaft, look: Style) -> BaseGeometry:
    """What a feather takes up, quill and all."""
    z, r = shaft.cover(look.spread)
    out = np.gradient(z)
    side = 1j * out / np.maximum(np.abs(out), 1e-9) * r
    ring = np.concatenate([z + side, (z - side)[::-1]])
    return filled(np.column_stack([ring.real, ring.imag]))


def behind(front: Shaft, turn: float, share: float) -> Shaft:
    """A feather turned about a place near the foot of another, by `turn` radians to the left, and smaller; its broad
    vane lies outwards."""
    foot = front.path[len(front.path) // 12]
    c, s = np.cos(turn), np.sin(turn)
    path = foot + share * (front.path - foot) @ np.array([[c, s], [-s, c]])
    return Shaft(path, front.wide * share, -float(np.sign(turn)))


def streams(field: Field, at: np.ndarray, long: float) -> np.ndarray:
    """The flow's lines through places (m, 2), half of `long` to either side: (m, n, 2), the place in the middle."""
    back, on = field.trace(at, -1.0, 0.5 * long, 40.0), field.trace(at, 1.0, 0.5 * long, 40.0)
    return np.concatenate([back[:, :0:-1], on], axis=1)


def spine(line: np.ndarray, at: np.ndarray, long: float, tilt: float, bow: float) -> np.ndarray:
    """The shaft: a line of the flow (vertices 0.8 mm apart) through the place `at`, tilted off it and bowed,
    from the foot to the tip, (n, 2) mm."""
    half = min(len(line) // 2, round(0.5 * long / 0.8))
    line = line[len(line) // 2 - half : len(line) // 2 + half + 1]
    off = tilt + 0.5 * bow * np.linspace(-1, 1, len(line))
    z = ((line - at) @ (1, 1j)) * np.exp(1j * off)
    path = np.column_stack([z.real, z.imag])
    whole = float(np.hypot(*np.diff(path, axis=0).T).sum())
    return at + path * (long / max(whole, 1e-9))
