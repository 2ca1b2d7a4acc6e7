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
    inside = np.array([_winding(np.array(f.representative_point().coords[0]), rings) for f in faces])
    keep = inside % 2 != 0 if rule == "evenodd" else inside != 0
    return shapely.union_all([f for f, k in zip(faces, keep, strict=True) if k])


def _winding(point: np.ndarray, rings: Sequence[np.ndarray]) -> int:
    total = 0
    for r in rings:
        a, b = r, np.roll(r, -1, axis=0)
        up = (a[:, 1] <= point[1]) & (b[:, 1] > point[1])
        down = (a[:, 1] > point[1]) & (b[:, 1] <= point[1])
        side = (b[:, 0] - a[:, 0]) * (point[1] - a[:, 1]) - (point[0] - a[:, 0]) * (b[:, 1] - a[:, 1])
        total += int((up & (side > 0)).sum()) - int((down & (side < 0)).sum())
    return total
