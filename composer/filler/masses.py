"""Masses painted back to front as one drawing: what the kinds that pile up forms have in common.

A mass is an area that hides what lies behind it, and the ink on it. Flat chart mm throughout.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, End, Layer
from composer.filler.clip_memo import by_identity
from composer.filler.closing import closed, in_one, shrunk, sound, thinned
from composer.filler.cloud_ink import UNDER_MM, on_grid, ribbons
from composer.filler.cloud_lines import Line, Pen
from composer.filler.cloud_stage import Stage, stage_of
from composer.filler.ground import Ground, Wish
from composer.filler.points import thinned_out

POINT = 4.0
"""Black between two lobes of white runs out to a point so many half rims long at the most."""

Shade = Sequence[tuple[str, float]]
"""Roles of washes with how far each reaches, mm."""


@dataclass
class Mass:
    """`body` hides what lies behind; `lines` are its strokes, `black` solid areas, `white` areas kept
    free of the mass's own ink but for their outline (`rim_mm` wide), `wash` pairs of role and area.
    `halo_mm` of skin stay clear round the body; a mass of which less than the share `least_seen` is in
    view is left out. `solid`: what of the body throws shade on what lies behind, where that is not all of it."""

    body: BaseGeometry
    lines: list[Line] = field(default_factory=list)
    black: list[BaseGeometry] = field(default_factory=list)
    white: BaseGeometry = field(default_factory=Polygon)
    rim_mm: float = 0.0
    wash: list[tuple[str, BaseGeometry]] = field(default_factory=list)
    halo_mm: float = 0.0
    least_seen: float = 0.0
    solid: BaseGeometry | None = None
    hides: BaseGeometry | None = None

    def ink(self, pen: Pen, seen: BaseGeometry) -> BaseGeometry:
        """The mass's own ink where it may come into view."""
        parts = [g for g in (*ribbons(self.lines, 1.12 * pen.least_mm), *self.black) if shapely.intersects(seen, g)]
        ink = shapely.union_all(parts)
        if self.white.is_empty:
            return ink
        half = self.rim_mm / 2
        # mitred: black between two lobes runs out to a point
        inner = shrunk(self.white, half, POINT)
        rim = shapely.difference(shapely.buffer(self.white, half, quad_segs=4), inner)
        return shapely.union(shapely.difference(ink, inner), rim)


def stage_for(ground: Ground, wish: Wish) -> Stage:
    """The stage of a ground (see `cloud_stage`) for kinds that fill it like a field: nothing is drawn
    over skin that the ground's region leaves out."""
    stage = stage_of(ground, wish)
    return replace(stage, room=_within(stage.room, ground.region, ground.front, ground.skin_break_mm))


@by_identity
def _within(room: BaseGeometry, region: BaseGeometry, front: BaseGeometry, skin_break_mm: float) -> BaseGeometry:
    hidden = shapely.buffer(shapely.simplify(front, 0.3), skin_break_mm, quad_segs=2)
    return shapely.simplify(shapely.intersection(room, shapely.union(region, hidden)), 0.05)


def own_stage(ground: Ground, wish: Wish) -> tuple[Stage, BaseGeometry]:
    """For kinds that keep to one gap: the stage cut to the ground's own skin and what lies hidden
    next to it, and where centre lines may run, a little inside of it and clear of the cuffs."""
    stage = stage_for(ground, wish)
    room, home = _own(stage.target, ground.free, ground.front, ground.edge, ground.skin_break_mm)
    return replace(stage, room=room), home


@by_identity
def _own(target: BaseGeometry, free: BaseGeometry, front: BaseGeometry, edge: BaseGeometry,
         skin_break_mm: float) -> tuple[BaseGeometry, BaseGeometry]:
    hidden = shapely.buffer(front, skin_break_mm + 0.06, quad_segs=16)
    beside = shapely.buffer(shapely.difference(shapely.difference(target, free), hidden), -0.1, quad_segs=1)
    room = shapely.difference(target, shapely.union(shapely.buffer(beside, 0.12, quad_segs=2), edge))
    clear = shapely.union(shapely.buffer(beside, 1.0, quad_segs=3), shapely.buffer(edge, 1.5))
    return room, shapely.difference(target, clear)


def within(lines: Sequence[Line], home: BaseGeometry, apart_mm: float = 6.0) -> list[Line]:
    """Lines cut to `home`; where they are cut they thin out to a tip, over `apart_mm`. Ends of their own stay."""
    shapely.prepare(home)
    out = []
    for line in lines:
        inside = shapely.contains_xy(home, line.path[:, 0], line.path[:, 1])
        if inside.all():
            out.append(line)
            continue
        out += thinned_out(line, inside, apart_mm)
    return out


