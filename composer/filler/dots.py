"""Blue-noise dots of graded spacing: Poisson discs of variable radius, many at a time.

Darts are thrown in rounds: of all that fall free of the dots already there, those stay that have the
best number among the darts they are in conflict with (parallel Poisson-disc sampling after Wei,
'Parallel Poisson disk sampling', 2008; variable radii as in Mitchell and others, 'Variable radii Poisson
disk sampling', 2012). Later rounds aim at what is still empty, so the set is as good as maximal.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.spatial import cKDTree

Spacing = Callable[[np.ndarray], np.ndarray]
NEAR, CROWD = 6, 12
"""Neighbours that are looked at for conflicts: among dots (where no more than five lie within one
spacing), and among darts (one with more conflicts than that waits for the next round)."""


def poisson_dots(bounds: tuple[float, float, float, float], spacing: Spacing, rng: np.random.Generator,
                 rounds: int = 10) -> np.ndarray:
    """Dots (n, 2) in `bounds` (x0, y0, x1, y1 in mm), any two at least the mean of their spacings apart.

    `spacing(xy)` gives mm for points (n, 2), infinite where no dot may lie; it should change
    slowly. Deterministic in `rng`.
    """
    x0, y0, x1, y1 = bounds
    least = float(np.min(spacing(_grid(bounds, max(x1 - x0, y1 - y0) / 160)), initial=np.inf))
    if not np.isfinite(least):
        return np.zeros((0, 2))
    cell = 0.62 * least
    open_ = _grid(bounds, cell)
    far = spacing(open_)
    open_, far = open_[np.isfinite(far)], far[np.isfinite(far)]
    dots, gaps = np.zeros((0, 2)), np.zeros(0)
    for k in range(rounds):
        if not len(open_):
            break
        share = np.minimum(1.0, (least / far) ** 2 * (0.3, 0.4, 0.7)[k] if k < 3 else 2.0 * (least / far) ** 2)
        pick = open_[rng.uniform(size=len(open_)) < share]
        darts = pick + rng.uniform(-0.5, 0.5, pick.shape) * cell
        r = spacing(darts)
        ok = np.isfinite(r)
        darts, r = darts[ok], r[ok]
        free = _free(darts, r, dots, gaps)
        darts, r = darts[free], r[free]
        mine = rng.permutation(len(darts))
        keep = _winners(darts, r, mine)
        dots, gaps = np.vstack([dots, darts[keep]]), np.concatenate([gaps, r[keep]])
        left = _free(open_, far, dots, gaps, 0.72 * cell, 1)
        open_, far = open_[left], far[left]
    return dots


def _grid(bounds: tuple[float, float, float, float], step: float) -> np.ndarray:
    x, y = np.arange(bounds[0], bounds[2] + step, step), np.arange(bounds[1], bounds[3] + step, step)
    gx, gy = np.meshgrid(x, y)
    return np.column_stack([gx.ravel(), gy.ravel()])


def _free(at: np.ndarray, r: np.ndarray, dots: np.ndarray, gaps: np.ndarray, give: float = 0.0,
          near: int = NEAR) -> np.ndarray:
    """Which places (n, 2) lie clear of all dots; with `give` also those that miss it by so much."""
    if not len(dots) or not len(at):
        return np.ones(len(at), bool)
    k = min(near, len(dots))
    d, i = cKDTree(dots).query(at, k=k)
    d, i = d.reshape(len(at), k), i.reshape(len(at), k)
    return (d + give >= (r[:, None] + gaps[i]) / 2).all(axis=1)


def _winners(darts: np.ndarray, r: np.ndarray, number: np.ndarray) -> np.ndarray:
    """Which darts have the best number among those that they are in conflict with."""
    if len(darts) < 2:
        return np.ones(len(darts), bool)
    tree, keep = cKDTree(darts), np.zeros(len(darts), bool)
    alive = np.arange(len(darts))
    for _ in range(2):
        k = min(CROWD, len(alive))
        d, i = tree.query(darts[alive], k=k)
        d, i = d.reshape(len(alive), k), i.reshape(len(alive), k)
        clash = (d < (r[alive][:, None] + r[alive][i]) / 2) & (i != np.arange(len(alive))[:, None])
        best = ~(clash & (number[alive][i] < number[alive][:, None])).any(axis=1)
        full = clash.all(axis=1) & (k < len(alive))
        keep[alive[best & ~full]] = True
        lost = (best & ~full)[i] & clash
        rest = ~(best | lost.any(axis=1))
        alive = alive[rest]
        if len(alive) < 2:
            break
        won = np.flatnonzero(keep)
        alive = alive[_free(darts[alive], r[alive], darts[won], r[won])]
        if len(alive) < 2:
            break
        tree = cKDTree(darts[alive])
    return keep


def dot_rings(dots: np.ndarray, radius: np.ndarray, corners: int = 9) -> tuple[np.ndarray, ...]:
    """Dots as polygons of few corners and the area of the disc: rings (corners, 2) on the 0.001 mm grid."""
    a = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    grow = np.sqrt(2 * np.pi / corners / np.sin(2 * np.pi / corners))
    unit = np.column_stack([np.cos(a), np.sin(a)]) * grow
    return tuple(np.round(dots[:, None, :] + radius[:, None, None] * unit, 3))
