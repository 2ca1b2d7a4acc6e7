"""Pockets of empty skin: basins of the distance to the pieces, split where they are necked.

Every empty triangle holds one circle that touches three edge points and has none inside. A
triangle with an obtuse corner drains over its longest side into a wider one; the others are
peaks (the flow of the distance function: Edelsbrunner 1993; Dey, Giesen and Goswami 2003).
Basins are merged in order of falling saddle while saddle : smaller peak is NECK or more.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.compose.chart import Chart
from composer.compose.mesh import LAST, NEXT, Mesh

NECK = 0.72
"""Two basins are one pocket when the way between them is at least this share of the smaller one's
width (tuned by eye on drawn plans)."""

LEAST_RADIUS_MM = 2.5
"""Triangles of narrower passages never take part: they are skin breaks."""


@dataclass(frozen=True, eq=False)
class Basins:
    """`label` (m,) pocket of each triangle, -1 for none; `lift` (m,) whole turns to add to the
    triangle's u so that a pocket hangs together; `radius` (m,) of the circle, mm of skin; `side`
    (m, 3) length of the side opposite each corner, mm; `peak` (k,) the triangle with the widest
    circle of each pocket."""

    label: np.ndarray
    lift: np.ndarray
    radius: np.ndarray
    side: np.ndarray
    peak: np.ndarray


def find_basins(chart: Chart, mesh: Mesh, empty: np.ndarray) -> Basins:
    """Pockets of the triangles in `empty` (m,) bool."""
    place = mesh.place
    radius, side, longest, obtuse = _measure(chart, mesh, place)
    usable = empty & (radius >= LEAST_RADIUS_MM)
    root, lift = _drain(mesh, usable, longest, obtuse)
    i, k, j = mesh.pairs
    apart = usable[i] & usable[j] & (root[i] != root[j])
    i, j, k = i[apart], j[apart], k[apart]
    saddle = _saddle(mesh, place, radius, side, i, j, k)
    turn = mesh.shift[i, k] + lift[i] - lift[j]
    pocket, hoist = _merge(radius, root, i, j, saddle, turn)
    label = np.full(len(root), -1)
    tops = np.flatnonzero(usable & (root == np.arange(len(root))))
    owner = pocket[tops]
    heads, which = np.unique(owner, return_inverse=True)
    number = np.full(len(root), -1)
    number[tops] = which
    label[usable] = number[root[usable]]
    lift = np.where(usable, lift + hoist[root], 0)
    peak = heads
    return Basins(label, lift, radius, side, peak)


def _measure(chart: Chart, mesh: Mesh, place: np.ndarray) -> tuple[np.ndarray, ...]:
    d = place[:, LAST] - place[:, NEXT]
    square = d[:, :, 0] ** 2 + d[:, :, 1] ** 2
    c = chart.scale(mesh.points)[mesh.corner]
    side = np.sqrt(square) * (c[:, NEXT] + c[:, LAST]) / 2
    radius = mesh.radius * chart.scale(mesh.centre)
    longest = square.argmax(axis=1)
    a, b, c = square.T
    most = np.maximum(np.maximum(a, b), c)
    return radius, side, longest, most > a + b + c - most


def _drain(mesh: Mesh, usable: np.ndarray, longest: np.ndarray, obtuse: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The peak that each triangle drains to, and whole turns from its own u to the peak's."""
    m = np.arange(len(usable))
    to = mesh.beside[m, longest]
    flows = usable & obtuse & (to >= 0)
    flows[flows] &= usable[to[flows]]
    root = np.where(flows, to, m)
    lift = np.where(flows, -mesh.shift[m, longest], 0)
    # lift: u of this triangle + lift lies in the frame of its root.
    while True:
        onward = root[root]
        if np.array_equal(onward, root):
            return root, lift
        lift = lift + lift[root]
        root = onward


def _saddle(mesh: Mesh, place: np.ndarray, radius: np.ndarray, side: np.ndarray,
            i: np.ndarray, j: np.ndarray, k: np.ndarray) -> np.ndarray:
    """Radius of the narrowest circle on the way from triangle i over its side k into j."""
    a = place[i, (k + 1) % 3]
    d = place[i, (k + 2) % 3] - a
    ci = mesh.centre[i] - a
    cj = mesh.centre[j] + np.column_stack([mesh.shift[i, k], np.zeros(len(i))]) - a
    # Both circumcentres on their own sides of the edge: the edge itself is the narrowest place.
    si = d[:, 0] * ci[:, 1] - d[:, 1] * ci[:, 0]
    sj = d[:, 0] * cj[:, 1] - d[:, 1] * cj[:, 0]
    between = (si >= 0) & (sj <= 0)
    return np.where(between, side[i, k] / 2, np.minimum(radius[i], radius[j]))


def _merge(radius: np.ndarray, root: np.ndarray, i: np.ndarray, j: np.ndarray, saddle: np.ndarray,
           turn: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """For each triangle that is a peak: the peak of its pocket, and whole turns into its frame.

    `turn`: what to add to the u of root j's frame to bring it into root i's.
    """
    up = np.arange(len(radius))
    hoist = np.zeros(len(radius), int)
    a, b = root[i], root[j]
    keep = saddle >= NECK * np.minimum(radius[a], radius[b])
    a, b, saddle, turn = a[keep], b[keep], saddle[keep], turn[keep]
    order = np.lexsort((b, a, -saddle))
    parent: dict[int, tuple[int, int]] = {}

    def find(x: int) -> tuple[int, int]:
        total = 0
        while x in parent:
            x, step = parent[x]
            total += step
        return x, total

    tops = np.unique(np.concatenate([a, b]))
    height = dict(zip(tops.tolist(), radius[tops].tolist(), strict=True))
    for x, y, m, w in zip(a[order].tolist(), b[order].tolist(), saddle[order].tolist(), turn[order].tolist(),
                          strict=True):
        p, lx = find(x) if x in parent else (x, 0)
        q, ly = find(y) if y in parent else (y, 0)
        if p == q or m < NECK * min(height[p], height[q]):
            continue
        if height[q] > height[p] or (height[q] == height[p] and q < p):
            p, q, lx, ly, w = q, p, ly, lx, -w
        parent[q] = (p, w + lx - ly)
    for x in parent:
        up[x], hoist[x] = find(x)
    return up, hoist
