"""Cutting what is too large for one gap: where the way across is short and both sides are large.

The cut is the chord with the least length for the area of the smaller side (Cheeger's ratio), so
it runs between the two nearest edge points of a waist, and straight across where there is none.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.ops import split as cut_by

MOST_MM2 = 8000.0
"""A gap larger than this is cut (about 9 x 9 cm of skin: more than one element of background holds
together; common practice, no published source)."""

LEAST_SHARE = 0.2
COARSE_MM, FINE_MM = 4.0, 0.06
MOST_TRIED = 4000


def split_large(area: Polygon, most_mm2: float = MOST_MM2) -> list[Polygon]:
    """Parts of a flat polygon (mm), each of `most_mm2` or less, by chords."""
    todo, done = [area], []
    while todo:
        p = todo.pop()
        parts = _halve(p) if p.area > most_mm2 else []
        if len(parts) < 2:
            done.append(p)
        else:
            todo += parts
    return done


@dataclass(frozen=True, eq=False)
class _Rim:
    """The outside of a polygon by length along it (mm): place and area swept about the origin, both
    linear between corners. Begun at the corner farthest from the middle, wherever the ring begins."""

    at: np.ndarray
    xy: np.ndarray
    swept: np.ndarray

    @property
    def length(self) -> float:
        return float(self.at[-1])

    @property
    def area(self) -> float:
        return float(self.swept[-1])

    def point(self, at: np.ndarray) -> np.ndarray:
        at = np.mod(at, self.length)
        return np.stack([np.interp(at, self.at, self.xy[:, 0]), np.interp(at, self.at, self.xy[:, 1])], axis=-1)

    def ratio(self, marks: np.ndarray, i: np.ndarray, j: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """For chords from mark i to mark j (indices of `marks`, lengths along; broadcast together): length for
        the smaller area beside it, and that area."""
        x, y = self.point(marks).T
        swept = np.interp(np.mod(marks, self.length), self.at, self.swept)
        xi, yi, xj, yj = x[i], y[i], x[j], y[j]
        part = np.mod(swept[j] - swept[i] + (yi * xj - xi * yj) / 2, self.area)
        small = np.minimum(part, self.area - part)
        return np.hypot(xj - xi, yj - yi) / np.maximum(small, 1e-9), small


@lru_cache(maxsize=64)
def _chords(n: int) -> tuple[np.ndarray, np.ndarray]:
    """Every two of n marks that are not next to each other, the earlier first."""
    return np.triu_indices(n, 2)


def _rim(area: Polygon) -> _Rim:
    xy = np.asarray(area.exterior.coords)[:-1]
    xy = xy - np.asarray(area.centroid.coords)[0]
    if not area.exterior.is_ccw:
        xy = xy[::-1]
    xy = np.roll(xy, -int(np.hypot(*xy.T).argmax()), axis=0)
    xy = np.vstack([xy, xy[:1]])
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))])
    cross = (xy[:-1, 0] * xy[1:, 1] - xy[1:, 0] * xy[:-1, 1]) / 2
    return _Rim(at, xy, np.concatenate([[0.0], np.cumsum(cross)]))


def _halve(area: Polygon) -> list[Polygon]:
    rim = _rim(area)
    mid = np.asarray(area.centroid.coords)[0]
    n = int(np.clip(rim.length / COARSE_MM, 40, 260))
    step = rim.length / n
    marks = np.arange(n) * step
    rows, cols = _chords(n)
    ratio, small = rim.ratio(marks, rows, cols)
    large = np.flatnonzero(small > LEAST_SHARE * rim.area)
    if len(large) > MOST_TRIED:
        large = np.sort(large[np.argpartition(ratio[large], MOST_TRIED)[:MOST_TRIED]])
    i, j, ratio = marks[rows[large]], marks[cols[large]], ratio[large]
    roomy = Polygon(area.exterior).buffer(0.05)
    shapely.prepare(roomy)
    order = np.argsort(ratio, kind="stable")
    for start in range(0, len(order), 50):
        take = order[start : start + 50]
        lines = shapely.linestrings(np.stack([rim.point(i[take]), rim.point(j[take])], axis=1) + mid)
        fine = np.flatnonzero(shapely.covers(roomy, lines))
        if len(fine):
            k = take[fine[0]]
            best = _settle(rim, float(i[k]), float(j[k]), step)
            for ends in (best, (float(i[k]), float(j[k]))):
                a, b = rim.point(np.array(ends)) + mid
                if shapely.covers(roomy, LineString([a, b])):
                    return _cut(area, a, b)
    return [area]


def _settle(rim: _Rim, i: float, j: float, span: float) -> tuple[float, float]:
    """Both ends moved along the rim to where the ratio is least near by."""
    off = np.linspace(-1, 1, 9)
    of_i, of_j = np.arange(9)[:, None], 9 + np.arange(9)[None]
    while span > FINE_MM:
        ratio, _ = rim.ratio(np.concatenate([i + off * span, j + off * span]), of_i, of_j)
        a, b = np.unravel_index(ratio.argmin(), ratio.shape)
        i, j = i + off[a] * span, j + off[b] * span
        if max(abs(off[a]), abs(off[b])) < 0.9:
            span *= 0.35
        else:
            span *= 0.7
    return i, j


def _cut(area: Polygon, a: np.ndarray, b: np.ndarray) -> list[Polygon]:
    way = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
    line = LineString([a - way * 0.2, b + way * 0.2])
    return [g for g in cut_by(area, line).geoms if isinstance(g, Polygon) and g.area > 1.0]