def paint(masses: Sequence[Mass], stage: Stage, pen: Pen, line_gap_mm: float, least_white_mm2: float = 0.0,
          shade: Shade = ()) -> Drawing | None:
    """Masses back to front as one drawing: hidden ink goes, crevices narrower than the line gap and spots of white
    smaller than `least_white_mm2` turn black, nothing is thinner than the pen's least. `shade`: how far what stands
    before others throws shade on them, mm a role (see `shade_behind`). None when nothing is seen."""
    if not masses:
        return None
    bodies = np.array([m.body for m in masses], dtype=object)
    halo = np.array([m.halo_mm for m in masses])
    hides = np.where(halo > 0, shapely.buffer(bodies, halo, quad_segs=3), bodies) if halo.any() else bodies
    tree = shapely.STRtree(hides)
    left_out = np.zeros(len(masses), bool)
    shapely.prepare(stage.seen)
    ink: list[BaseGeometry] = []
    shown: list[BaseGeometry] = []
    wash: dict[str, list[BaseGeometry]] = {"light": [], "mid": [], "dark": []}
    ends: list[End] = []
    for i in range(len(masses) - 1, -1, -1):
        mass = masses[i]
        over = np.sort(tree.query(mass.body, predicate="intersects"))
        over = over[(over > i) & ~left_out[over]]
        cover = shapely.union_all(hides[over]) if len(over) else Polygon()
        if mass.least_seen > 0 and shapely.difference(mass.body, cover).area < mass.least_seen * mass.body.area:
            left_out[i] = True
            continue
        own = mass.ink(pen, stage.seen)
        ink.append(shapely.difference(own, cover) if not cover.is_empty else own)
        shown.append(mass.body if mass.hides is None else mass.hides)
        for role, area in mass.wash:
            wash[role].append(shapely.difference(area, cover) if not cover.is_empty else area)
        before = [masses[k].body if masses[k].solid is None else masses[k].solid for k in over]
        for role, area in shade_behind(stage.target, mass.body, cover, before, shade):
            wash[role].append(area)
        shapely.prepare(cover)
        ends += ends_of(mass.lines, cover)
    black = stage.kept(closed(stage.kept(shapely.union_all(ink)), line_gap_mm, pen.least_mm))
    if least_white_mm2 > 0:
        black = stage.kept(without_specks(black, least_white_mm2))
    if black.is_empty:
        return None
    outline = stage.kept(shapely.union_all([*shown, black]))
    layers = [Layer(role, on_grid(stage.kept(shapely.union_all(g)))) for role, g in wash.items() if g]
    layers.append(Layer("line", on_grid(black)))
    ends = [e for e in ends if shapely.contains_xy(stage.room, e.x, e.y)]
    return Drawing(on_grid(outline), tuple(la for la in layers if la.rings), tuple(ends), {})


def shade_behind(target: BaseGeometry, body: BaseGeometry, cover: BaseGeometry, before: Sequence[BaseGeometry],
                 shade: Shade) -> list[tuple[str, BaseGeometry]]:
    """Washes on what `cover` leaves in view of a body on the skin to be filled (`target`), beside what stands `before`
    it: deepest next to it, giving out over the body (common practice, no published source)."""
    if not shade or not before:
        return []
    left = sound(shrunk(thinned(shapely.difference(shapely.intersection(body, target), cover)), UNDER_MM))
    if left.is_empty:
        return []
    x0, y0, x1, y1 = left.bounds
    far = max(mm for _, mm in shade) + 0.1
    near = thinned(shapely.clip_by_rect(shapely.union_all(before), x0 - far, y0 - far, x1 + far, y1 + far))
    reach = shapely.buffer(near, np.array([mm for _, mm in shade]), quad_segs=3)
    seen = [(role, in_one(shapely.intersection(area, left))) for (role, _), area in zip(shade, reach, strict=True)]
    return [(role, area) for role, area in seen if not area.is_empty]


def without_specks(black: BaseGeometry, least_mm2: float) -> BaseGeometry:
    """Black with holes smaller than `least_mm2` filled: white that heals shut."""
    parts = [p for p in shapely.get_parts(black) if p.geom_type == "Polygon"]
    small = [Polygon(hole) for p in parts for hole in p.interiors if Polygon(hole).area < least_mm2]
    return shapely.union_all([black, *small]) if small else black


def ends_of(lines: Sequence[Line], cover: BaseGeometry) -> list[End]:
    """Both ends of every stroke, but for those under what lies in front."""
    if not lines:
        return []
    xy = np.concatenate([line.path[[0, -1]] for line in lines])
    how = [h for line in lines for h in (line.start, line.end)]
    gone = shapely.contains_xy(cover, xy[:, 0], xy[:, 1])
    return [End(round(float(x), 3), round(float(y), 3), h) for (x, y), h, lost in zip(xy, how, gone, strict=True)
            if not lost]


def filled(ring: np.ndarray) -> BaseGeometry:
    """The area inside a ring (n, 2), mended where it crosses itself."""
    return sound(Polygon(ring))
