"""The widest circle in a flat polygon: its centre and radius."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon

_STEP = np.arange(-4, 5) / 4
_GRID = np.column_stack([g.ravel() for g in np.meshgrid(_STEP, _STEP)])


def widest_circle(area: Polygon, tries: np.ndarray, fine_mm: float = 0.008) -> tuple[np.ndarray, float]:
    """Centre (2,) and radius of the widest circle inside `area`, mm.

    `tries` (n, 2): places to start from, say middles of circles between the edges; the three best
    are followed up on grids that close in, to `fine_mm`. With no try inside, shapely's own search
    is used to start.
    """
    shapely.prepare(area)
    inside = tries[shapely.contains_xy(area, tries)] if len(tries) else tries
    if len(inside) == 0:
        inside = shapely.get_coordinates(shapely.maximum_inscribed_circle(area, tolerance=0.05))[:1]
    rings = [np.asarray(r.coords) for r in (area.exterior, *area.interiors)]
    a = np.concatenate([r[:-1] for r in rings])
    b = np.concatenate([r[1:] for r in rings])
    d = shapely.distance(shapely.points(inside), area.boundary)
    best, reach = inside[d.argmax()], float(d.max())
    for k in _spread(inside, d):
        at, r = _climb(inside[k], float(d[k]), a, b, 0.3 + 0.05 * reach, fine_mm)
        if r > reach:
            best, reach = at, r
    return best, reach


def _climb(at: np.ndarray, r: float, a: np.ndarray, b: np.ndarray, span: float,
           fine_mm: float) -> tuple[np.ndarray, float]:
    """Uphill from `at` on the distance to the segments a-b. The span stays under half the radius,
    so no step crosses the edge."""
    while span > fine_mm:
        near = _distance(at[None], a, b)[0] <= r + 3 * span
        spots = at + _GRID * span
        d = _distance(spots, a[near], b[near]).min(axis=1)
        k = int(d.argmax())
        if d[k] > r + 1e-9:
            far = np.abs(_GRID[k]).max() > 0.9
            at, r = spots[k], float(d[k])
            if far:
                continue
        span *= 0.3
    return at, r


def _distance(p: np.ndarray, a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """From points (n, 2) to segments (m, 2): (n, m)."""
    v = b - a
    vv = np.maximum((v * v).sum(axis=1), 1e-12)
    wx, wy = p[:, None, 0] - a[None, :, 0], p[:, None, 1] - a[None, :, 1]
    t = np.clip((wx * v[:, 0] + wy * v[:, 1]) / vv, 0, 1)
    return np.hypot(wx - t * v[:, 0], wy - t * v[:, 1])


def _spread(spots: np.ndarray, d: np.ndarray, most: int = 3) -> list[int]:
    """Up to `most` of the widest starts that do not lie within each other's circles."""
    out: list[int] = []
    for k in np.argsort(-d, kind="stable"):
        if d[k] < 0.85 * d.max() or len(out) == most:
            break
        if all(np.hypot(*(spots[k] - spots[o])) > 0.6 * d[o] for o in out):
            out.append(int(k))
    return out
