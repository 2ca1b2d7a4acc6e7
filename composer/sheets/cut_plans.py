"""In how many strips or bands a paper would have to be cut, before any way is looked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from heapq import heappop, heappush
from itertools import count, pairwise

import numpy as np

from composer.body.limb import Limb
from composer.body.panel import Panel
from composer.body.panel_patch import lay_panel_patch_over
from composer.body.patch import Patch, lay_patch
from composer.body.strips import Strip
from composer.body.surface import Surface
from composer.sheets.cut_model import ASIDE, Limits, Spots, line_error, worst_of
from composer.sheets.slit_plans import MOST_GORES, STRAYS, Strips, even, fitted, opening
from composer.sheets.stencil import Stencil

MOST_BANDS = 5
FITTED_ASIDE = 0.3
"""How far a cut may stray where all strips are off alike, in widths of a strip."""
LEAST = 20
"""A paper is made only where so many of the places looked at lie on it."""
OPENS_MM = 4.0
"""Unasked no slit opens wider than this on skin; asked for, plans in which one may come last."""


@dataclass(frozen=True)
class CutPlan:
    """How it could be cut, before any way is looked for: `lines` are the levels of bands (turns where `upright`, for
    bands side by side), `sides` the strips above and below the spine. `about` tells in haste how far lines will be off,
    mm, were it cut straight there."""

    way: str
    stretch: float
    lines: tuple[float, ...]
    cost: float
    upright: bool
    about: Callable[[], float] = field(compare=False, repr=False)
    sides: tuple[Strips, Strips] | None = field(default=None, compare=False, repr=False)
    aside: float = ASIDE


def cut_plans(stencil: Stencil, spots: Spots, limits: Limits, way: str = "auto", most_cost: float = np.inf,
              most_open: float = np.inf) -> Iterator[CutPlan]:
    """All that is worth weighing for a way of cutting, first what leaves less stretch than is warned of, then what
    needs fewer cuts; each is worked out when it is asked for. One strip alone is paper redrawn, on a limb; on a panel
    the paper itself is fitted to the skin already."""
    families = []
    if way != "split":
        families.append(_strip_plans(stencil.limb, spots, limits, way, most_cost, most_open))
    if way in ("auto", "split"):
        families.append(_band_plans(stencil.limb, spots, most_cost))
    waiting: list[tuple[bool, float, int, int, CutPlan | None]] = []
    turn = count()

    def ask(k: int) -> None:
        least = next(families[k], None)         # what the next one costs at least
        if least is not None:
            heappush(waiting, (False, float(least), k, next(turn), None))

    for k in range(len(families)):
        ask(k)
    while waiting:
        *_, k, _, plan = heappop(waiting)
        if plan is not None:
            yield plan
            continue
        made = next(families[k])
        heappush(waiting, (abs(made.stretch) > limits.warn, made.cost, k, next(turn), made))
        if limits.error_mm is not None or abs(made.stretch) >= limits.warn / 2:
            ask(k)


def _strip_plans(limb: Surface, spots: Spots, limits: Limits, way: str, most_cost: float, most_open: float
                 ) -> Iterator[float | CutPlan]:
    """In turn what the next plan costs at least, and the plan: a strip alone, then even strips while only stretch is
    asked for, else strips that are off alike."""
    if isinstance(limb, Limb) and way in ("auto", "true"):
        yield 0.0
        whole, us = even(spots, 1), spots.us
        paper, every = whole.papers(spots)[0], np.ones(len(us), bool)
        yield CutPlan("true", worst_of(spots.stretch(paper, every)), (), 0.0, False, _about(spots, [paper], [every]))
    if way == "true":
        return
    if limits.error_mm is not None:
        for found in fitted(spots, STRAYS * limits.error_mm, most_cost, most_open):
            cost = found.slits + (10.0 if found.opens > OPENS_MM else 0.0)
            yield cost
            yield _slit_plan(spots, found.sides, cost, found.about)
        return
    for n in range(2, MOST_GORES + 1):
        if 2.0 * (n - 1) > most_cost:
            return
        yield 2.0 * (n - 1)
        yield _slit_plan(spots, (even(spots, n),) * 2, 2.0 * (n - 1))


def _slit_plan(spots: Spots, sides: tuple[Strips, Strips], cost: float, about: float | None = None) -> CutPlan:
    """The plan for strips; `about` where it is known, so that its slits were looked at for opening too."""
    papers, groups = [], []
    for side, up in zip(sides, (True, False), strict=True):
        papers += side.papers(spots)
        groups += side.groups(spots, up)
    left = worst_of(np.concatenate([spots.stretch(g, on) for g, on in zip(papers, groups, strict=True)]))
    if about is None:
        here = sides[0].papers(spots)
        opens = max(opening(a, b, u, spots) for (a, b), u in zip(pairwise(here), sides[0].lines, strict=True))
        cost += 10.0 if opens > OPENS_MM else 0.0
        return CutPlan("slits", left, (), cost, False, _about(spots, papers, groups), sides)
    return CutPlan("slits", left, (), cost, False, lambda: about, sides, FITTED_ASIDE)


def _band_plans(limb: Surface, spots: Spots, most_cost: float) -> Iterator[float | CutPlan]:
    """The same for bands."""
    if isinstance(limb, Limb):
        for lines, stretch, upright in bands(limb, spots.low[1], spots.high[1]):
            cost = 3.0 * len(lines)
            if cost > most_cost:
                return
            yield cost
            which = np.searchsorted(lines, spots.us[:, 1])
            groups = [on for k in range(len(lines) + 1) if (on := which == k).any()]
            yield CutPlan("split", stretch, tuple(lines), cost, upright, _about(
                spots, [band_paper(limb, spots.us[on]) for on in groups], groups))
        return
    for n in range(2, MOST_BANDS + 1):
        cost = 3.0 * (n - 1)
        if cost > most_cost:
            return
        for upright in (False, True):
            groups, lines = even_bands(spots, n, upright)
            if min(map(np.count_nonzero, groups)) < LEAST:
                continue
            yield cost
            papers = [band_paper(limb, spots.us[g]) for g in groups]
            left = worst_of(np.concatenate([spots.stretch(p, g) for p, g in zip(papers, groups, strict=True)]))
            yield CutPlan("split", left, lines, cost, upright, _about(spots, papers, groups))


def _about(spots: Spots, papers: Sequence[Strip | Patch], groups: list[np.ndarray]) -> Callable[[], float]:
    return cache(lambda: line_error(spots.limb, papers, [spots.us[g] for g in groups], haste=True))


def band_paper(limb: Surface, us: np.ndarray) -> Patch:
    """The paper of one band over the places `us`."""
    if isinstance(limb, Panel):
        return lay_panel_patch_over(limb, us)
    (u0, s0), (u1, s1) = us.min(axis=0), us.max(axis=0)
    return lay_patch(limb, (u0 + u1) / 2, (s0 + s1) / 2, (s1 - s0) / 2, (s1 - s0) / 2)


def even_bands(spots: Spots, n: int, upright: bool) -> tuple[list[np.ndarray], tuple[float, ...]]:
    """Which places lie on each of `n` bands of even width, and the levels (upright: turns) to part them at."""
    axis = 0 if upright else 1
    edges = np.linspace(spots.low[axis], spots.high[axis], n + 1)
    which = np.clip(np.searchsorted(edges, spots.us[:, axis], side="right") - 1, 0, n - 1)
    return [which == k for k in range(n)], tuple(float(v) for v in edges[1:-1])


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
