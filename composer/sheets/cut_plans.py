"""In how many strips or bands a paper would have to be cut, before any way is looked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from composer.body.gore import Gore, gore_on, tangent_patch
from composer.body.limb import Limb
from composer.body.patch import Patch
from composer.sheets.cut_model import Limits, signed, worst_of
from composer.sheets.stencil import Stencil

MOST_GORES, MOST_BANDS = 6, 5
OPENS_MM = 4.0
"""A slit that opens wider than this on skin is passed over where there is another way."""


@dataclass(frozen=True)
class CutPlan:
    """How it could be cut, before any way is looked for: `lines` are turns (gores) or levels (bands)."""

    way: str
    stretch: float
    lines: tuple[float, ...]
    opens_mm: float
    cost: float


def cut_plans(stencil: Stencil, us: np.ndarray, limits: Limits) -> Iterator[CutPlan]:
    limb, (u0, s0), (u1, s1) = stencil.limb, us.min(axis=0), us.max(axis=0)
    spine = tangent_patch(limb, (u0 + u1) / 2, (s0 + s1) / 2)
    for n in range(1, MOST_GORES + 1):
        edges = np.linspace(u0, u1, n + 1)
        which = np.clip(np.searchsorted(edges, us[:, 0], side="right") - 1, 0, n - 1)
        left = np.concatenate([signed(gore_of(limb, spine, edges, k).stretches(us[which == k])) for k in range(n)])
        opens = max((opening(limb, spine, edges, k, s0, s1) for k in range(n - 1)), default=0.0)
        cost = 2 * (n - 1) + (10.0 if opens > OPENS_MM else 0.0)
        yield CutPlan("true" if n == 1 else "slits", worst_of(left), tuple(edges[1:-1]), opens, cost)
        if limits.error_mm is None and abs(worst_of(left)) < limits.warn / 2:
            break
    for lines, stretch in bands(limb, s0, s1):
        yield CutPlan("split", stretch, tuple(lines), 0.0, 3.0 * len(lines))
        if limits.error_mm is None and abs(stretch) < limits.warn / 2:
            break


def gore_of(limb: Limb, spine: Patch, edges: np.ndarray, k: int) -> Gore:
    return gore_on(limb, spine, (edges[k] + edges[k + 1]) / 2)


def opening(limb: Limb, spine: Patch, edges: np.ndarray, k: int, s0: float, s1: float) -> float:
    """How far, mm, the slit between gores k and k + 1 opens on skin at most."""
    s = np.linspace(s0, s1, 24)
    return max(0.0, -float(gaps(gore_of(limb, spine, edges, k), gore_of(limb, spine, edges, k + 1),
                                 np.column_stack([np.full(24, edges[k + 1]), s])).min()))


def gaps(left: Gore, right: Gore, us: np.ndarray) -> np.ndarray:
    """From the left gore's edge to the right one's on paper, mm, at places on the cut: positive where
    paper is to be taken out, negative where the slit will open on skin."""
    a, b = left.to_flat(us), right.to_flat(us)
    ahead = left.to_flat(us + np.array([1e-4, 0.0])) - a
    return ((b - a) * ahead).sum(axis=1) / np.maximum(np.hypot(*ahead.T), 1e-12)


def bands(limb: Limb, s0: float, s1: float) -> Iterator[tuple[list[float], float]]:
    """Levels to part at for 2, 3 ... papers, so that the worst of their cones fits best."""
    knots = np.linspace(s0, s1, 21)
    off = np.full((21, 21), np.inf)
    for i in range(20):
        for j in range(i + 3, 21):
            s = np.linspace(knots[i], knots[j], 17)
            c = limb.girth(s)
            fit = np.polyval(np.polyfit(s - s0, c, 1), s - s0)
            off[i, j] = np.abs(c / np.maximum(fit, 1.0) - 1).max()
    best, back = off[0].copy(), []
    for _ in range(2, MOST_BANDS + 1):
        through = np.maximum(best[:, None], off)
        back.append(through.argmin(axis=0))
        best = through.min(axis=0)
        if not np.isfinite(best[20]):
            return
        at, lines = 20, []
        for row in reversed(back):
            at = int(row[at])
            lines.append(float(knots[at]))
        yield lines[::-1], float(best[20])
