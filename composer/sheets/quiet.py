"""Where a cut does least harm: the cheapest way through open skin, round ink and past what is kept whole.

The cost field is a raster of the stencil at 1 mm. A cut goes forward with every step, straight or at 45
degrees, so that scissors can follow it; the cheapest such way is found row by row (dynamic programming,
as for seams in pictures: Avidan and Shamir, "Seam Carving", SIGGRAPH 2007, doi 10.1145/1275808.1276390).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import shapely
from PIL import Image, ImageDraw
from scipy.interpolate import RectBivariateSpline
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from composer.art.pixels import outer_first

PX_MM = 1.0
AIR, OPEN, LINE, SOLID, KEPT = 0.5, 1.0, 14.0, 30.0, 4000.0
"""Cost of one mm beside the paper, through open skin, line work, solid black, and what is to be kept whole."""
STRAY = 2.5
"""What the edge of the strip costs more than its middle, per mm."""


@dataclass(frozen=True)
class Field:
    """Cost per mm on a grid: pixel (row, column) has its middle at (x0 + column, y0 + row) mm, y up.
    `paper` is what lies on the paper at all; a way may leave it and come back."""

    x0: float
    y0: float
    cost: np.ndarray
    paper: np.ndarray
    _known: dict[Callable, np.ndarray] = field(default_factory=dict, compare=False, repr=False)

    def places(self, to_skin: Callable[[np.ndarray], np.ndarray], every: int = 6) -> np.ndarray:
        """Where all pixels lie (rows, columns, 2) by a smooth map of mm, which is asked for a pixel in `every` squared
        and run through by a bicubic spline; known where it is asked for again."""
        if to_skin in self._known:
            return self._known[to_skin]
        x, y = (a + PX_MM * np.linspace(0, n - 1, max(6, n // every)) for a, n in
                zip((self.x0, self.y0), self.cost.shape[::-1], strict=True))
        some = to_skin(np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)).reshape(len(x), len(y), 2)
        at = [a + PX_MM * np.arange(n) for a, n in zip((self.x0, self.y0), self.cost.shape[::-1], strict=True)]
        found = np.stack([RectBivariateSpline(x, y, some[..., k])(*at).T for k in (0, 1)], axis=-1)
        self._known[to_skin] = found
        return found

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

    paper = mask(outline, False)
    cost = np.where(paper, OPEN, AIR)
    cost[mask(solid, True)] = SOLID
    cost[mask(lines, True)] = LINE
    cost[mask(keep, True)] = KEPT
    return Field(*origin, cost, paper)


def _painted(g: BaseGeometry, size: tuple[int, int], origin: tuple[float, float], edge: bool) -> np.ndarray:
    """Pixels that a geometry covers; with `edge` also those that its boundary or a line only touches."""
    picture = Image.new("1", size)
    pen = ImageDraw.Draw(picture)

    def at(ring: shapely.Geometry) -> list[float]:
        return ((shapely.get_coordinates(ring) - origin) / PX_MM).ravel().tolist()

    for p in outer_first(shapely.get_parts(g)):
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


def quiet_way(field: Field, across: np.ndarray, starts: np.ndarray, ends: np.ndarray, forward: str
              ) -> np.ndarray | None:
    """The cheapest way (n, 2), mm, from a start pixel to an end pixel through the strip where |across| <= 1.

    `across` (rows, columns) is -1 and 1 at the strip's edges and 0 along its middle, nan where it must not
    go; `starts` and `ends` are masks of the same shape; `forward` is 'up', 'down' or 'right'. None when
    there is no way, or only through what is kept whole.
    """
    inside = np.abs(across) <= 1                # nowhere where it is nan
    cost = np.full(field.cost.shape, np.inf)
    cost[inside] = field.cost[inside] + STRAY * across[inside] ** 2
    turn = {"up": lambda g: g, "down": lambda g: g[::-1], "right": lambda g: g.T}[forward]
    way = cheapest(turn(cost), turn(starts & inside), turn(ends & inside))
    if way is None:
        return None
    rows, columns = way.T
    if forward == "down":
        rows = field.cost.shape[0] - 1 - rows
    if forward == "right":
        rows, columns = columns, rows
    if field.cost[rows, columns].max() >= KEPT:
        return None
    return _smooth(np.column_stack([field.x0 + columns * PX_MM, field.y0 + rows * PX_MM]))


def cheapest(cost: np.ndarray, starts: np.ndarray, ends: np.ndarray) -> np.ndarray | None:
    """The cheapest way (n, 2) of (row, column), one row on with every step and at most one column aside,
    from a start to an end; a step costs the mean of its two pixels times its length. None when there is none."""
    wide = np.flatnonzero(np.isfinite(cost).any(axis=0))
    if not len(wide):
        return None
    high = np.flatnonzero(np.isfinite(cost).any(axis=1))
    left, right, low = int(wide[0]), int(wide[-1]) + 1, int(high[0])
    rows = slice(low, int(high[-1]) + 1)
    cost, starts, ends = cost[rows], starts[rows, left:right], ends[rows, left:right]
    price = np.full((len(cost), right - left + 2), np.inf)       # a column of inf on either side
    price[:, 1:-1] = cost[:, left:right]
    best = np.full_like(price, np.inf)
    best[:, 1:-1][starts] = 0.0
    half = 0.5 * price
    wide, on = len(starts[0]), half[1:, 1:-1]
    # what a step into each pixel costs from the row before: straight, from the left, from the right
    steps = (half[:-1, 1:-1] + on, np.sqrt(2) * (half[:-1, :-2] + on), np.sqrt(2) * (half[:-1, 2:] + on))
    aside = (1, 0, 2)
    for r in range(1, len(cost)):
        before, here = best[r - 1], best[r, 1:-1]
        for step, c in zip(steps, aside, strict=True):
            np.minimum(here, before[c:c + wide] + step[r - 1], out=here)
    goal = np.where(ends & ~starts, best[:, 1:-1], np.inf)
    if not np.isfinite(goal).any():
        return None
    r, c = (int(v) for v in np.unravel_index(int(goal.argmin()), goal.shape))
    out = [(r, c)]
    while not starts[r, c]:
        ways = [best[r - 1, c + k] + step[r - 1, c] for step, k in zip(steps, aside, strict=True)]
        r, c = r - 1, c + aside[ways.index(min(ways))] - 1
        out.append((r, c))
    way = np.array(out[::-1])
    return way + np.array([low, left])


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
