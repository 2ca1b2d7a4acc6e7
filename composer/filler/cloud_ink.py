"""Banks of cloud inked as one drawing: what is hidden goes, crevices turn black, shadows are washed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import stroke
from composer.art.drawing import Drawing, End, Layer, geometry_to_rings
from composer.filler.clip import CRUMB_MM, no_crumbs
from composer.filler.closing import closed, in_one, lighter, shrunk, sound, thinned, united
from composer.filler.cloud_bank import Row, Shape
from composer.filler.cloud_lay import Spine
from composer.filler.cloud_lines import Line, Pen, bank_lines
from composer.filler.cloud_stage import Stage
from composer.filler.points import clear_tips, out_of_slivers
from composer.plan.model import Hand

WASH = 0.12
"""Width of a shadow as a share of the bank's thickness, at middling darkness of the hand."""

THIN_MM = 0.06
"""Washes may end so much beside where they were meant to: their edge lies under a line or in a shade."""


@lru_cache(maxsize=64)
def _circle(steps: int) -> np.ndarray:
    turn = np.linspace(0, 2 * np.pi, steps, endpoint=False)
    return np.column_stack([np.cos(turn), np.sin(turn)])


def _disc(x: float, h: float, r: float) -> np.ndarray:
    """A lobe (n, 2), its chords at most 0.04 mm short."""
    return _circle(max(12, math.ceil(11.2 * math.sqrt(r)))) * r + (x, h)
SLIVER = 1.1
"""Where less than so many pitches of a bank shows beside the banks before it, nothing is inked."""


class Bank:
    """A bank laid on its spine."""

    def __init__(self, spine: Spine, shape: Shape, chains: list[Row]) -> None:
        self.spine, self.shape, self.chains = spine, shape, chains
        self.rows: list[BaseGeometry] = []
        for row in chains:
            rings = [row.outline(), *(_disc(x, h, r) for x, h, r in row.lobes.tolist())]
            flat = spine.bend(np.concatenate(rings))
            self.rows.append(united(all_sound(polygons_of(flat, [len(r) for r in rings]))))
        self.outline = self.rows[0] if len(self.rows) == 1 else united(self.rows)

    def lines(self, pen: Pen, seen: BaseGeometry) -> list[Line]:
        """The bank's strokes in the chart; lobes that lie clear of what can be seen are left out."""
        near = []
        for row in self.chains:
            at = shapely.points(self.spine.bend(row.lobes[:, :2])) if len(row.lobes) else np.zeros(0, object)
            near.append(np.array(shapely.dwithin(at, seen, row.lobes[:, 2] * 1.2), bool))
        lines = bank_lines(self.shape, self.chains, pen, near)
        if not lines:
            return []
        flat = self.spine.bend(np.concatenate([line.path for line in lines]))
        cut = np.cumsum([len(line.path) for line in lines])[:-1]
        return [replace(line, path=p) for line, p in zip(lines, np.split(flat, cut), strict=True)]

    def base(self) -> BaseGeometry:
        """The low part of the body, where the bank lies in its own shade."""
        top = self.chains[0].top * (1.0, 0.42)
        x = np.linspace(top[-1, 0], top[0, 0], 20)
        return sound(Polygon(self.spine.bend(np.vstack([top, np.column_stack([x, np.full(20, -0.01)])]))))


def polygons_of(points: np.ndarray, counts: Sequence[int] | np.ndarray) -> np.ndarray:
    """Polygons of rings that stand one after the other in (n, 2), so many points each."""
    return shapely.polygons(shapely.linearrings(points, indices=np.repeat(np.arange(len(counts)), counts)))


def all_sound(polygons: list[BaseGeometry] | np.ndarray) -> list[BaseGeometry] | np.ndarray:
    """The polygons, mended where one crosses itself."""
    return polygons if shapely.is_valid(polygons).all() else [sound(p) for p in polygons]


def compose(banks: list[Bank], stage: Stage, pen: Pen, hand: Hand, line_gap_mm: float) -> Drawing | None:
    """Banks back to front as one drawing; None when nothing of them is seen."""
    outlines = np.array([b.outline for b in banks], dtype=object)
    ink: list[BaseGeometry] = []
    wash: dict[str, list[BaseGeometry]] = {"light": [], "mid": []}
    ends: list[End] = []
    shown = []
    shapely.prepare(stage.seen)
    rim = stage.seen.boundary
    tree = shapely.STRtree(outlines)
    for i, bank in enumerate(banks):
        over = np.sort(tree.query(bank.outline, predicate="intersects"))
        over = over[over > i]
        cover = Polygon() if not len(over) else outlines[over[0]] if len(over) == 1 else united(outlines[over])
        left = shapely.difference(bank.outline, cover)
        if not shapely.intersects(stage.seen, left):
            continue
        shown.append(bank.outline)
        shapely.prepare(cover)
        lines = out_of_slivers(bank.lines(pen, stage.seen), thinned(left), cover, SLIVER * pen.pitch_mm)
        lines = clear_tips(lines, rim)
        bodies = np.array([*ribbons(lines, 1.12 * pen.least_mm), Polygon()], dtype=object)[:-1]
        wanted = shapely.intersects(stage.seen, bodies) & ~shapely.contains_properly(cover, bodies)
        cut = wanted & shapely.intersects(cover, bodies)
        ink += [*bodies[wanted & ~cut], *shapely.difference(bodies[cut], cover)]
        ends += line_ends([line for line, w in zip(lines, wanted, strict=True) if w], cover)
        for role, shade in shadows(bank, left, cover, stage, hand):
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


