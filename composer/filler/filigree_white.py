"""The white that scrollwork leaves: how much of the gap is near ink, how uneven the pockets are, and which small
branches are one too many."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from scipy.ndimage import maximum_filter
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from composer.filler.filigree_fill import Growth
from composer.filler.filigree_grow import STEP_MM, Stroke
from composer.filler.filigree_room import Room

REACH_MM, LEAST_MM, APART_MM = 5.0, 0.8, 4.2
"""Skin within the first of ink is reached; a pocket has at least the second as radius and is the widest within the
third across. As in `composer.filler.check.measures`, which is the judge."""
REACHED, EVEN, RAGGED = 0.915, 0.365, 0.53
"""Share of the gap that is to be reached and spread over mean of the pockets' radii: a little within the bands that
are asked for (.90, .35 to .55), for what is measured here is a coarser raster."""
PRUNED = 5
"""So many branches are taken away at most."""
WIDER = 1.3
"""By taking one away no pocket may become wider than so many times the widest."""
BARE_MM = 26.0
"""No stretch of a stem may be left bare for longer."""
ACROSS = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])


@lru_cache(maxsize=48)
def _nodes(free: BaseGeometry) -> Room:
    return Room(free, float(np.clip(np.sqrt(free.area / 7000.0), 0.6, 0.9)))


@dataclass(frozen=True)
class White:
    """Figures of the white: `reach` 0..1, `cv` spread over mean of the pockets' radii, `widest` radius in mm; `unmet`
    how many more neighbours should be met."""

    reach: float
    cv: float
    widest: float
    unmet: int = 0

    @property
    def off(self) -> float:
        """How far from what is asked, 0 where it is met."""
        void = max(EVEN - self.cv, 0.0) + max(self.cv - RAGGED, 0.0)
        return 3.0 * max(REACHED - self.reach, 0.0) + void + 0.05 * self.unmet


class Pockets:
    """Distances of all places of a gap to the ink of its strokes."""

    def __init__(self, free: BaseGeometry) -> None:
        self.room = _nodes(free)
        self.inside = self.room.wall > 0
        z = self.room.grid[self.inside]
        self.nodes = np.column_stack([z.real, z.imag])

    def figures(self, away: np.ndarray) -> White:
        """The figures for distances (k,) of the nodes to ink."""
        void = np.full(self.room.shape, -1.0)
        void[self.inside] = np.minimum(self.room.wall[self.inside], away)
        size = 2 * round(APART_MM / self.room.h / 2) + 1
        r = void[(void >= maximum_filter(void, size=size)) & (void > LEAST_MM)]
        cv = float(r.std() / r.mean()) if len(r) > 1 else 0.0
        return White(float((away <= REACH_MM).mean()), cv, float(void.max()))


def _points(z: np.ndarray, half: np.ndarray, tangent: np.ndarray) -> np.ndarray:
    p = (z + 1j * tangent * half * ACROSS[:, None]).ravel()
    return np.column_stack([p.real, p.imag])


def ink_of(g: Growth) -> tuple[np.ndarray, np.ndarray]:
    """Places (n, 2) in the ink of all strokes and lobes, and the stroke of each."""
    xy, owner = [], []
    for n, s in enumerate(g.strokes):
        xy.append(_points(s.z[::2], s.half[::2], s.tangent[::2]))
        owner.append(np.full(len(xy[-1]), n))
        if s.ball:
            ring = s.ball_at + s.ball * np.exp(2j * np.pi * np.arange(8) / 8)
            xy.append(np.column_stack([ring.real, ring.imag]))
            owner.append(np.full(8, n))
    for n, z, half in g.lobes:
        t = np.gradient(z)
        xy.append(_points(z, half, t / np.maximum(np.abs(t), 1e-9)))
        owner.append(np.full(len(xy[-1]), n))
    return np.concatenate(xy), np.concatenate(owner)


def white_of(g: Growth) -> White:
    """The figures of a growth as it stands, over its whole gap."""
    pockets = Pockets(g.ground.free)
    away, _ = cKDTree(ink_of(g)[0]).query(pockets.nodes)
    return pockets.figures(away)


def pruned(g: Growth) -> White:
    """Take small branches away, the one that helps most first, while the pockets are too much alike; the figures then.
    Mirror images go together."""
    pockets = Pockets(g.ground.free)
    xy, owner = ink_of(g)
    away, near = cKDTree(xy).query(pockets.nodes)
    now = pockets.figures(away)
    pair = np.array(g.pairs) if g.pairs else np.arange(len(g.strokes))
    gone: set[int] = set()
    for _ in range(PRUNED):
        if now.cv >= EVEN or now.reach < REACHED:
            break
        best: tuple[float, set[int], np.ndarray, White] | None = None
        for group in _small(g, pair, gone):
            mine = np.isin(owner, list(group))
            touched = mine[near]
            left = away.copy()
            left[touched] = cKDTree(xy[~mine]).query(pockets.nodes[touched])[0]
            then = pockets.figures(left)
            if then.reach < REACHED or then.cv > RAGGED or then.widest > WIDER * max(now.widest, REACH_MM):
                continue
            if best is None or then.cv > best[0]:
                best = then.cv, group, left, then
        if best is None or best[0] < now.cv + 0.004:
            break
        gone |= best[1]
        kept = ~np.isin(owner, list(best[1]))
        xy, owner, now = xy[kept], owner[kept], best[3]
        away, near = cKDTree(xy).query(pockets.nodes)
    if gone:
        drop(g, gone)
    return now


def _small(g: Growth, pair: np.ndarray, gone: set[int]) -> list[set[int]]:
    """What may be taken away: curls and leaves from which nothing grows, each with its mirror image."""
    parents = {s.parent for n, s in enumerate(g.strokes) if n not in gone}
    free = [n for n, s in enumerate(g.strokes)
            if n not in gone and n not in parents and s.what in ("curl", "leaf") and not s.root and s.parent >= 0]
    free = [n for n in free if not _bares(g, n, gone)]
    groups: dict[int, set[int]] = {}
    for n in free:
        groups.setdefault(int(pair[n]), set()).add(n)
    many = np.bincount(pair)
    return [group for key, group in groups.items() if len(group) == many[key]]


def _bares(g: Growth, n: int, gone: set[int]) -> bool:
    """Whether a stem would be bare for long without this branch."""
    stem, at = g.strokes[g.strokes[n].parent], g.strokes[n].joint
    if stem.what != "stem":
        return False
    others = [s.joint for m, s in enumerate(g.strokes) if s.parent == g.strokes[n].parent and m != n and m not in gone]
    ends = round(stem.tuck / STEP_MM), len(stem.z) - 1 - stem.bare - round(stem.tuck / STEP_MM)
    before = max([k for k in others if k <= at], default=ends[0])
    after = min([k for k in others if k > at], default=ends[1])
    return (after - before) * STEP_MM > BARE_MM


def drop(g: Growth, gone: set[int]) -> None:
    """Take strokes with their lobes out of a growth; nothing may grow from them."""
    kept = [n for n in range(len(g.strokes)) if n not in gone]
    number = {n: i for i, n in enumerate(kept)}

    def moved(s: Stroke) -> Stroke:
        return replace(s, parent=number[s.parent]) if s.parent >= 0 else s

    g.strokes = [moved(g.strokes[n]) for n in kept]
    g.pairs = [g.pairs[n] for n in kept] if g.pairs else []
    g.lobes = [(number[n], z, h) for n, z, h in g.lobes if n in number]
