"""Cutting what is too large for one gap: where the way across is short and both sides are large.

The cut is the chord with the least length for the area of the smaller side (Cheeger's ratio), so
it runs between the two nearest edge points of a waist, and straight across where there is none.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import split as cut_by

MOST_MM2 = 8000.0
"""A gap larger than this is cut (about 9 x 9 cm of skin: more than one element of background holds
together; common practice, no published source)."""

LEAST_SHARE = 0.2


def split_large(area: Polygon, most_mm2: float = MOST_MM2) -> list[Polygon]:
    """Parts of a flat polygon (mm), each of `most_mm2` or less, by chords."""
    todo, done = [area], []
    while todo:
        p = todo.pop()
        if p.area <= most_mm2:
            done.append(p)
            continue
        parts = _halve(p)
        if len(parts) < 2:
            done.append(p)
        else:
            todo += parts
    return done


def _halve(area: Polygon) -> list[Polygon]:
    ring, along = _ring(area)
    n = len(ring)
    x, y = ring[:, 0], ring[:, 1]
    cross = x * np.roll(y, -1) - np.roll(x, -1) * y
    swept = np.concatenate([[0.0], np.cumsum(cross)])
    total = swept[-1] / 2
    i, j = np.triu_indices(n, 2)
    part = (swept[j] - swept[i] + x[j] * y[i] - x[i] * y[j]) / 2
    small = np.minimum(part, total - part)
    length = np.hypot(x[j] - x[i], y[j] - y[i])
    good = small > LEAST_SHARE * total
    i, j, ratio = i[good], j[good], (length / np.maximum(small, 1e-9))[good]
    outer = Polygon(area.exterior)
    shapely.prepare(outer)
    roomy = outer.buffer(0.05)
    shapely.prepare(roomy)
    order = np.argsort(ratio, kind="stable")
    for start in range(0, min(len(order), 4000), 200):
        take = order[start : start + 200]
        lines = shapely.linestrings(np.stack([ring[i[take]], ring[j[take]]], axis=1))
        fine = np.flatnonzero(shapely.covers(roomy, lines))
        if len(fine):
            k = take[fine[0]]
            return _cut(area, *_slide(area, along, i[k], j[k]))
    return [area]


def _ring(area: Polygon) -> tuple[np.ndarray, LineString]:
    """Points round the outside about 4 mm apart, begun at the corner farthest from the middle, so
    that they do not hang on where the ring happens to begin."""
    xy = np.asarray(area.exterior.coords)[:-1]
    mid = np.asarray(area.centroid.coords)[0]
    xy = np.roll(xy, -int(np.hypot(*(xy - mid).T).argmax()), axis=0)
    if not area.exterior.is_ccw:
        xy = np.roll(xy[::-1], 1, axis=0)
    line = LineString(np.vstack([xy, xy[:1]]))
    n = int(np.clip(line.length / 4.0, 40, 260))
    return shapely.get_coordinates(shapely.line_interpolate_point(line, np.arange(n) / n, normalized=True)), line


def _slide(area: Polygon, line: LineString, i: int, j: int) -> tuple[np.ndarray, np.ndarray]:
    """Both ends of the chord moved along the edge by up to 5 mm to where it is shortest."""
    n = int(np.clip(line.length / 4.0, 40, 260))
    off = np.linspace(-5, 5, 21)
    at = [shapely.get_coordinates(shapely.line_interpolate_point(line, (k / n * line.length + off) % line.length))
          for k in (i, j)]
    d = np.hypot(at[0][:, None, 0] - at[1][None, :, 0], at[0][:, None, 1] - at[1][None, :, 1])
    # A small pull to the middle of the span keeps a straight-sided region cut where it was.
    d = d + 0.002 * (off[:, None] ** 2 + off[None, :] ** 2)
    a, b = np.unravel_index(d.argmin(), d.shape)
    return at[0][a], at[1][b]


def _cut(area: Polygon, a: np.ndarray, b: np.ndarray) -> list[Polygon]:
    way = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
    line: BaseGeometry = LineString([a - way * 0.2, b + way * 0.2])
    return [g for g in cut_by(area, line).geoms if isinstance(g, Polygon) and g.area > 1.0]