def shadows(bank: Bank, left: BaseGeometry, cover: BaseGeometry, stage: Stage,
            hand: Hand) -> list[tuple[str, BaseGeometry]]:
    """Washes on what is left in view of a bank: below, next to its own front rows, and next to
    the banks before it; one area a role."""
    wide = WASH * bank.shape.thick_mm * (0.4 + 1.2 * hand.dark)
    light, mid = [], []
    inner = sound(shrunk(thinned(left, THIN_MM), UNDER_MM))
    if hand.dark > 0.05:
        light.append(bank.base())
    for k in range(len(bank.rows) - 1):
        if not shapely.intersects(stage.seen, bank.rows[k]):
            continue
        front = bank.rows[k + 1] if k + 2 == len(bank.rows) else united(bank.rows[k + 1 :])
        front = lighter(front, THIN_MM)
        near = shapely.buffer(front, wide * np.array([1.0, 0.42]), quad_segs=3)
        near = shapely.difference(shapely.intersection(near, bank.rows[k]), front)
        light.append(near[0])
        mid.append(near[1])
    if not cover.is_empty:
        x0, y0, x1, y1 = left.bounds
        far = 1.5 * wide + 0.1
        near = thinned(shapely.clip_by_rect(cover, x0 - far, y0 - far, x1 + far, y1 + far), THIN_MM)
        near = shapely.buffer(near, wide * np.array([1.5, 0.65]), quad_segs=3)
        light.append(near[0])
        mid.append(near[1])
    return [(role, shapely.intersection(united(shades) if len(shades) > 1 else shades[0], inner))
            for role, shades in (("light", light), ("mid", mid)) if shades]


def line_ends(lines: list[Line], cover: BaseGeometry) -> list[End]:
    """Both ends of strokes, unless they lie under what is in front."""
    if not lines:
        return []
    xy = np.concatenate([line.path[[0, -1]] for line in lines])
    how = [h for line in lines for h in (line.start, line.end)]
    gone = shapely.contains_xy(cover, xy[:, 0], xy[:, 1])
    return [End(round(x, 3), round(y, 3), h) for (x, y), h, lost in zip(xy.tolist(), how, gone, strict=True)
            if not lost]


def ribbons(lines: list[Line], least_mm: float) -> list[BaseGeometry]:
    """Strokes as polygons, nowhere thinner than `least_mm`."""
    if not lines:
        return []
    count = np.array([len(line.path) for line in lines])
    last = np.cumsum(count) - 1
    first = last - count + 1
    p, w = (np.concatenate([part(line) for line in lines]) for part in (lambda a: a.path, lambda a: a.width))
    w = np.maximum(w, least_mm)
    t = np.empty_like(p)
    t[1:-1] = p[2:] - p[:-2]
    t[first], t[last] = p[first + 1] - p[first], p[last] - p[last - 1]
    t /= np.maximum(np.hypot(t[:, 0], t[:, 1]), 1e-9)[:, None]
    n = np.column_stack([-t[:, 1], t[:, 0]]) * (w / 2)[:, None]
    tip = t * w[:, None] / 2
    # each ring: along the left side, round the end, back along the right side, the start
    ring = np.empty((2 * len(p) + 4 * len(lines), 2))
    begin = 2 * first + 4 * np.arange(len(lines))
    along = np.arange(len(p)) - np.repeat(first, count)
    ring[np.repeat(begin, count) + along] = p + n
    ring[begin + count] = p[last] + (n[last] + tip[last]) * 0.7071
    ring[begin + count + 1] = p[last] + tip[last]
    ring[begin + count + 2] = p[last] + (tip[last] - n[last]) * 0.7071
    ring[np.repeat(begin + 2 * count + 2, count) - along] = p - n
    ring[begin + 2 * count + 3] = p[first] - tip[first]
    out = polygons_of(ring, 2 * count + 4)
    return [poly if v else stroke(line.path, np.maximum(line.width, least_mm))
            for poly, v, line in zip(out, shapely.is_valid(out), lines, strict=True)]
