"""The searched skin of one part: edges of pieces, triangles between them, and what is empty.

Built whole or brought up to date from an earlier state; both give equal arrays.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from scipy.spatial import cKDTree

from composer.body.surface import Surface
from composer.compose.mesh import Mesh, triangulate, update
from composer.compose.outline import Edge, border_edges, edge_of, name_of
from composer.plan.scene import Scene

TWIN_TURNS = 1.5e-4
"""Points nearer than this (about 0.04 mm) count once: pieces may lie exactly on each other."""


@dataclass(frozen=True, eq=False)
class Skin:
    """`edges`: both borders, then pieces by id. `owner` (n,) edge of each mesh point, `raw` (n,) its
    place among all the edges' points. `empty` (m,) triangles that no piece covers."""

    limb: Surface
    skin_break_mm: float
    edges: tuple[Edge, ...]
    raw: np.ndarray
    owner: np.ndarray
    mesh: Mesh
    empty: np.ndarray


def build_skin(scene: Scene, skin_break_mm: float, old: Skin | None = None) -> Skin:
    """The skin of a scene; `old` is an earlier state of the same limb to start from."""
    if old is not None and (old.limb != scene.limb or old.skin_break_mm != skin_break_mm):
        old = None
    edges = _edges(scene, skin_break_mm, old)
    points = np.concatenate([e.points for e in edges])
    owner = np.repeat(np.arange(len(edges)), [len(e.points) for e in edges])
    raw = _single(points)
    if old is not None:
        now = _renamed(old, edges, raw, len(points))
        mesh = update(old.mesh, points[raw], now)
    else:
        mesh = triangulate(points[raw])
    return Skin(scene.limb, skin_break_mm, edges, raw, owner[raw], mesh, _empty(mesh, edges, old))


def _edges(scene: Scene, skin_break_mm: float, old: Skin | None) -> tuple[Edge, ...]:
    known = {e.name: e for e in old.edges} if old is not None else {}
    borders = old.edges[:2] if old is not None else border_edges(scene.limb)
    out: list[Edge] = list(borders)
    for laid in sorted((x for x in scene.laid if not x.piece.is_filler), key=lambda x: x.piece.id):
        e = known.get(name_of(laid, skin_break_mm))
        if e is None:
            e = edge_of(scene.limb, laid, skin_break_mm)
        out.append(e if e.id == laid.piece.id else replace(e, id=laid.piece.id))
    return tuple(out)


def _single(points: np.ndarray) -> np.ndarray:
    """Indices of the points that stay when all but the first of each huddle go."""
    tree = cKDTree(points, boxsize=[1.0, 0.0], balanced_tree=False, compact_nodes=False)
    pairs = tree.query_pairs(TWIN_TURNS, output_type="ndarray")
    keep = np.ones(len(points), bool)
    if len(pairs):
        keep[pairs.max(axis=1)] = False
    return np.flatnonzero(keep)


def _renamed(old: Skin, edges: tuple[Edge, ...], raw: np.ndarray, count: int) -> np.ndarray:
    """New mesh index of each old mesh point, -1 where it is gone."""
    start = np.cumsum([0, *(len(e.points) for e in edges)])
    place = {(e.id, e.name): int(k) for e, k in zip(edges, start[:-1], strict=True)}
    index = np.full(count + 1, -1)
    index[raw] = np.arange(len(raw))
    many = np.array([len(e.points) for e in old.edges])
    to = np.array([place.get((e.id, e.name), -1) for e in old.edges])
    ends = np.cumsum(many)
    move = np.where(np.repeat(to < 0, many), count, np.arange(ends[-1]) + np.repeat(to - ends + many, many))
    return index[move[old.raw]]


def _empty(mesh: Mesh, edges: tuple[Edge, ...], old: Skin | None) -> np.ndarray:
    """Which triangles no piece covers, judged by their middles; of those that `old` knew only the
    ones where a piece came or went."""
    xy = mesh.place
    mid = (xy[:, 0] + xy[:, 1] + xy[:, 2]) / 3
    mid[:, 0] -= np.floor(mid[:, 0])
    out = np.ones(len(mid), bool)
    ask = np.arange(len(mid))
    if old is not None:
        out = np.where(mesh.origin >= 0, old.empty[mesh.origin], True)
        before, after = {e.name: e for e in old.edges}, {e.name: e for e in edges}
        stale = mesh.origin < 0
        for name in before.keys() ^ after.keys():
            stale |= _in_box(mid, (before.get(name) or after[name]).box)
        ask = np.flatnonzero(stale)
        out[ask] = True
    ask = ask[np.argsort(mid[ask, 1])]
    u, t = mid[ask].T
    full = np.zeros(len(ask), bool)
    for e in edges:
        if e.cover is None or e.cover.is_empty:
            continue
        u0, t0, u1, t1 = e.box
        a, b = np.searchsorted(t, [t0, t1])
        if a == b:
            continue
        uu, tt = u[a:b], t[a:b]
        for k in range(int(np.floor(u0)), int(np.floor(u1)) + 1):
            near = np.flatnonzero((uu + k >= u0) & (uu + k <= u1) & ~full[a:b])
            if len(near):
                shapely.prepare(e.cover)
                hit = shapely.contains_xy(e.cover, uu[near] + k, tt[near])
                full[a + near[hit]] = True
    out[ask] = ~full
    return out


def _in_box(ut: np.ndarray, box: tuple[float, float, float, float]) -> np.ndarray:
    """Points (n, 2), u in [0, 1), that lie in a chart box or one of its copies round the limb."""
    u0, t0, u1, t1 = box
    first = np.ceil(u0 - ut[:, 0])
    return (ut[:, 1] >= t0) & (ut[:, 1] <= t1) & (ut[:, 0] + first <= u1)
