"""Banks of cloud inked as one drawing: what is hidden goes, crevices turn black, shadows are washed."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import stroke
from composer.art.drawing import Drawing, End, Layer, geometry_to_rings
from composer.filler.apart import kept_apart
from composer.filler.clip import CRUMB_MM, no_crumbs
from composer.filler.closing import closed, in_one, polygons_of, shrunk, sound, thinned, united
from composer.filler.cloud_crest import Crest
from composer.filler.cloud_lay import Spine
from composer.filler.cloud_lines import Line, Pen, bank_lines
from composer.filler.cloud_nodes import Nodes
from composer.filler.cloud_stage import Stage
from composer.filler.points import out_of_slivers
from composer.plan.model import Hand

SHADE = (("light", 0.30), ("mid", 0.15), ("dark", 0.055))
"""How far shade reaches behind a crest, as shares of the thickness of the bank that lies in it, at middling darkness of
the hand: deepest at the crest, giving out over the bank behind (common practice, no published source)."""

PALE = 0.05
"""A hand no darker than this leaves shade away."""

THIN_MM = 0.06
"""Washes may end so much beside where they were meant to: their edge lies under a line or in a shade."""

SLIVER = 1.1
"""Where less than so many pitches of a bank shows beside the banks before it, nothing is inked."""


class Bank:
    """A bank laid on its spine."""

    def __init__(self, spine: Spine, crest: Crest) -> None:
        self.spine, self.crest, self.shape = spine, crest, crest.shape
        self._over: tuple[Nodes, np.ndarray] | None = None

    @cached_property
    def outline(self) -> BaseGeometry:
        """The area that it hides."""
        return areas(shapely.polygons(self.spine.bend(self.crest.ring)))

    def over(self, skin: Nodes) -> np.ndarray:
        """Which nodes (n,) of skin it hides; asked again of the same skin it is known."""
        if self._over is None or self._over[0] is not skin:
            self._over = skin, skin.within(self.outline)
        return self._over[1]

    def lines(self, pen: Pen) -> list[Line]:
        """The bank's strokes in the chart."""
        return self.laid(bank_lines(self.crest, pen))

    def laid(self, lines: list[Line]) -> list[Line]:
        """Strokes in bank coordinates, in the chart."""
        flat = self.spine.bend(np.concatenate([line.path for line in lines]))
        cut = np.cumsum([len(line.path) for line in lines])[:-1]
        return [replace(line, path=p) for line, p in zip(lines, np.split(flat, cut), strict=True)]

    def foot(self) -> BaseGeometry:
        """The low part of the body, where the bank lies in its own shade."""
        return areas(shapely.polygons(self.spine.bend(self.crest.foot())))


def areas(shape: BaseGeometry) -> BaseGeometry:
    """A shape, mended where it crosses itself; lines that mending leaves are dropped."""
    return shape if shapely.is_valid(shape) else in_one(shapely.get_parts(sound(shape)))


def all_sound(polygons: list[BaseGeometry] | np.ndarray) -> list[BaseGeometry] | np.ndarray:
    """The polygons, mended where one crosses itself."""
    return polygons if shapely.is_valid(polygons).all() else [sound(p) for p in polygons]


def compose(banks: list[Bank], stage: Stage, rim: BaseGeometry, pen: Pen, hand: Hand,
            line_gap_mm: float) -> Drawing | None:
    """Banks back to front as one drawing; None when nothing of them is seen. `rim`: the line at which open skin ends;
    no stroke runs along it or has its tip cut off there."""
    outlines = np.array([b.outline for b in banks], dtype=object)
    ink: list[BaseGeometry] = []
    wash: dict[str, list[BaseGeometry]] = {role: [] for role, _ in SHADE}
    ends: list[End] = []
    shown = []
    shapely.prepare(stage.seen)
    tree = shapely.STRtree(outlines)
    inked: list[list[BaseGeometry]] = [[] for _ in banks]
    for i, bank in reversed(list(enumerate(banks))):
        over = np.sort(tree.query(bank.outline, predicate="intersects"))
        over = over[over > i]
        cover = Polygon() if not len(over) else outlines[over[0]] if len(over) == 1 else united(outlines[over])
        left = shapely.difference(bank.outline, cover)
        if not shapely.intersects(stage.seen, left):
            continue
        shown.append(bank.outline)
        shapely.prepare(cover)
        lines = out_of_slivers(bank.lines(pen), thinned(left), cover, SLIVER * pen.pitch_mm)
        lines = kept_apart(lines, cover, [line for k in over for line in inked[k]], rim, pen)
        inked[i] = centre_lines(lines)
        bodies = np.array([*ribbons(lines, 1.12 * pen.least_mm), Polygon()], dtype=object)[:-1]
        wanted = shapely.intersects(stage.seen, bodies) & ~shapely.contains_properly(cover, bodies)
        cut = wanted & shapely.intersects(cover, bodies)
        ink += [*bodies[wanted & ~cut], *shapely.difference(bodies[cut], cover)]
        ends += line_ends([line for line, w in zip(lines, wanted, strict=True) if w], cover)
        for role, shade in shadows(bank, left, cover, hand):
            wash[role].append(shade)
    if not ink:
        return None
    outline = shapely.buffer(in_one(thinned(shown)), pen.outline_mm / 2, quad_segs=2)
    black = in_one(no_crumbs(closed(stage.each_kept(ink), line_gap_mm, pen.least_mm), CRUMB_MM / 3))
    layers = [Layer.of(role, gridded(in_one(stage.each_kept(shades)))) for role, shades in wash.items() if shades]
    layers.append(Layer.of("line", gridded(black)))
    ends = [e for e in ends if shapely.contains_xy(stage.room, e.x, e.y)]
    return Drawing.of(gridded(stage.kept(outline)), tuple(layers), tuple(ends))


