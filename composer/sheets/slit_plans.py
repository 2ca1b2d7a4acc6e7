"""Where a paper could be slit from its rim: one side of the spine in even strips, or as narrow as the skin asks for.

How far a strip is off grows with the square of its width, and with how much the skin under it curves both ways; a slit
opens by what the skin between the middles of its two strips curves the other way. So even strips are measured once; how
far each is off and how gaps grow tell of all strips what they would be off and how their slits would open, and the best
are found by dynamic programming.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from composer.body.strips import Strip
from composer.sheets.cut_model import Spots, line_error

MOST_GORES = 6
"""Strips beside each other."""
BESIDE_MM = 6.0
"""Art so near a slit is what it opens through."""
LOOKED_AT = 5
"""Even strips that are measured on either side."""
STRAYS = 0.75
"""What is aimed at, of what is asked for: along quiet lines it comes out a third worse than straight."""
LITTLE_MM = (1.0, 4.0)
"""Slits that open no wider on skin are looked for first."""
SURE = 1.2
"""What is measured may be so much above what is aimed at."""
LEAST_MM = 14.0
"""No strip is planned narrower."""
KNOTS = 25
"""Places across between which strips are planned."""
HEIGHTS, MIDDLES = 10, 7
"""Where it is looked at how gaps grow."""
FLAT = 0.12
"""Where skin hardly curves strips are planned as if it curved by this share of the most."""


@dataclass(frozen=True, eq=False)
class Strips:
    """One side of the spine in strips: over places across `u` (turns, rising) `count`, by how many strips it has come
    to there, from 0."""

    u: np.ndarray
    count: np.ndarray

    @cached_property
    def edges(self) -> np.ndarray:
        """Between which turns each strip lies (n + 1)."""
        n = round(float(self.count[-1]))
        return np.interp(np.arange(n + 1), self.count, self.u)

    @property
    def lines(self) -> tuple[float, ...]:
        """Turns along which it is slit."""
        return tuple(self.edges[1:-1].tolist())

    def number(self, u: np.ndarray) -> np.ndarray:
        """By how many strips it has come at the turns u, past the ends as at the ends."""
        inside = np.interp(u, self.u, self.count)
        low, high = ((self.count[i + 1] - self.count[i]) / (self.u[i + 1] - self.u[i]) for i in (0, -2))
        return inside + np.minimum(u - self.u[0], 0.0) * low + np.maximum(u - self.u[-1], 0.0) * high

    def papers(self, spots: Spots) -> list[Strip]:
        return [spots.strip(float(a + b) / 2) for a, b in pairwise(self.edges)]

    def groups(self, spots: Spots, up: bool) -> list[np.ndarray]:
        """Which places (masks) lie on each strip above the spine, or below it."""
        which = np.clip(np.searchsorted(self.edges, spots.us[:, 0], side="right") - 1, 0, len(self.edges) - 2)
        side = (spots.us[:, 1] >= spots.spine) == up
        return [side & (which == k) for k in range(len(self.edges) - 1)]

    def errors(self, spots: Spots, up: bool) -> np.ndarray:
        """How far lines on each strip are off, mm, measured in haste, were it cut straight."""
        return np.array([line_error(spots.limb, [p], [spots.us[on]], haste=True)
                         for p, on in zip(self.papers(spots), self.groups(spots, up), strict=True)])


def even(spots: Spots, n: int, up: bool | None = None) -> Strips:
    """So many strips of even width over all places, or over those above the spine or below it."""
    u = spots.us[:, 0] if up is None else spots.us[(spots.us[:, 1] >= spots.spine) == up, 0]
    return Strips(np.array([u.min(), u.max()]), np.array([0.0, n]))


@dataclass(frozen=True, eq=False)
class _Side:
    """What is known of one side of the spine: over turns `u` (k), evenly, `steep` (k), by whose rise the square root of
    a strip's error grows, and `opens` (k, k, k) mm, how far the slit at the second opens where the strips beside it
    begin at the first and end at the third. `turn_mm`: what a turn is wide at the spine."""

    turn_mm: float
    u: np.ndarray
    steep: np.ndarray
    opens: np.ndarray

    @classmethod
    def of(cls, spots: Spots, up: bool) -> _Side:
        first = even(spots, LOOKED_AT, up)
        errors = first.errors(spots, up)
        root = np.sqrt(np.maximum(errors, FLAT * errors.max()))
        u = np.linspace(first.edges[0], first.edges[-1], KNOTS)
        steep = np.interp(u, first.edges, np.concatenate([[0.0], np.cumsum(root)]))
        return cls(float(spots.limb.girth(spots.spine)), u, steep, _opens(spots, up, u))

    def best(self, n: int, most_open: float) -> tuple[float, Strips]:
        """How far lines will be off, mm, on the worst of `n` strips, and the strips: of all whose edges are among `u`
        and whose slits open by no more than `most_open` mm those for which that is least (inf where there are none)."""
        wide = (self.u[None] - self.u[:, None]) * self.turn_mm > LEAST_MM
        wide[0, -1] = True                                                      # one strip may be of any width
        off = np.where(wide, (self.steep[None] - self.steep[:, None]) ** 2, np.inf)
        # worst[i, j]: of the strips so far, where the last lies from i to j
        worst, back = np.where(np.arange(KNOTS)[:, None] == 0, off, np.inf), []
        good = self.opens <= most_open
        for _ in range(n - 1):
            through = np.where(good, worst[:, :, None], np.inf)
            back.append(through.argmin(axis=0))
            worst = np.maximum(through.min(axis=0), off)
        i, j = int(worst[:, -1].argmin()), KNOTS - 1
        at, least = [j, i], float(worst[i, j])
        for row in reversed(back):
            i, j = int(row[i, j]), i
            at.append(i)
        return least, Strips(self.u[at[::-1]], np.arange(n + 1.0))


def _opens(spots: Spots, up: bool, u: np.ndarray) -> np.ndarray:
    """`_Side.opens` by a few strips: what a gap between two of them comes to at a height is the sum of what the skin
    between their middles adds to it, wherever in between it is cut."""
    us = spots.us[(spots.us[:, 1] >= spots.spine) == up]
    heights = np.linspace(spots.spine, us[:, 1].max() if up else us[:, 1].min(), HEIGHTS)
    middles = np.linspace(u[0], u[-1], MIDDLES)
    sums = np.zeros((MIDDLES, HEIGHTS))
    for k, (a, b) in enumerate(pairwise(middles)):
        there = np.column_stack([np.full(HEIGHTS, (a + b) / 2), heights])
        sums[k + 1] = sums[k] + gaps(spots.strip(float(a)), spots.strip(float(b)), there)
    half = np.linspace(u[0], u[-1], 2 * KNOTS - 1)          # every middle that a strip may have
    at = np.stack([np.interp(half, middles, row) for row in sums.T], axis=1)
    near = np.abs(us[None, :, 0] - u[:, None]) * spots.limb.girth(spots.spine) < BESIDE_MM
    level = np.abs(us[:, 1, None] - heights).argmin(axis=1)
    art = np.zeros((KNOTS, HEIGHTS), bool)
    art[np.nonzero(near)[0], level[np.nonzero(near)[1]]] = True
    knot = np.arange(KNOTS)
    middle = at[knot[:, None] + knot[None]]                 # of strips from i to j, by heights
    wide = middle[:, :, None] - middle[None]                # (i, j, k, heights)
    return np.where(art[None, :, None], wide, 0.0).max(axis=3, initial=0.0)


@dataclass(frozen=True, eq=False)
class SlitPlan:
    """Strips above and below the spine; `about` how far lines will be off and `opens` how far slits may open on skin,
    mm."""

    sides: tuple[Strips, Strips]
    about: float
    opens: float

    @property
    def slits(self) -> int:
        return sum(len(s.lines) for s in self.sides)

    def measured(self, spots: Spots) -> float:
        """The same as `about`, measured in haste."""
        return max(float(s.errors(spots, up).max()) for s, up in zip(self.sides, (True, False), strict=True))


def fitted(spots: Spots, aim_mm: float, most_slits: float, most_open: float) -> Iterator[SlitPlan]:
    """Slits that will be right to `aim_mm`, the fewest first and as many as `most_slits`, shared out between both sides
    of the spine as leaves least; at each number those that hardly open on skin, if there are any. Where no number is
    enough, what comes nearest; nothing where all lies on one side."""
    if not 2 <= np.count_nonzero(spots.us[:, 1] >= spots.spine) <= len(spots.us) - 2:
        return
    above, below = (_Side.of(spots, up) for up in (True, False))
    bounds = [*(v for v in LITTLE_MM if v < most_open), most_open]
    known = {v: [[side.best(n, v) for n in range(1, MOST_GORES + 1)] for side in (above, below)] for v in bounds}
    nearest: list[SlitPlan] = []
    enough = False
    for slits in range(1, int(min(most_slits, 2 * MOST_GORES - 2)) + 1):
        for v in bounds:
            up, down = known[v]
            shared = [a for a in range(slits + 1) if max(a, slits - a) < MOST_GORES]
            about, a = min((max(up[a][0], down[slits - a][0]), a) for a in shared)
            if not np.isfinite(about):
                continue
            plan = SlitPlan((up[a][1], down[slits - a][1]), about, v)
            nearest.append(plan)
            if plan.about <= aim_mm and plan.measured(spots) <= SURE * aim_mm:
                enough = True
                yield plan
                break
    if not enough and nearest:
        yield min(nearest, key=lambda p: (p.about, p.opens))


def opening(left: Strip, right: Strip, u: float, spots: Spots) -> float:
    """How far, mm, the slit along u between two strips opens on skin at most, where there is art beside it."""
    beside = np.abs(spots.us[:, 0] - u) * float(spots.limb.girth(left.s0_mm)) < BESIDE_MM
    s = spots.us[beside, 1]
    return max(0.0, -float(gaps(left, right, np.column_stack([np.full(len(s), u), s])).min(initial=0.0)))


def gaps(left: Strip, right: Strip, us: np.ndarray) -> np.ndarray:
    """From the left strip's edge to the right one's on paper, mm, at places on the cut: positive where
    paper is to be taken out, negative where the slit will open on skin."""
    a, b = left.to_flat(us), right.to_flat(us)
    ahead = left.to_flat(us + np.array([1e-4, 0.0])) - a
    return ((b - a) * ahead).sum(axis=1) / np.maximum(np.hypot(*ahead.T), 1e-12)
