"""Brush strokes: a centre line with a width that swells and tapers, as a polygon.

All points are numpy arrays of shape (n, 2) in mm, x to the right, y up (towards the
shoulder). Closed rings are closed implicitly (first point not repeated).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

Points = np.ndarray | Sequence[tuple[float, float]]
Width = float | np.ndarray | Callable[[np.ndarray], np.ndarray]


def spline(points: Points, closed: bool = False, step_mm: float = 0.5) -> np.ndarray:
    """Smooth curve through the points: centripetal Catmull-Rom (Barry and Goldman 1988).

    Repeat a point to make a sharp corner there. Returns (n, 2) mm, about one vertex every
    `step_mm`. Raises ValueError for fewer than two points.
    """
    raw = np.asarray(points, float)
    if len(raw) < 2:
        raise ValueError("A curve needs at least two points.")
    pieces = _split_at_corners(raw) if not closed else [raw]
    curves = [_catmull(p, closed, step_mm) for p in pieces]
    out = [curves[0]]
    out += [c[1:] for c in curves[1:]]
    return np.concatenate(out)


def _split_at_corners(points: np.ndarray) -> list[np.ndarray]:
    same = np.flatnonzero(np.all(np.isclose(points[1:], points[:-1]), axis=1))
    parts, start = [], 0
    for i in same:
        if i > start:
            parts.append(points[start : i + 1])
        start = i + 1
    parts.append(points[start:])
    return [p for p in parts if len(p) > 1]


def _catmull(points: np.ndarray, closed: bool, step_mm: float) -> np.ndarray:
    if closed:
        ctrl = np.vstack([points[-1], points, points[0], points[1]])
    else:
        ctrl = np.vstack([2 * points[0] - points[1], points, 2 * points[-1] - points[-2]])
    out = []
    for i in range(len(ctrl) - 3):
        p0, p1, p2, p3 = ctrl[i : i + 4]
        d = [max(float(np.hypot(*(b - a))), 1e-9) ** 0.5 for a, b in ((p0, p1), (p1, p2), (p2, p3))]
        n = max(2, int(np.ceil(d[1] ** 2 / step_mm)) + 1)
        t = np.linspace(0, d[1], n, endpoint=False)[:, None]
        t0, t2, t3 = -d[0], d[1], d[1] + d[2]
        a1 = (0 - t) / d[0] * p0 + (t - t0) / d[0] * p1
        a2 = (t2 - t) / d[1] * p1 + t / d[1] * p2
        a3 = (t3 - t) / d[2] * p2 + (t - t2) / d[2] * p3
        b1 = (t2 - t) / (t2 - t0) * a1 + (t - t0) / (t2 - t0) * a2
        b2 = (t3 - t) / t3 * a2 + t / t3 * a3
        out.append((t2 - t) / d[1] * b1 + t / d[1] * b2)
    if not closed:
        out.append(ctrl[-2:-1])
    return np.concatenate(out)


def arc_length(path: np.ndarray) -> np.ndarray:
    """Length along the path at every vertex, mm; the first is 0."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])


def resample(path: np.ndarray, step_mm: float) -> np.ndarray:
    """The same path with vertices `step_mm` apart (ends kept)."""
    s = arc_length(path)
    n = max(2, round(float(s[-1]) / step_mm) + 1)
    t = np.linspace(0, s[-1], n)
    return np.column_stack([np.interp(t, s, path[:, 0]), np.interp(t, s, path[:, 1])])


def normals(path: np.ndarray) -> np.ndarray:
    """Unit normals to the left of the direction of travel, (n, 2)."""
    t = np.gradient(path, axis=0)
    t /= np.maximum(np.hypot(t[:, 0], t[:, 1]), 1e-12)[:, None]
    return np.column_stack([-t[:, 1], t[:, 0]])


def swell(belly: float = 0.45, start: float = 0.0, end: float = 0.0) -> Callable[[np.ndarray], np.ndarray]:
    """Pressure of a drawn line: 1 at `belly` (share of the length), `start`/`end` at the ends.

    Use as width factor: stroke(path, 0.9, pressure=swell(0.3, 0.5, 0)).
    """

    def pressure(t: np.ndarray) -> np.ndarray:
        rise = np.clip(t / max(belly, 1e-6), 0, 1)
        fall = np.clip((1 - t) / max(1 - belly, 1e-6), 0, 1)
        return np.where(
            t <= belly,
            start + (1 - start) * np.sin(rise * np.pi / 2) ** 0.9,
            end + (1 - end) * np.sin(fall * np.pi / 2) ** 0.9,
        )

    return pressure


def stroke(
    path: Points,
    width_mm: Width,
    pressure: Callable[[np.ndarray], np.ndarray] | None = None,
    least_mm: float = 0.12,
) -> BaseGeometry:
    """Polygon of a stroke along `path` (already smooth: see `spline`).

    `width_mm` is a number, an array with one value a vertex, or a function of the share of
    length t in [0, 1]; `pressure` multiplies it. Ends are round at the width they have there.
    Returns a valid Polygon (MultiPolygon where the path is degenerate).
    """
    p = np.asarray(path, float)
    keep = np.concatenate([[True], np.hypot(*np.diff(p, axis=0).T) > 1e-6])
    t = arc_length(p)
    t = t / max(t[-1], 1e-9)
    w = width_mm(t) if callable(width_mm) else np.broadcast_to(np.asarray(width_mm, float), t.shape)
    if pressure is not None:
        w = w * pressure(t)
    p, w = p[keep], np.maximum(np.asarray(w, float)[keep], least_mm)
    if len(p) < 2:
        return shapely.Point(p[0]).buffer(w[0] / 2)
    n = normals(p) * (w / 2)[:, None]
    ring = Polygon(np.vstack([p + n, (p - n)[::-1]]))
    caps = shapely.buffer(shapely.points(p[[0, -1]]), w[[0, -1]] / 2, quad_segs=4)
    if ring.is_valid:
        return shapely.union_all([ring, *caps])
    left, right = p + n, p - n
    quads = shapely.polygons(np.stack([left[:-1], left[1:], right[1:], right[:-1]], axis=1))
    quads = shapely.convex_hull(quads)
    return shapely.union_all([*quads, *shapely.buffer(shapely.points(p), w / 2, quad_segs=4)])
