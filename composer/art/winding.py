"""Filled area of closed outlines by the fill rules of SVG, self-crossings and all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import polygonize


def filled_area(rings: Sequence[np.ndarray], rule: str = "nonzero") -> BaseGeometry:
    """Area inside the rings ((n, 2), implicitly closed) by 'nonzero' or 'evenodd' (SVG 2, 13.4)."""
    rings = [r for r in rings if len(r) >= 3 and np.ptp(r, axis=0).max() > 1e-9]
    if not rings:
        return Polygon()
    if len(rings) == 1 and (simple := Polygon(rings[0])).is_valid:
        return simple
    lines = shapely.union_all([LineString(np.vstack([r, r[:1]])) for r in rings])
    faces = [f for f in polygonize(lines) if f.area > 1e-9]
    if not faces:
        return Polygon()
    inside = _windings(shapely.get_coordinates([f.representative_point() for f in faces]), rings)
    keep = inside % 2 != 0 if rule == "evenodd" else inside != 0
    return shapely.union_all([f for f, k in zip(faces, keep, strict=True) if k])


def _windings(points: np.ndarray, rings: Sequence[np.ndarray]) -> np.ndarray:
    """How often the rings go round each point (n, 2), counter-clockwise positive: by what a ray to the right meets, up
    less down."""
    a, b = np.concatenate(rings), np.concatenate([np.roll(r, -1, axis=0) for r in rings])
    far = max(a[:, 0].max(), points[:, 0].max()) + 1.0
    ends = np.column_stack([np.full(len(points), far), points[:, 1]])
    ray, side = shapely.STRtree(shapely.linestrings(np.stack([a, b], axis=1))).query(
        shapely.linestrings(np.stack([points, ends], axis=1)))
    p, a, b = points[ray], a[side], b[side]
    left = (b[:, 0] - a[:, 0]) * (p[:, 1] - a[:, 1]) - (p[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    up = (a[:, 1] <= p[:, 1]) & (b[:, 1] > p[:, 1]) & (left > 0)
    down = (a[:, 1] > p[:, 1]) & (b[:, 1] <= p[:, 1]) & (left < 0)
    return np.bincount(ray, up.astype(float) - down, minlength=len(points)).astype(int)
