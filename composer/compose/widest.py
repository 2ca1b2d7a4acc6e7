"""The widest circle in a flat polygon: its centre and radius."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

GRID = 4


def widest_circle(area: BaseGeometry, tries: np.ndarray, fine_mm: float = 0.01) -> tuple[np.ndarray, float]:
    """Centre (2,) and radius of the widest circle inside `area` (a polygon, mm).

    `tries` (n, 2): places to start from, say centres of circles between edges; the three best are
    followed up on grids that close in. With no try inside, shapely's own search is used.
    """
    edge = area.boundary
    shapely.prepare(area)
    inside = tries[shapely.contains_xy(area, tries)] if len(tries) else tries
    if len(inside) == 0:
        line = shapely.maximum_inscribed_circle(area, tolerance=0.05)
        inside = shapely.get_coordinates(line)[:1]
    shapely.prepare(edge)
    d = shapely.distance(shapely.points(inside), edge)
    step = np.arange(-GRID, GRID + 1) / GRID
    grid = np.column_stack([g.ravel() for g in np.meshgrid(step, step)])
    best, reach = inside[d.argmax()], float(d.max())
    for seed in _spread(inside, d):
        at, r = inside[seed], float(d[seed])
        span = max(0.35 * reach, 1.0)
        while span > fine_mm:
            spots = at + grid * span
            dist = shapely.distance(shapely.points(spots), edge)
            dist = np.where(shapely.contains_xy(area, spots), dist, -1.0)
            k = int(dist.argmax())
            if dist[k] > r:
                moved = float(np.abs(spots[k] - at).max())
                at, r = spots[k], float(dist[k])
                if moved > 0.9 * span:
                    continue
            span *= 0.4
        if r > reach:
            best, reach = at, r
    return best, reach


def _spread(spots: np.ndarray, d: np.ndarray, most: int = 3) -> list[int]:
    """Up to `most` of the widest starts that do not lie within each other's circles."""
    out: list[int] = []
    for k in np.argsort(-d, kind="stable"):
        if d[k] < 0.7 * d.max() or len(out) == most:
            break
        if all(np.hypot(*(spots[k] - spots[o])) > 0.6 * d[o] for o in out):
            out.append(int(k))
    return out
