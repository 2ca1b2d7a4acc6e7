"""Where a cut does least harm: the cheapest way through open skin, round ink and past what is kept whole.

The cost field is a raster of the stencil at 1 mm; the way is found with minimum-cost paths on it
(scikit-image, Dijkstra's method, diagonal steps by their length).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from PIL import Image, ImageDraw
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry
from skimage.graph import MCP_Geometric

PX_MM = 1.0
OPEN, LINE, SOLID, KEPT = 1.0, 14.0, 30.0, 4000.0
"""Cost of one mm through open skin, line work, solid black, and what is to be kept whole."""
STRAY = 2.5
"""What the edge of the strip costs more than its middle, per mm."""


@dataclass(frozen=True)
class Field:
    """Cost per mm on a grid: pixel (row, column) has its middle at (x0 + column, y0 + row) mm, y up.
    `paper` is what lies on the paper at all."""

    x0: float
    y0: float
    cost: np.ndarray
    paper: np.ndarray

    @property
    def middles(self) -> np.ndarray:
        """Middles of all pixels (rows * columns, 2), mm."""
        rows, columns = np.indices(self.cost.shape)
        return np.column_stack([self.x0 + columns.ravel() * PX_MM, self.y0 + rows.ravel() * PX_MM])


def field_of(outline: BaseGeometry, lines: BaseGeometry, solid: BaseGeometry, keep: BaseGeometry) -> Field:
    """The cost field of a stencil: its paper, inked areas, outlines of solid blacks, what is kept whole."""
    x0, y0, x1, y1 = outline.bounds
    size = (int(np.ceil((x1 - x0) / PX_MM)) + 3, int(np.ceil((y1 - y0) / PX_MM)) + 3)
    origin = (x0 - PX_MM, y0 - PX_MM)

    def mask(g: BaseGeometry, edge: bool) -> np.ndarray:
        return _painted(g, size, origin, edge)

    cost = np.full((size[1], size[0]), OPEN)
    cost[mask(solid, True)] = SOLID
    cost[mask(lines, True)] = LINE
    cost[mask(keep, True)] = KEPT
    return Field(*origin, cost, mask(outline, False))


def _painted(g: BaseGeometry, size: tuple[int, int], origin: tuple[float, float], edge: bool) -> np.ndarray:
    """Pixels that a geometry covers; with `edge` also those that its boundary or a line only touches."""
    picture = Image.new("1", size)
    pen = ImageDraw.Draw(picture)

    def at(ring: shapely.Geometry) -> list[tuple[float, float]]:
        return [tuple(p) for p in ((np.asarray(ring.coords)[:, :2] - origin) / PX_MM).tolist()]

    for p in shapely.get_parts(g):
        if p.geom_type == "Polygon" and not p.is_empty:
            pen.polygon(at(p.exterior), fill=1)
            for hole in p.interiors:
                pen.polygon(at(hole), fill=0)
            if edge:
                for ring in (p.exterior, *p.interiors):
                    pen.line(at(ring), fill=1)
        elif p.geom_type in ("LineString", "LinearRing") and not p.is_empty:
            pen.line(at(p), fill=1)
    return np.array(picture)


def quiet_way(field: Field, across: np.ndarray, starts: np.ndarray, ends: np.ndarray) -> np.ndarray | None:
    """The cheapest way (n, 2), mm, from a start pixel to an end pixel through the strip where |across| <= 1.

    `across` (rows, columns) is -1 and 1 at the strip's edges and 0 along its middle, nan outside the
    paper; `starts` and `ends` are masks of the same shape. None when there is no way, or only
    through what is kept whole.
    """
    inside = field.paper & (np.abs(np.nan_to_num(across, nan=9.0)) <= 1)
    cost = np.where(inside, field.cost + STRAY * np.nan_to_num(across) ** 2, -1.0)
    a, b = np.argwhere(starts & inside), np.argwhere(ends & inside)
    if not len(a) or not len(b):
        return None
    search = MCP_Geometric(cost)
    totals, _ = search.find_costs(a, b, find_all_ends=False)
    goal = min(map(tuple, b), key=lambda p: totals[p])
    if not np.isfinite(totals[goal]) or totals[goal] >= KEPT:
        return None
    way = np.array(search.traceback(goal))
    xy = np.column_stack([field.x0 + way[:, 1] * PX_MM, field.y0 + way[:, 0] * PX_MM])
    if len(xy) < 2:
        return None
    return _smooth(xy)


def _smooth(xy: np.ndarray) -> np.ndarray:
    """Without the steps of the raster (Chaikin's corner cutting on the thinned way)."""
    p = np.asarray(shapely.simplify(LineString(xy), 0.75).coords)
    for _ in range(2):
        if len(p) < 3:
            break
        q, r = 0.75 * p[:-1] + 0.25 * p[1:], 0.25 * p[:-1] + 0.75 * p[1:]
        p = np.vstack([p[:1], np.stack([q, r], axis=1).reshape(-1, 2)[1:-1], p[-1:]])
    return p


def crossed_mm(way: np.ndarray, ink: BaseGeometry) -> float:
    """Length, mm, of a way that runs through ink."""
    return float(shapely.intersection(LineString(way), ink).length)
