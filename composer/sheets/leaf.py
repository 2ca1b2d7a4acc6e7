"""One paper of a stencil: cells of the art, each carried over by its own chart, with cuts and ticks."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from composer.sheets.stencil import Stencil, Tick
from composer.sheets.stencil_art import StencilArt, carried
from composer.sheets.stencil_marks import Mark

TICK_MM = 3.0
TICK_EVERY_MM = 15.0
DENSE_MM = 1.5
"""Edges longer than this are divided before they are carried over by a chart that bends them."""


SEAM_MM = 0.02
"""Art of neighbouring cells overlaps by this, so that no hairline shows where nothing is cut."""


class Paper(Protocol):
    """A chart that takes skin to flat paper."""

    def to_flat(self, us: np.ndarray) -> np.ndarray: ...


@dataclass(frozen=True)
class Cell:
    """A region of a stencil (in its chart, mm) that lies on paper in one chart; None: as it is."""

    region: BaseGeometry
    paper: Paper | None


@dataclass(frozen=True)
class Leaf:
    """One paper to cut out, mm, x right, y up. `cuts` further lines (n, 2) to cut, `freehand` where
    paper won't lie, `chart` by which it comes back (None: the stencil's own)."""

    name: str
    outline: BaseGeometry
    art: StencilArt
    marks: tuple[Mark, ...]
    cuts: tuple[np.ndarray, ...] = ()
    ticks: tuple[Tick, ...] = ()
    freehand: BaseGeometry = field(default_factory=Polygon)
    points: tuple[tuple[str, float, float], ...] = ()

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the paper."""
        x0, y0, x1, y1 = self.outline.bounds
        return x1 - x0, y1 - y0


def carry(stencil: Stencil, cell: Cell, xy: np.ndarray) -> np.ndarray:
    """Points (n, 2) of the stencil's chart onto the cell's paper; a point that comes twice, as rings end where they
    begin, comes out the same to the last digit (sums over a row of points differ there by where in it one stands)."""
    if cell.paper is None or not len(xy):
        return xy
    _, first, back = np.unique(np.ascontiguousarray(xy).view(complex)[:, 0], return_index=True, return_inverse=True)
    return cell.paper.to_flat(stencil.chart.to_skin(xy[first]))[back]


def leaf_of(stencil: Stencil, name: str, cells: list[Cell], freehand: BaseGeometry,
            trims: list[BaseGeometry] | None = None, **more: tuple) -> Leaf:
    """Put cells on one paper. `trims`: for each cell what of its paper is given to a neighbour."""
    outlines, bodies, arts, loose = [], [], [], []
    points: list[tuple[str, float, float]] = []
    ticks: list[Tick] = list(more.pop("ticks", ()))
    lines: list[list[BaseGeometry]] = [[] for _ in stencil.marks]
    for i, cell in enumerate(cells):
        rigid = cell.paper is None

        def go(xy: np.ndarray, cell: Cell = cell) -> np.ndarray:
            return carry(stencil, cell, xy)

        here = shapely.intersection([stencil.outline, stencil.body, freehand, *(m.lines for m in stencil.marks)],
                                    cell.region)
        form, body, by_hand, *marks_here = carried(here if rigid else shapely.segmentize(here, DENSE_MM), go)
        form = shapely.make_valid(form)
        wide = None if rigid else shapely.buffer(cell.region, SEAM_MM, quad_segs=1)
        art = stencil.art.mapped(go, wide, None if rigid else DENSE_MM)
        if trims is not None and not trims[i].is_empty:
            form = shapely.difference(form, trims[i])
            art = art.mapped(lambda xy: xy, form)
        outlines.append(form)
        bodies.append(shapely.make_valid(body))
        arts.append(art)
        loose.append(shapely.make_valid(by_hand))
        for kept, mark_here in zip(lines, marks_here, strict=True):
            kept.append(mark_here)
        for t in stencil.ticks:
            if shapely.intersects_xy(cell.region, *(0.3 * t.line[0] + 0.7 * t.line[1])):
                ticks.append(Tick(go(t.line), t.label))
        for letter, x, y in stencil.points:
            if shapely.intersects_xy(cell.region, x, y) and letter not in [p[0] for p in points]:
                points.append((letter, *go(np.array([[x, y]]))[0].tolist()))
    marks = [Mark(m.kind, m.label, shapely.union_all(kept)) for m, kept in zip(stencil.marks, lines, strict=True)]
    marks = [m for m in marks if not m.lines.is_empty and m.lines.length > 1.5]
    outline = shapely.union_all(outlines) if len(outlines) > 1 else outlines[0]
    outline = shapely.buffer(shapely.buffer(outline, 0.16, join_style="mitre"), -0.16, join_style="mitre")
    outline = with_art(_polygons(outline), shapely.union_all(bodies))
    cuts = tuple(line for c in more.pop("cuts", ()) for line in _inside(c, outline))
    return Leaf(name, outline, together(arts), tuple(marks), cuts, tuple(ticks),
                freehand=_polygons(shapely.union_all(loose)), points=tuple(points), **more)


