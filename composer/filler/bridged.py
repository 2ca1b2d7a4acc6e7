"""Strokes that all but touch, joined: what a closing leaves of a slot is two cusps that face one another.

A tattooer lets the one line run into the other; healed, so narrow a break would be gone in any case.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, Layer
from composer.filler.closing import closed
from composer.filler.cloud_ink import gridded
from composer.filler.cloud_lines import Pen

SHARP_DEG = 42.0
"""A corner of ink that turns by more than this is a cusp."""
SPAN, APART_MM = 0.8, 5.0
"""Cusps nearer than so many line gaps face one another, if along the edge of their ink they lie farther than this."""


def bridged(drawing: Drawing, pen: Pen, line_gap_mm: float) -> Drawing:
    """The drawing with its line work joined where two cusps of it face one another, crevices beside the joint filled;
    the same object where none do."""
    layers = []
    for la in drawing.layers:
        pairs = facing(la.rings, SPAN * line_gap_mm) if la.role == "line" else np.zeros((0, 2, 2))
        layers.append(Layer.of(la.role, _joined(la.area, pairs, pen, line_gap_mm)) if len(pairs) else la)
    return drawing if all(a is b for a, b in zip(layers, drawing.layers, strict=True)) else replace(
        drawing, layers=tuple(layers))


def _joined(ink: BaseGeometry, pairs: np.ndarray, pen: Pen, line_gap_mm: float) -> BaseGeometry:
    lines = shapely.linestrings(pairs)
    whole = shapely.union_all([shapely.make_valid(ink), *shapely.buffer(lines, 0.6 * pen.line_mm, quad_segs=3)])
    far, near = (shapely.union_all(shapely.buffer(lines, k * line_gap_mm, quad_segs=3)) for k in (4.0, 1.6))
    shut = closed(shapely.intersection(whole, far), line_gap_mm, pen.least_mm)
    return gridded(shapely.union(whole, shapely.intersection(shut, near)))


def facing(rings: tuple[np.ndarray, ...], most_mm: float) -> np.ndarray:
    """Pairs of cusps (n, 2, 2) mm of the edges of ink that lie nearer than `most_mm`, each cusp with its nearest."""
    at, ring, along, whole = [], [], [], []
    for k, r in enumerate(rings):
        step = np.roll(r, -1, axis=0) - r
        long = np.hypot(step[:, 0], step[:, 1])
        z = step @ (1, 1j)
        turn = np.degrees(np.abs(np.angle(z * np.conj(np.roll(z, 1)))))
        s = np.concatenate([[0.0], np.cumsum(long)[:-1]])
        sharp = turn > SHARP_DEG
        at.append(r[sharp])
        ring.append(np.full(int(sharp.sum()), k))
        along.append(s[sharp])
        whole.append(np.full(int(sharp.sum()), long.sum()))
    xy = np.concatenate(at) if at else np.zeros((0, 2))
    if len(xy) < 2:
        return np.zeros((0, 2, 2))
    of, s, total = np.concatenate(ring), np.concatenate(along), np.concatenate(whole)
    i, j = cKDTree(xy).query_pairs(most_mm, output_type="ndarray").reshape(-1, 2).T
    by = np.abs(s[i] - s[j])
    far = (of[i] != of[j]) | (np.minimum(by, total[i] - by) > APART_MM)
    i, j = i[far], j[far]
    out: list[np.ndarray] = []
    used: set[int] = set()
    for k in np.argsort(np.hypot(*(xy[i] - xy[j]).T), kind="stable"):
        if not used & {int(i[k]), int(j[k])}:
            used |= {int(i[k]), int(j[k])}
            out.append(xy[[i[k], j[k]]])
    return np.array(out).reshape(-1, 2, 2)
