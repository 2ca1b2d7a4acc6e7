"""In how many strips or bands a paper would have to be cut, before any way is looked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from composer.body.distort import stretches
from composer.body.limb import Limb
from composer.body.panel import Panel
from composer.body.panel_patch import lay_panel_patch_over
from composer.body.patch import Patch, lay_patch
from composer.body.strips import Strip, strips_over
from composer.body.surface import Surface
from composer.sheets.cut_model import Limits, signed, worst_of
from composer.sheets.stencil import Stencil

MOST_GORES, MOST_BANDS = 6, 5
OPENS_MM = 4.0
"""A slit that opens wider than this on skin is passed over where there is another way."""


@dataclass(frozen=True)
class CutPlan:
    """How it could be cut, before any way is looked for: `lines` are turns (strips) or levels (bands; turns too
    where `upright`, for bands side by side)."""

    way: str
    stretch: float
    lines: tuple[float, ...]
    opens_mm: float
    cost: float
    upright: bool = False


def cut_plans(stencil: Stencil, us: np.ndarray, limits: Limits) -> Iterator[CutPlan]:
    """All that is worth weighing. One strip alone is paper redrawn, on a limb; on a panel the paper itself is
    fitted to the skin already."""
    limb, (u0, s0), (u1, s1) = stencil.limb, us.min(axis=0), us.max(axis=0)
    strip = strips_over(limb, us)
    for n in range(1 if isinstance(limb, Limb) else 2, MOST_GORES + 1):
        edges = np.linspace(u0, u1, n + 1)
        strips = [strip(float(a + b) / 2) for a, b in pairwise(edges)]
        which = np.clip(np.searchsorted(edges, us[:, 0], side="right") - 1, 0, n - 1)
        left = np.concatenate([signed(g.stretches(us[which == k])) for k, g in enumerate(strips)])
        opens = max((opening(a, b, float(u), s0, s1) for (a, b), u in zip(pairwise(strips), edges[1:-1], strict=True)),
                    default=0.0)
        cost = 2 * (n - 1) + (10.0 if opens > OPENS_MM else 0.0)
        yield CutPlan("true" if n == 1 else "slits", worst_of(left), tuple(edges[1:-1]), opens, cost)
        if limits.error_mm is None and abs(worst_of(left)) < limits.warn / 2:
            break
    for lines, stretch, upright in bands(limb, s0, s1) if isinstance(limb, Limb) else panel_bands(limb, us):
        yield CutPlan("split", stretch, tuple(lines), 0.0, 3.0 * len(lines), upright)
        if limits.error_mm is None and abs(stretch) < limits.warn / 2:
            break


def hopeless(plan: CutPlan, tried: CutPlan, over: float) -> bool:
    """Whether a plan can be passed over because one like it was tried and came out `over` times too far off: the
    error of strips and bands falls at best with the square of their number."""
    if (plan.way, plan.upright) != (tried.way, tried.upright):
        return False
    return over * ((len(tried.lines) + 1) / (len(plan.lines) + 1)) ** 2 > 1.5


def opening(left: Strip, right: Strip, u: float, s0: float, s1: float) -> float:
    """How far, mm, the slit along u between two strips opens on skin at most."""
    s = np.linspace(s0, s1, 24)
    return max(0.0, -float(gaps(left, right, np.column_stack([np.full(24, u), s])).min()))


def gaps(left: Strip, right: Strip, us: np.ndarray) -> np.ndarray:
    """From the left strip's edge to the right one's on paper, mm, at places on the cut: positive where
    paper is to be taken out, negative where the slit will open on skin."""
    a, b = left.to_flat(us), right.to_flat(us)
    ahead = left.to_flat(us + np.array([1e-4, 0.0])) - a
    return ((b - a) * ahead).sum(axis=1) / np.maximum(np.hypot(*ahead.T), 1e-12)


def band_paper(limb: Surface, us: np.ndarray) -> Patch:
    """The paper of one band over the places `us`."""
    if isinstance(limb, Panel):
        return lay_panel_patch_over(limb, us)
    (u0, s0), (u1, s1) = us.min(axis=0), us.max(axis=0)
    return lay_patch(limb, (u0 + u1) / 2, (s0 + s1) / 2, (s1 - s0) / 2, (s1 - s0) / 2)


def panel_bands(panel: Panel, us: np.ndarray) -> Iterator[tuple[list[float], float, bool]]:
    """Bands of even width over a panel: levels to part at, or lines upright, and the worst stretch left."""
    low, high = us.min(axis=0), us.max(axis=0)
    for n in range(2, MOST_BANDS + 1):
        for axis in (1, 0):
            edges = np.linspace(low[axis], high[axis], n + 1)
            which = np.clip(np.searchsorted(edges, us[:, axis], side="right") - 1, 0, n - 1)
            groups = [us[which == k] for k in range(n)]
            if min(map(len, groups)) < 20:
                continue
            papers = [band_paper(panel, g) for g in groups]
            left = [signed(stretches(panel, p, p.to_flat(g))) for p, g in zip(papers, groups, strict=True)]
            yield [float(v) for v in edges[1:-1]], worst_of(np.concatenate(left)), axis == 0


def bands(limb: Limb, s0: float, s1: float) -> Iterator[tuple[list[float], float, bool]]:
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
        yield lines[::-1], float(best[20]), False
