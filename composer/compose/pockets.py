"""From the triangles of a pocket to a clean outline: clear of the pieces, without slivers, measured.

Worked in a flat patch laid at the pocket's own middle, where lengths are true to a few parts in a
hundred at worst, and kept by what it was made from, so that an untouched pocket is never made again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from scipy.spatial import cKDTree
from scipy.spatial.distance import pdist
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.kept_skin import OpenLimb
from composer.body.panel import Panel
from composer.body.patch import Patch
from composer.body.surface import Surface
from composer.compose.chart import chart_of
from composer.compose.outline import FAR, NEAR, Edge
from composer.compose.rim import borders_along
from composer.compose.split import split_large

ELEMENT_MM = 1.5
"""Half the width of the smallest element that background is made of; corners are rounded to it and
passages narrower than it (beyond the skin break on both sides) are left as skin."""

OWN_HOLE = 2.0
"""A hole or bay within a single piece belongs to its drawing until it is so many times as wide as
the smallest gap (common practice, no published source)."""

APART_MM = 1e-3
"""So far an outline stays from what bounds it, and twice so far from a chord, so that no two gaps share skin: on the
other side the cut may have other corners."""

STEP_MM = 3.0

U_SCALE = 300.0

SNAP_MM = 3.0

CIRCLE_MM = 0.01


@dataclass(frozen=True, eq=False)
class Pocket:
    """One outline: see `composer.compose.gaps.Gap`, whose measures these are."""

    key: str
    rings: tuple[np.ndarray, ...]
    area_mm2: float
    widest_mm: float
    centre: tuple[float, float]
    neighbours: tuple[str, ...]
    length_mm: float

    @cached_property
    def shape(self) -> Polygon:
        """The outline as a polygon for point tests, in (u * U_SCALE, s mm)."""
        shape = Polygon(self.rings[0] * (U_SCALE, 1.0), [r * (U_SCALE, 1.0) for r in self.rings[1:]])
        shapely.prepare(shape)
        return shape

    def holds(self, us: np.ndarray) -> np.ndarray:
        """Which of the skin points (n, 2) lie inside, whatever whole turns their u carries."""
        u0, _, u1, _ = self.shape.bounds
        out = np.zeros(len(us), bool)
        first = np.ceil(u0 / U_SCALE - us[:, 0])
        for k in range(max(1, int(np.ceil((u1 - u0) / U_SCALE)))):
            out |= shapely.contains_xy(self.shape, (us[:, 0] + first + k) * U_SCALE, us[:, 1])
        return out


def bare_cell(limb: Surface) -> np.ndarray:
    """Triangles (k, 3, 2) over a limb without pieces, cut open at the back (u = -0.5 and 0.5)."""
    chart = chart_of(limb)
    t = np.linspace(float(chart.t[0]), float(chart.t[-1]), 33)
    a, b, c, d = ([np.column_stack([np.full(32, u), x]) for u, x in ((-0.5, t[:-1]), (0.5, t[:-1]), (0.5, t[1:]),
                                                                   (-0.5, t[1:]))])
    return np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])


def name_cell(triangles: np.ndarray, near: Sequence[tuple[Edge, int]], rule: bytes) -> bytes:
    """Name of what a pocket is made from: its triangles (k, 3, 2) in the chart, and what lies near."""
    h = hashlib.blake2b(np.ascontiguousarray(triangles).tobytes(), digest_size=16)
    for e, k in near:
        h.update(e.name + k.to_bytes(2, "big", signed=True))
    h.update(rule)
    return h.digest()


def near_cells(limb: Surface, cells: Sequence[np.ndarray], edges: Sequence[Edge]) -> list[list[tuple[Edge, int]]]:
    """For each pocket's triangles (k, 3, 2): pieces whose grown outline may reach them, with the
    whole turns to add to them."""
    if not cells:
        return []
    chart = chart_of(limb)
    boxes = np.array([e.kept_box for e in edges])
    spans = np.array([(*c.min(axis=(0, 1)), *c.max(axis=(0, 1))) for c in cells])
    low, high = (np.interp(spans[:, k], chart.t, chart.s)[:, None] for k in (1, 3))
    first = np.ceil(spans[:, :1] - boxes[:, 2])
    last = np.floor(spans[:, 2:3] - boxes[:, 0])
    hit = (boxes[:, 1] <= high) & (boxes[:, 3] >= low) & (first <= last)
    out: list[list[tuple[Edge, int]]] = [[] for _ in cells]
    for n, i in zip(*(x.tolist() for x in np.nonzero(hit)), strict=True):
        out[n] += [(edges[i], k) for k in range(int(first[n, i]), int(last[n, i]) + 1)]
    return out


def make_pockets(limb: Surface, triangles: np.ndarray, near: Sequence[tuple[Edge, int]],
                 least_mm: float, skin_break_mm: float) -> tuple[Pocket, ...]:
    """Outlines of one pocket (none, one, or more where it is pinched off or too large).

    `near`: see `near_cells`.
    """
    chart = chart_of(limb)
    cell = _square_up(shapely.coverage_union_all(shapely.polygons(triangles)), float(chart.t[0]), float(chart.t[-1]),
                      SNAP_MM / float(chart.c.min()),
                      [shapely.transform(e.cover, lambda ut, k=k: ut + np.array([float(k), 0.0])) for e, k in near
                       if e.cover is not None])
    cell = shapely.segmentize(cell, STEP_MM / float(np.interp(triangles[0, 0, 1], chart.t, chart.c)))
    us = chart.to_skin(shapely.get_coordinates(cell))
    patch = _patch(limb, us)
    flat = shapely.transform(cell, lambda ut: patch.to_flat(chart.to_skin(ut)))
    if not flat.is_valid:
        flat = shapely.make_valid(flat)
    off = _off_in(patch, near)
    off = [g if g.is_valid else shapely.make_valid(g) for g in off]  # fine outlines may touch themselves in this chart
    open_skin = shapely.difference(flat, shapely.disjoint_subset_union_all(off)) if off else flat
    open_skin = open_skin.buffer(-ELEMENT_MM, join_style="mitre").buffer(ELEMENT_MM - APART_MM, quad_segs=6)
    least = least_mm / 2 - skin_break_mm
    out = []
    for part in _polygons(open_skin):
        if part.area < 3.0 * least * least:
            continue
        split = split_large(part)
        if len(split) > 1:
            split = [p for x in split for p in _polygons(x.buffer(-2 * APART_MM, join_style="mitre"))]
        for piece in split:
            p = _measure(limb, patch, piece, off, near, least, len(split) > 1)
            if p is not None:
                out.append(p)
    return tuple(out)


def _off_in(patch: Patch, near: Sequence[tuple[Edge, int]]) -> list[BaseGeometry]:
    """What is kept clear round each piece, flat in the patch."""
    if not near:
        return []
    kept = np.array([e.kept_off for e, _ in near])
    turns = np.repeat([float(k) for _, k in near], shapely.get_num_coordinates(kept))
    return list(shapely.transform(kept, lambda us: patch.to_flat(us + np.column_stack([turns, np.zeros(len(us))]))))


def _square_up(cell: BaseGeometry, low: float, high: float, reach: float,
               covers: Sequence[BaseGeometry]) -> BaseGeometry:
    """The cell with cuts that end on a border at right angles to it, not at one of its marks, and begin where the piece
    comes nearest to the border, not at one of its points. `covers`: the pieces, in the chart as the cell is."""
    def ring(line: BaseGeometry) -> np.ndarray:
        xy = np.asarray(line.coords)[:-1]
        on = (xy[:, 1] == low) | (xy[:, 1] == high)
        if not on.any():
            return xy
        out = list(xy[:, None])
        for k in np.flatnonzero(on).tolist():
            ends = [(xy[n], before) for n, before in ((k - 1, True), ((k + 1) % len(xy), False)) if not on[n]]
            if ends and all(abs(p[0] - xy[k, 0]) <= reach for p, _ in ends):
                tops = [(_nearest_to(p, xy[k, 1], covers, reach), before) for p, before in ends]
                out[k] = np.concatenate([np.array([top, (top[0], xy[k, 1])])[:: 1 if before else -1]
                                         for top, before in tops])
        return np.concatenate(out)

    if not np.any(np.isin(shapely.get_coordinates(cell)[:, 1], (low, high))):
        return cell
    return shapely.make_valid(shapely.multipolygons([Polygon(ring(p.exterior), [ring(h) for h in p.interiors])
                                                     for p in shapely.get_parts(cell)]))


def _nearest_to(point: np.ndarray, border: float, covers: Sequence[BaseGeometry], reach: float) -> tuple[float, float]:
    """Where the piece on whose edge `point` (u, t) lies comes nearest to the border at t = `border`, within `reach` of
    the point; the point itself where there is no piece."""
    if not len(covers):
        return float(point[0]), float(point[1])
    cover = covers[int(shapely.distance(np.array(covers), Point(point)).argmin())]
    side = shapely.get_coordinates(shapely.clip_by_rect(cover, point[0] - reach, point[1] - reach, point[0] + reach,
                                                        point[1] + reach))
    if not len(side):
        return float(point[0]), float(point[1])
    best = side[np.abs(side[:, 1] - border).argmin()]
    return float(best[0]), float(best[1])


def _patch(limb: Surface, us: np.ndarray) -> Patch:
    """Patch at the middle of the points, the cone fitted over their stretch (least squares)."""
    lo, hi = us.min(axis=0), us.max(axis=0)
    mid = (lo + hi) / 2
    if isinstance(limb, Panel):
        return limb.lay_patch(float(mid[0]), float(mid[1]), float(np.hypot(*(limb.to_mm(hi) - limb.to_mm(lo)))) / 2)
    y = np.linspace(-1, 1, 33) * max((hi[1] - lo[1]) / 2, 4.0)
    c = chart_of(limb).girth(mid[1] + y)
    b = float(y @ c / (y @ y))
    return Patch(float(mid[0]), float(mid[1]), float(c.mean()), b if abs(b) > 1e-9 else 0.0)


def _polygons(geometry: BaseGeometry) -> list[Polygon]:
    return [g for g in shapely.get_parts(geometry) if isinstance(g, Polygon) and not g.is_empty]


def _touching(part: Polygon, off: Sequence[BaseGeometry], near: Sequence[tuple[Edge, int]]) -> set[str]:
    """Pieces along whose grown edge the part runs: corners of both fall together there."""
    if not off:
        return set()
    xy, which = shapely.get_coordinates(off, return_index=True)
    lo, hi = np.reshape(part.bounds, (2, 2)) + np.array([[-0.5], [0.5]])
    inside = np.all((xy >= lo) & (xy <= hi), axis=1)
    tree = cKDTree(shapely.get_coordinates(part), balanced_tree=False, compact_nodes=False)
    d, _ = tree.query(xy[inside], distance_upper_bound=0.5)
    return {near[k][0].id for k in np.unique(which[inside][np.isfinite(d)])}


def _edges_along(limb: Surface, ring: np.ndarray) -> set[str]:
    """The edges of the part that an outline (n, 2) of (u, s) runs along."""
    if isinstance(limb, Panel):
        return borders_along(limb, ring)
    if isinstance(limb, OpenLimb):
        low, high = ring[:, 1] - limb.far_at(ring[:, 0]), limb.near_at(ring[:, 0]) - ring[:, 1]
        return {who for who, off, line in ((FAR, low, limb.far), (NEAR, high, limb.near))
                if (off < (2.0 if line else 0.6)).sum() > bool(line)}
    return {who for who, there in ((FAR, ring[:, 1].min() < limb.s_min + 0.6),
                                   (NEAR, ring[:, 1].max() > limb.s_max - 0.6)) if there}


def _measure(limb: Surface, patch: Patch, part: Polygon, off: Sequence[BaseGeometry], near: Sequence[tuple[Edge, int]],
             least: float, anew: bool) -> Pocket | None:
    chart = chart_of(limb)
    hull = part.convex_hull
    part = shapely.segmentize(part, STEP_MM)
    skin = [patch.to_skin(np.asarray(r.coords)[:-1]) for r in (part.exterior, *part.interiors)]
    own, flat = patch, part
    if anew:  # a part of something large: the patch of the whole would measure it badly
        own = _patch(limb, skin[0])
        flat = Polygon(own.to_flat(skin[0]), [own.to_flat(r) for r in skin[1:]])
        hull = flat.convex_hull
    circle = shapely.maximum_inscribed_circle(flat, tolerance=CIRCLE_MM)
    radius = float(circle.length)
    if radius < least:
        return None
    centre = own.to_skin(shapely.get_coordinates(circle)[:1])[0]
    who = _touching(part, off, near) - {FAR}
    edges = _edges_along(limb, skin[0])
    who |= edges
    if len(who) == 1 and 2 * radius < OWN_HOLE * 2 * least and not edges:
        return None
    turns = np.floor(centre[0]) if limb.closed else 0.0
    skin = [r - (turns, 0.0) for r in skin]
    area = abs(chart.ring_area(skin[0])) - sum(abs(chart.ring_area(r)) for r in skin[1:])
    key = hashlib.blake2b(b"|".join((np.round(r * (1e6, 1e3)) + 0.0).tobytes() for r in skin), digest_size=5)
    return Pocket(key.hexdigest(), tuple(skin), float(area), 2 * radius, (float(centre[0] - turns), float(centre[1])),
                  tuple(sorted(who)), float(pdist(shapely.get_coordinates(hull)).max()))