def on_grid(area: BaseGeometry) -> tuple[np.ndarray, ...]:
    """Rings of an area as `gridded` leaves it."""
    return geometry_to_rings(gridded(area))


def gridded(area: BaseGeometry) -> BaseGeometry:
    """An area with coordinates on the 0.001 mm grid that drawings are stored on, still valid, without crumbs."""
    fine = shapely.set_precision(area, 0.001, mode="pointwise")
    parts = shapely.get_parts(fine if shapely.is_valid(fine) else shapely.set_precision(area, 0.001))
    return in_one(parts[shapely.area(parts) > 0.02])


UNDER_MM = 0.1
"""Washes end so far under the line round what they shade, so that two of them never meet."""


def shadows(bank: Bank, left: BaseGeometry, cover: BaseGeometry, hand: Hand) -> list[tuple[str, BaseGeometry]]:
    """Washes on what is left in view of a bank, one area a role: low in its own body, and behind the crests before it,
    deeper the nearer."""
    if hand.dark <= PALE:
        return []
    inner = sound(shrunk(thinned(left, THIN_MM), UNDER_MM))
    shades = {"light": [bank.foot()]}
    if not cover.is_empty:
        reach = bank.shape.thick_mm * (0.5 + hand.dark) * np.array([share for _, share in SHADE])
        x0, y0, x1, y1 = left.bounds
        far = float(reach.max()) + 0.1
        near = thinned(shapely.clip_by_rect(cover, x0 - far, y0 - far, x1 + far, y1 + far), THIN_MM)
        for (role, _), area in zip(SHADE, shapely.buffer(near, reach, quad_segs=3), strict=True):
            shades.setdefault(role, []).append(area)
    seen = [(role, in_one(shapely.intersection(united(some) if len(some) > 1 else some[0], inner)))
            for role, some in shades.items()]
    return [(role, area) for role, area in seen if not area.is_empty]


def line_ends(lines: list[Line], cover: BaseGeometry) -> list[End]:
    """Both ends of strokes, unless they lie under what is in front."""
    if not lines:
        return []
    xy = np.concatenate([line.path[[0, -1]] for line in lines])
    how = [h for line in lines for h in (line.start, line.end)]
    gone = shapely.contains_xy(cover, xy[:, 0], xy[:, 1])
    return [End(round(x, 3), round(y, 3), h) for (x, y), h, lost in zip(xy.tolist(), how, gone, strict=True)
            if not lost]


def centre_lines(lines: list[Line]) -> list[BaseGeometry]:
    """Strokes as lines."""
    if not lines:
        return []
    of = np.repeat(np.arange(len(lines)), [len(line.path) for line in lines])
    return list(shapely.linestrings(np.concatenate([line.path for line in lines]), indices=of))


WHOLE = 0.97
"""Share of a ribbon's area that is left when its folds are taken out."""


def ribbons(lines: list[Line], least_mm: float) -> list[BaseGeometry]:
    """Strokes as polygons, nowhere thinner than `least_mm`."""
    if not lines:
        return []
    out = ribbon_rings(lines, least_mm)
    return [poly if v else _unfolded(poly, line.path, np.maximum(line.width, least_mm))
            for poly, v, line in zip(out, shapely.is_valid(out), lines, strict=True)]


def ribbon_rings(lines: list[Line], least_mm: float) -> np.ndarray:
    """The same (n,), not mended where a stroke folds over at the inside of a bend or meets itself."""
    p, w = (np.concatenate([part(line) for line in lines]) for part in (lambda a: a.path, lambda a: a.width))
    return rings_along(p, np.maximum(w, least_mm), np.array([len(line.path) for line in lines]))


def rings_along(p: np.ndarray, w: np.ndarray, count: np.ndarray) -> np.ndarray:
    """The same of strokes that stand one after the other: places (n, 2), widths (n,), so many each (k,)."""
    last = np.cumsum(count) - 1
    first = last - count + 1
    t = np.empty_like(p)
    t[1:-1] = p[2:] - p[:-2]
    t[first], t[last] = p[first + 1] - p[first], p[last] - p[last - 1]
    t /= np.maximum(np.hypot(t[:, 0], t[:, 1]), 1e-9)[:, None]
    n = np.column_stack([-t[:, 1], t[:, 0]]) * (w / 2)[:, None]
    tip = t * w[:, None] / 2
    # each ring: along the left side, round the end, back along the right side, the start
    ring = np.empty((2 * len(p) + 4 * len(count), 2))
    begin = 2 * first + 4 * np.arange(len(count))
    along = np.arange(len(p)) - np.repeat(first, count)
    ring[np.repeat(begin, count) + along] = p + n
    ring[begin + count] = p[last] + (n[last] + tip[last]) * 0.7071
    ring[begin + count + 1] = p[last] + tip[last]
    ring[begin + count + 2] = p[last] + (tip[last] - n[last]) * 0.7071
    ring[np.repeat(begin + 2 * count + 2, count) - along] = p - n
    ring[begin + 2 * count + 3] = p[first] - tip[first]
    return polygons_of(ring, 2 * count + 4)


def _unfolded(ribbon: BaseGeometry, path: np.ndarray, width: np.ndarray) -> BaseGeometry:
    """A ribbon that crosses itself made good: folds at the inside of a bend are taken out, which leaves all but its
    whole area; one that meets itself is laid again stretch by stretch, which takes ten times as long."""
    out = shapely.buffer(ribbon, 0.0)
    area = float((np.hypot(*np.diff(path, axis=0).T) * (width[1:] + width[:-1]) / 2).sum())
    return out if out.geom_type == "Polygon" and out.area > WHOLE * area else stroke(path, width)