def with_art(paper: BaseGeometry, body: BaseGeometry) -> BaseGeometry:
    """The pieces of paper that have art on them; scraps of margin are left away."""
    parts = shapely.get_parts(paper)
    kept = parts[(shapely.get_dimensions(parts) == 2) & (shapely.area(shapely.intersection(parts, body)) > 0.5)]
    return kept[0] if len(kept) == 1 else shapely.multipolygons(kept) if len(kept) else paper


def together(arts: list[StencilArt]) -> StencilArt:
    """Several pieces of art as one. They overlap by a hair where they were cut apart (see SEAM_MM)."""
    if len(arts) == 1:
        return arts[0]
    parts = [p for a in arts for p in shapely.get_parts(a.lines)]
    lines = shapely.multipolygons(parts) if parts else shapely.MultiPolygon()
    roles = dict.fromkeys(r for a in arts for r, _ in a.borders)
    borders = tuple((r, shapely.geometrycollections([g for a in arts for s, g in a.borders if s == r])) for r in roles)
    return StencilArt(lines, shapely.geometrycollections([a.blacks for a in arts]),
                      np.concatenate([a.crosses for a in arts]), borders,
                      tuple(n for a in arts for n in a.names))


def tick_pairs(stencil: Stencil, way: np.ndarray, left: Cell, right: Cell, first: int, label: bool
               ) -> tuple[list[Tick], list[Tick]]:
    """Matching ticks along a cut (n, 2) in the stencil's chart: those on its left side and on its right.
    They stand in open skin; where ink crosses the cut, that ink lines it up."""
    line = LineString(way)
    shapely.prepare([stencil.art.lines, stencil.outline])
    n = max(2, round(line.length / TICK_EVERY_MM))
    t = ((np.arange(n) + 0.5) / n * line.length)[:, None] + np.array([0.0, 2.0, -2.0, 4.0, -4.0, 6.0, -6.0])
    a, b = (shapely.get_coordinates(shapely.line_interpolate_point(line, np.clip(t + d, 0.0, line.length)))
            for d in (-1.0, 1.0))
    along = (b - a) / np.maximum(np.hypot(*(b - a).T), 1e-9)[:, None]
    middle, off = (a + b) / 2, TICK_MM * np.column_stack([-along[:, 1], along[:, 0]])
    across = shapely.linestrings(np.stack([middle - 1.6 * off, middle + 1.6 * off], axis=1))
    good = (shapely.covers(stencil.outline, across) & ~shapely.dwithin(stencil.art.lines, across, 0.6)).reshape(t.shape)
    k = np.flatnonzero(good.any(axis=1)) * t.shape[1] + good.argmax(axis=1)[good.any(axis=1)]
    here, there = (np.stack([middle[k], middle[k] + v], axis=1) for v in (off[k], -off[k]))
    words = [str(first + k) if label else "" for k in range(len(here))]

    def put(cell: Cell, lines: np.ndarray) -> list[Tick]:
        on_paper = carry(stencil, cell, lines.reshape(-1, 2)).reshape(-1, 2, 2)
        return [Tick(line, w) for line, w in zip(on_paper, words, strict=True)]

    return put(left, here), put(right, there)


def _inside(line: np.ndarray, outline: BaseGeometry) -> list[np.ndarray]:
    if len(line) < 2:       # a cut as short as the step it is looked for in
        return []
    kept = shapely.intersection(LineString(line), shapely.buffer(outline, 0.2))
    return [np.asarray(g.coords) for g in shapely.get_parts(kept) if g.geom_type == "LineString" and g.length > 1]


def _polygons(g: BaseGeometry) -> BaseGeometry:
    parts = shapely.get_parts(g)
    parts = parts[(shapely.get_dimensions(parts) == 2) & (shapely.area(parts) > 0.5)]
    return parts[0] if len(parts) == 1 else shapely.multipolygons(parts)
