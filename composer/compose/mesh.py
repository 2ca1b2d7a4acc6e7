"""Delaunay triangles of points on the limb, all round, with no seam; updated where points change.

In the conformal chart an empty circle is an empty circle on skin, so the triangles between the
edges of pieces hold the whole structure of the empty skin: circumcentres are the centres of the
widest empty circles, and edges between pieces are the shortest ways across. Points repeat with
u -> u + 1; a corner is a point's index and the whole turns to add to its u.

An update keeps each triangle whose corners stay and whose circle no new point enters, and
triangulates only what is left: a triangle of the whole is a triangle of any part that holds its
corners, so the result is the same as from scratch (Delaunay's empty-circle rule).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import Delaunay, cKDTree

MOST_PAD = 6.0
NEXT, LAST = np.array([1, 2, 0]), np.array([2, 0, 1])
"""Columns of a triangle's corners from the next and from the one after on."""


@dataclass(frozen=True, eq=False)
class Mesh:
    """`points` (n, 2), u in [0, 1). `corner` (m, 3) indices, counter-clockwise, the least first;
    `turn` (m, 3) whole turns to add, the first 0. `centre` (m, 2), `radius` (m,): circumcircles.
    `beside` (m, 3): the triangle across the side opposite each corner, -1 beyond the border;
    `shift` (m, 3): whole turns to add to that triangle's u to lie beside this one. Sorted, so that
    equal points give equal arrays. `origin` (m,): the same triangle in the mesh that this one was
    made from, -1 where it is new."""

    points: np.ndarray
    corner: np.ndarray
    turn: np.ndarray
    centre: np.ndarray
    radius: np.ndarray
    beside: np.ndarray
    shift: np.ndarray
    origin: np.ndarray

    @cached_property
    def place(self) -> np.ndarray:
        """Corners (m, 3, 2) in the chart, u unwrapped within each triangle."""
        return _unwrap(self.points, self.corner, self.turn)

    @cached_property
    def pairs(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Each inner side once, as triangle i, the corner k opposite the side, the triangle j > i beyond it."""
        i, k = np.nonzero(self.beside > np.arange(len(self.beside))[:, None])
        return i, k, self.beside[i, k]


def triangulate(points: np.ndarray) -> Mesh:
    """Mesh of the points (n, 2), u in [0, 1), n of 3 or more, first and last row of t on the borders."""
    pad = 0.22
    rows = np.isin(points[:, 1], (points[:, 1].min(), points[:, 1].max())).sum()
    whole = 2 * len(points) - rows  # Euler's count for a band whose rims are all corners
    all_round = cKDTree(points, boxsize=[1.0, 0.0])
    while True:
        copies = range(-int(np.ceil(pad)), int(np.ceil(pad)) + 1)
        ids = [np.flatnonzero((points[:, 0] + k >= -pad) & (points[:, 0] + k < 1 + pad)) for k in copies]
        idx = np.concatenate(ids)
        turn = np.repeat(list(copies), [len(i) for i in ids])
        flat = points[idx] + np.column_stack([turn, np.zeros(len(idx))])
        corner, turns = _canonical(idx, turn, flat)
        # Only triangles whose first corner is the one that is not shifted: one of each.
        own = turns[:, 0] == 0
        corner, turns = corner[own], turns[own]
        centre, radius = circles(_unwrap(points, corner, turns))
        # So many triangles with empty circles are all there are. Circles within the copies are empty; of those that
        # reach beyond, as do slivers of an edge that all but lies on a border, the nearest point all round tells.
        far = (centre[:, 0] - radius < -pad) | (centre[:, 0] + radius > 1 + pad)
        if pad >= MOST_PAD or (len(corner) == whole and _clear(all_round, centre[far], radius[far])):
            return _finish(points, corner, turns, centre, radius, np.full(len(corner), -1))
        pad *= 1.7


def _clear(all_round: cKDTree, centre: np.ndarray, radius: np.ndarray) -> bool:
    """Whether no point, whatever whole turns are added, lies within these circles."""
    return not len(centre) or bool(np.all(all_round.query(centre)[0] > radius * (1 - 1e-9)))


def update(old: Mesh, points: np.ndarray, now: np.ndarray) -> Mesh:
    """The mesh of `points`, given one of others: `now` (old n,) is each old point's new index, in
    rising order, or -1 where it is gone."""
    fresh = np.ones(len(points), bool)
    fresh[now[now >= 0]] = False
    gone = (now < 0).take(old.corner)
    dead = gone[:, 0] | gone[:, 1] | gone[:, 2]
    new = np.flatnonzero(fresh)
    if len(new):
        dead |= _entered(old, points[new])
    if not dead.any():
        return _finish(points, now[old.corner], old.turn, old.centre, old.radius, np.arange(len(old.corner)))
    cut = _free_cut(old, dead)
    if cut is None or dead.mean() > 0.6:
        return triangulate(points)
    corner, turn = now[old.corner[~dead]], old.turn[~dead]
    made = _fill(old, points, now, dead, new, cut)
    if made is None:
        return triangulate(points)
    c2, r2 = circles(_unwrap(points, *made))
    return _finish(points, np.concatenate([corner, made[0]]), np.concatenate([turn, made[1]]),
                   np.concatenate([old.centre[~dead], c2]), np.concatenate([old.radius[~dead], r2]),
                   np.concatenate([np.flatnonzero(~dead), np.full(len(c2), -1)]))


def circles(xy: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Circumcentres (m, 2) and radii (m,) of triangles (m, 3, 2)."""
    a = xy[:, 0]
    b, c = xy[:, 1] - a, xy[:, 2] - a
    d = 2 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    d = np.where(np.abs(d) < 1e-18, 1e-18, d)
    bb, cc = (b * b).sum(axis=1), (c * c).sum(axis=1)
    x = (c[:, 1] * bb - b[:, 1] * cc) / d
    y = (b[:, 0] * cc - c[:, 0] * bb) / d
    return a + np.column_stack([x, y]), np.hypot(x, y)


def _unwrap(points: np.ndarray, corner: np.ndarray, turn: np.ndarray) -> np.ndarray:
    xy = points.take(corner, axis=0)
    xy[:, :, 0] += turn
    return xy


def _canonical(idx: np.ndarray, turn: np.ndarray, flat: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Delaunay triangles of the plane points `flat` as corners and turns, least corner first."""
    tri = Delaunay(flat, qhull_options="Qbb Qc Qz Q12").simplices
    return _turned(idx[tri], turn[tri], flat[tri])


def _turned(corner: np.ndarray, turn: np.ndarray, xy: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Counter-clockwise, the least (index, turn) first. Flat triangles are dropped."""
    b, c = xy[:, 1] - xy[:, 0], xy[:, 2] - xy[:, 0]
    twice = b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0]
    good = np.abs(twice) > 1e-16
    corner, turn, twice = corner[good], turn[good], twice[good]
    back = twice < 0
    corner[back] = corner[back][:, ::-1]
    turn[back] = turn[back][:, ::-1]
    first = np.argmin(corner * 64 + turn, axis=1)
    pick = (first[:, None] + np.arange(3)) % 3
    return np.take_along_axis(corner, pick, axis=1), np.take_along_axis(turn, pick, axis=1)


def _finish(points: np.ndarray, corner: np.ndarray, turn: np.ndarray, centre: np.ndarray, radius: np.ndarray,
            origin: np.ndarray) -> Mesh:
    n = np.int64(len(points) + 1)
    w = turn + 16
    order = np.argsort(((corner[:, 0] * n + corner[:, 1]) * n + corner[:, 2]) * 1024 + w[:, 1] * 32 + w[:, 2])
    corner, turn = corner[order], turn[order]
    beside, shift = _neighbours(corner, turn, int(n))
    return Mesh(points, corner, turn, centre[order], radius[order], beside, shift, origin[order])


def _sides(corner: np.ndarray, turn: np.ndarray, n: int) -> tuple[np.ndarray, np.ndarray]:
    """Key of each triangle's sides (m * 3,), opposite corners 0, 1, 2, and the turn of the side's first point."""
    a, b = corner[:, NEXT].ravel(), corner[:, LAST].ravel()
    ta, tb = turn[:, NEXT].ravel(), turn[:, LAST].ravel()
    d = tb - ta
    back = (a > b) | ((a == b) & (d < 0))
    lo, hi = np.where(back, b, a), np.where(back, a, b)
    return (lo * np.int64(n) + hi) * 64 + (np.where(back, -d, d) + 32), np.where(back, tb, ta)


def _neighbours(corner: np.ndarray, turn: np.ndarray, n: int) -> tuple[np.ndarray, np.ndarray]:
    key, base = _sides(corner, turn, n)
    order = np.argsort(key, kind="stable")
    k = key[order]
    first = np.flatnonzero(k[1:] == k[:-1])
    i, j = order[first], order[first + 1]
    beside = np.full(len(key), -1)
    shift = np.zeros(len(key), int)
    beside[i], beside[j] = j // 3, i // 3
    shift[i], shift[j] = base[i] - base[j], base[j] - base[i]
    return beside.reshape(-1, 3), shift.reshape(-1, 3)


def _entered(mesh: Mesh, new: np.ndarray) -> np.ndarray:
    """Which circles a new point lies in."""
    out = np.zeros(len(mesh.corner), bool)
    c, r = mesh.centre, mesh.radius
    near = (c[:, 1] + r > new[:, 1].min()) & (c[:, 1] - r < new[:, 1].max())
    cand = np.flatnonzero(near)
    reach = int(np.ceil(np.abs(c[cand, 0]).max() + r[cand].max())) if len(cand) else 1
    tree = cKDTree(np.concatenate([new + np.array([k, 0.0]) for k in range(-reach, reach + 2)]))
    d, _ = tree.query(c[cand], distance_upper_bound=float(r[cand].max()) * (1 + 1e-9) if len(cand) else 1.0)
    out[cand] = d < r[cand] * (1 + 1e-12)
    return out


def _free_cut(mesh: Mesh, dead: np.ndarray) -> float | None:
    """A u that no dead triangle reaches over, or None when they run all round."""
    u = mesh.place[dead, :, 0]
    lo, hi = u.min(axis=1), u.max(axis=1)
    bins = 256
    a = np.floor(lo * bins).astype(int)
    b = np.floor(hi * bins).astype(int)
    if np.any(b - a >= bins - 1):
        return None
    hits = np.zeros(bins + 1)
    a0, b0 = a % bins, a % bins + (b - a)
    np.add.at(hits, a0, 1)
    np.add.at(hits, np.minimum(b0 + 1, bins), -1)
    over = b0 >= bins
    hits[0] += over.sum()
    np.add.at(hits, b0[over] - bins + 1, -1)
    free = np.flatnonzero(np.cumsum(hits[:-1]) == 0)
    return None if len(free) == 0 else (float(free[len(free) // 2]) + 0.5) / bins


def _fill(old: Mesh, points: np.ndarray, now: np.ndarray, dead: np.ndarray, new: np.ndarray,
          cut: float) -> tuple[np.ndarray, np.ndarray] | None:
    """Triangles that take the place of the dead ones, as corners and turns."""
    ids = np.unique(np.concatenate([now[old.corner[dead].ravel()], new]))
    ids = ids[ids >= 0]
    if len(ids) < 3:
        return None
    turn = np.where(points[ids, 0] < cut, 1, 0)
    flat = points[ids] + np.column_stack([turn, np.zeros(len(ids))])
    tri = Delaunay(flat, qhull_options="Qbb Qc Qz Q12").simplices
    corner, turns = _turned(ids[tri], turn[tri], flat[tri])
    # The rim: sides between a dead and a living triangle, seen from the living one.
    n = len(points) + 1
    live = np.flatnonzero(~dead)
    rim = (old.beside[live] >= 0) & dead[old.beside[live]]
    rim_corner, rim_turn = now[old.corner[live]], old.turn[live]
    walls = np.sort(_directed(rim_corner, rim_turn, n)[rim.ravel()])
    hull = _directed(corner, turns, n)
    opposite = _reversed(corner, turns, n)
    onwall = _among(opposite, walls)          # this side faces a living triangle: we are inside
    outside = _among(hull, walls)             # this side is a living triangle's own: we are outside
    if onwall.sum() != len(walls):                 # never seen; from scratch is always right
        return None
    beside, _ = _neighbours(corner, turns, n)
    m = len(corner)
    i, k = np.nonzero((beside >= 0) & ~onwall.reshape(m, 3) & ~outside.reshape(m, 3))
    _, part = connected_components(coo_matrix((np.ones(len(i)), (i, beside[i, k])), shape=(m, m)), directed=False)
    inside = np.zeros(part.max() + 1, bool)
    inside[part[onwall.reshape(m, 3).any(axis=1)]] = True
    if not len(walls):
        inside[:] = True
    inside[part[outside.reshape(m, 3).any(axis=1)]] = False
    keep = inside[part]
    corner, turns = corner[keep], turns[keep]
    return corner, turns - turns[:, :1]


def _among(keys: np.ndarray, known: np.ndarray) -> np.ndarray:
    """Which of the keys (m,) are among the known ones, sorted."""
    if not len(known):
        return np.zeros(len(keys), bool)
    return known[np.minimum(np.searchsorted(known, keys), len(known) - 1)] == keys


def _directed(corner: np.ndarray, turn: np.ndarray, n: int) -> np.ndarray:
    """Key of each side with its direction (m * 3,), opposite corners 0, 1, 2."""
    a, b = corner[:, NEXT].ravel(), corner[:, LAST].ravel()
    d = (turn[:, LAST] - turn[:, NEXT]).ravel()
    return (a * np.int64(n) + b) * 64 + (d + 32)


def _reversed(corner: np.ndarray, turn: np.ndarray, n: int) -> np.ndarray:
    """Key of each side walked the other way (m * 3,)."""
    a, b = corner[:, NEXT].ravel(), corner[:, LAST].ravel()
    d = (turn[:, LAST] - turn[:, NEXT]).ravel()
    return (b * np.int64(n) + a) * 64 + (32 - d)
