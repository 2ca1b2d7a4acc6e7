"""One filigree in the making: its strokes so far, and how scrolls, curls and leaves are added."""

from __future__ import annotations

from copy import copy
from typing import Any

import numpy as np
from scipy.ndimage import maximum_filter

from composer.filler import filigree_ink as ink
from composer.filler.filigree_curves import frond, shares
from composer.filler.filigree_fit import SAMPLES, Pool, Stock, draw, fit, still_fits
from composer.filler.filigree_grow import STEP_MM, Nib, Sites, Stroke, sites_of
from composer.filler.filigree_mirror import HalfGap
from composer.filler.filigree_room import room_of, strength
from composer.filler.filigree_stock import ball_mm, scroll_stock
from composer.filler.ground import Ground, Wish
from composer.plan.model import Hand

LINE_SLACK_MM = 0.25
SMALL_MM = 4.6
"""Scrolls below this size don't stand in rows..."""
ROW_MM = 17.0
"""...closer than this."""
_ASKED_AT = np.linspace(0.03, 1, SAMPLES)
CRESCENT_MM = 8.5
"""Scrolls above this size may swell to a crescent."""


class Growth:
    """Strokes and leaf lobes so far, and the room that is left."""

    def __init__(self, ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator,
                 half: HalfGap | None = None) -> None:
        self.ground, self.hand, self.wish, self.rng = ground, hand, wish, rng
        self.room = (half.room if half is not None else room_of(ground)).bare()
        self.gap = ground.line_gap_mm + LINE_SLACK_MM
        self.strokes: list[Stroke] = []
        self.lobes: list[tuple[int, np.ndarray, np.ndarray]] = []
        self.k = hand.outline_mm * wish.weight
        self.fine = hand.tip_mm * max(wish.weight, 1.0) / 2 + 0.01
        self.nib = Nib(0.085 * self.k, 0.36 * self.k, self.fine, 1.4)
        # a sparser wish asks for wider voids before they are filled
        self.spare = float(np.clip(1.0 + 1.1 * (0.6 - wish.density), 0.6, 1.6))
        self.half = half
        self.core: HalfGap | None = None
        """The half whose two sides are drawn already, so that only what lies outside it is filled."""
        self.pairs: list[int] = []
        """A number for each stroke of a symmetric one, the same for both of a pair."""
        self.mirror: dict[str, Any] = {}
        self.anew = False
        """Whether it does not go on from the first pass that its numbers give first, which is what was sketched."""
        self.used: set[str] = set()
        self._sites: list[Sites] = []
        self.points: tuple[np.ndarray, ...] = (np.zeros(0, complex), np.zeros(0), np.zeros(0, int), np.zeros(0, int))

    def copy(self) -> Growth:
        """The same once more, to be gone on with by itself."""
        other = copy(self)
        other.room = self.room.bare()
        other.room.ink = self.room.ink.copy()
        other.strokes = [copy(s) for s in self.strokes]
        other.lobes, other.pairs, other.used, other._sites = (
            list(self.lobes), list(self.pairs), set(self.used), list(self._sites))
        return other

    def add(self, stroke: Stroke) -> int:
        """Lay a stroke; its number."""
        self.strokes.append(stroke)
        self.room.stamp(stroke.z[::2], stroke.half[::2])
        z, half, index = stroke.z[::2], stroke.half[::2], np.arange(0, len(stroke.z), 2)
        if stroke.ball:
            self.room.stamp(np.array([stroke.ball_at]), np.array([stroke.ball]))
            z, half, index = np.append(z, stroke.ball_at), np.append(half, stroke.ball), np.append(index, 999)
        n = len(self.strokes) - 1
        new = (z, half, np.full(len(z), n), index)
        self.points = tuple(np.concatenate(pair) for pair in zip(self.points, new, strict=True))
        sites = sites_of(stroke, n)
        if self.half is not None:
            # right of the mirror axis only
            sites = sites.take((sites.at.real > 0.05) | (sites.side < 0))
        if self.wish.fade_mm > 0:
            at = sites.at if self.half is None else self.half.home(sites.at)
            share = strength(self.ground, at, self.wish.fade_mm) ** 1.5
            sites = sites.take(self.rng.random(len(sites.at)) < share)
        self._sites.append(sites)
        return n

    def pool(self, kinds: tuple[str, ...], stock: Stock, nib: Nib, extra: float = 0.0) -> Pool:
        """Everything that fits on the strokes of these kinds."""
        parts = [s for s, k in zip(self._sites, self.strokes, strict=True) if k.what in kinds and len(s.at)]
        return fit(self.room, Sites.all(parts or [Sites.none()]), stock, nib, self.gap, most=180, extra=extra)

    def void(self) -> np.ndarray:
        """Radius of the empty disc about every cell, 0 or less where nothing is to be drawn."""
        void = self.room.void()
        if self.core is None:
            return void
        return np.where(self.core.room.look_wall(self.core.away(self.room.grid)) < 0.5, void, np.minimum(void, 0.0))

    def wanted(self, pool: Pool) -> tuple[np.ndarray, np.ndarray]:
        """Which of a pool's branches still fit and run where something is to be drawn, and the mean
        radius of the void that each would run through (mm)."""
        ok, void = still_fits(self.room, pool)
        if self.core is not None and len(pool):
            late = pool.z[:, SAMPLES // 3 : SAMPLES]
            ok &= (self.core.room.look_wall(self.core.away(late)) < 0.5).mean(axis=1) > 0.7
        return ok, void

    def wide(self, pool: Pool, void_mm: float) -> tuple[Pool, np.ndarray]:
        """Those of a pool that are wanted and would run through a void of more than that mean radius, with the radius
        for each (mm)."""
        ok, void = self.wanted(pool)
        ok &= void > void_mm
        return pool.take(ok), void[ok]

    def holds(self, s: Stroke, need: np.ndarray) -> bool:
        """Whether a drawn stroke keeps clear at every vertex (`need` as in its pool); near its
        root, where only the parent may be close, of everything else as well."""
        many = len(s.z)
        wall, near = self.room.look(np.append(s.z, s.ball_at) if s.ball else s.z)
        t = shares(many)
        asked = np.interp(t, _ASKED_AT, need[:SAMPLES])
        off = int(t.searchsorted(0.05, side="right"))
        if not ((wall[:many] > s.half + 0.1).all() and (near[off:many] > asked[off:] - 0.06).all()):
            return False
        if s.ball and (wall[many] < s.ball + 0.1 or near[many] < s.ball + self.gap - 0.1):
            return False
        if self.half is not None and s.parent != 0 and float((s.z.real - s.half).min()) < self.gap / 2 - 0.1:
            return False
        root = asked < s.half + self.gap - 0.05
        z, half = s.z[root], s.half[root]
        if not len(z):
            return True
        wide = 2.0 + self.gap
        x0, x1, y0, y1 = z.real.min() - wide, z.real.max() + wide, z.imag.min() - wide, z.imag.max() + wide
        all_z, all_half, owner, index = self.points
        near = (all_z.real > x0) & (all_z.real < x1) & (all_z.imag > y0) & (all_z.imag < y1) & (owner != s.parent)
        near = np.flatnonzero(near)
        if not len(near):
            return True
        for n in set(owner[near].tolist()):
            other = self.strokes[n]
            # a sibling that leaves close by shares the fork: only its later course counts
            if other.parent == s.parent and other.side == s.side and abs(other.joint - s.joint) < 24:
                near = near[(owner[near] != n) | (index[near] >= 24)]
        apart = np.abs(z[::2, None] - all_z[near]) - half[::2, None] - all_half[near]
        return not np.any(apart < self.gap - 0.15)

    def scrolls(self, least_mm: float, largest_mm: float, most: int, void_mm: float = 0.0) -> None:
        """Greedy: the largest scroll that fits, then the next, children of new ones included; with
        `void_mm` only into voids of that mean radius (at the usual density), the widest first."""
        void_mm *= self.spare
        nib = self.nib
        stock = scroll_stock(round(least_mm, 2), round(largest_mm, 2), nib, round(self.k, 4), self.gap)
        if not len(stock.r) or float(self.room.void().max()) < void_mm + 0.5:
            return
        pool = self.pool(("stem", "scroll", "curl"), stock, nib)
        for s in self.strokes:
            if s.what == "curl":
                pool = _apart(pool, s, ROW_MM, SMALL_MM)
        left, missed = most, dict[int, int]()
        pool, void = self.wide(pool, void_mm)
        for _ in range(3 * most):
            if not len(pool):
                return
            score = pool.r * (1 + 0.16 * self.rng.random(len(pool))) * (0.3 if void_mm else 1.0) + 0.55 * void
            i = int(np.argmax(score))
            s = draw(pool, i, stock.forms[pool.form[i]], nib, "scroll" if pool.r[i] > 4.5 else "curl")
            s.end, s.ball = "ball", ball_mm(float(pool.r[i]), self.k)
            if not self.holds(s, pool.need[i]):
                # no ink has come, so that the others still fit
                left_over = _others(pool, i, missed)
                pool, void = pool.take(left_over), void[left_over]
                continue
            if pool.r[i] > CRESCENT_MM and self.rng.random() < 0.5:
                s = self.crescent(s, float(pool.r[i]))
            if pool.r[i] < SMALL_MM:
                # small curls in a row look like a caterpillar
                pool = _apart(pool, s, ROW_MM, SMALL_MM)
            n, left = self.add(s), left - 1
            if s.what == "scroll" and not s.ball:
                # the white inside a crescent is meant to be white: it counts as taken
                heart = s.z[len(s.z) // 2 :].mean()
                clear = float(self.room.look_ink(np.array([heart]))[0])
                self.room.stamp(np.array([heart]), np.array([max(clear - 1.5, 0.3)]))
            if not left:
                return
            pool, void = self.wide(pool.plus(fit(self.room, self._sites[n], stock, nib, self.gap)), void_mm)

    def rest(self, radius_mm: float) -> None:
        """Leave one place open on purpose, of about this radius: the pocket that is nearest to it in
        size, so that wider ones stay for scrolls. Nothing grows into it."""
        void = self.room.void()
        peak = (void == maximum_filter(void, size=5)) & (void > 0.7 * radius_mm)
        if not peak.any():
            return
        at, r = self.room.grid[peak], void[peak]
        k = int(np.argmin(np.abs(r - 1.15 * radius_mm)))
        core = min(radius_mm, float(r[k])) - self.gap
        if core > 0.3:
            self.room.stamp(at[k : k + 1], np.array([core]))

    def crescent(self, s: Stroke, r: float) -> Stroke:
        """A scroll that swells to a crescent at its heart instead of winding on to a ball: cut
        after a turn and a third, if the crescent keeps clear of its own coil."""
        turn = np.abs(np.cumsum(np.angle(s.tangent[1:] / s.tangent[:-1])))
        stop = min(int(np.searchsorted(turn, np.radians(500.0))), len(s.z))
        if turn[-1] < np.radians(500.0):
            return s
        z, half = s.z[:stop], s.half[:stop].copy()
        start = int(np.searchsorted(turn, np.radians(255.0)))
        length = (stop - start) * STEP_MM
        t = np.linspace(0, 1, stop - start)
        moon = 0.088 * length * np.sin(np.pi * t**1.12) ** 1.5
        half[start:] = np.maximum(float(half[start]) * (1 - t) ** 1.3 + moon, self.fine)
        wall, near = self.room.look(z[start:])
        if np.any(wall < half[start:] + 0.12) or np.any(near < half[start:] + self.gap - 0.05):
            return s
        coil = slice(0, max(2, int(np.searchsorted(turn, turn[start] - np.radians(90.0)))))
        if np.min(np.abs(z[start:, None] - z[coil]) - half[start:, None] - half[coil]) < self.gap - 0.1:
            return s
        return Stroke(z, half, s.what, s.side, s.level, s.parent, s.joint)

    def leaves(self, least_mm: float, largest_mm: float, most: int, void_mm: float) -> None:
        """Leaves into the widest voids first, those that sheathe a fork preferred."""
        void_mm *= self.spare
        if float(self.room.void().max()) < void_mm + 0.5:
            return
        sizes = np.geomspace(largest_mm, least_mm, 6)
        forms = [frond(55), frond(95), frond(140)]
        stock = Stock(forms, [sizes] * 3)
        nib = Nib(0.045 * self.k, 0.42 * self.k, self.fine, 1.0, leaf=0.105)
        pool = self.pool(("stem", "scroll", "curl"), stock, nib)
        young = np.array([s.what == "scroll" for s in self.strokes])
        left, missed = most, dict[int, int]()
        pool, void = self.wide(pool, void_mm)
        for _ in range(3 * most):
            if not len(pool):
                return
            near_root = (pool.sites.index[pool.site] * 0.4 < 10.0) & young[pool.sites.owner[pool.site]]
            score = void + 0.2 * pool.r + 0.7 * near_root + 0.5 * self.rng.random(len(pool))
            i = int(np.argmax(score))
            s = draw(pool, i, forms[pool.form[i]], nib, "leaf")
            if not self.holds(s, pool.need[i]):
                left_over = _others(pool, i, missed)
                pool, void = pool.take(left_over), void[left_over]
                continue
            self.lobe(s, float(pool.r[i]))
            pool = _apart(pool, s, 0.9 * float(pool.r[i]))
            self.add(s)
            left -= 1
            if not left:
                return
            pool, void = self.wide(pool, void_mm)

    def lobe(self, s: Stroke, length: float) -> None:
        """Give a leaf the lobes that fit."""
        count = 5 if length > 11.5 else 3 if length > 8.5 else 2 if length > 6 else 0
        kept = []
        for z, h in ink.lobes_of(s.z, s.side, s.half, count, max(0.2, self.hand.fine_mm / 2)):
            wall, near = self.room.look(z)
            u = np.linspace(0, 1, len(z))
            if self.half is not None and float((z.real - h).min()) < self.gap / 2:
                continue
            if np.all(wall > h + 0.15) and np.all((near > h + self.gap) | (u < 0.3)):
                kept.append((z, h))
        for z, h in kept:
            self.lobes.append((len(self.strokes), z, h))
            self.room.stamp(z[::2], h[::2])


def _others(pool: Pool, i: int, missed: dict[int, int]) -> np.ndarray:
    """Which of a pool are left (mask) after branch i turned out not to hold: smaller ones get one more chance at its
    site."""
    k = int(pool.site[i])
    missed[k] = missed.get(k, 0) + 1
    others = pool.site != k
    return others if missed[k] >= 2 else others | (pool.r < 0.85 * pool.r[i])


def _apart(pool: Pool, s: Stroke, least_mm: float, below_mm: float = np.inf) -> Pool:
    """The pool without branches smaller than `below_mm` that would leave the same side of the parent so near to s."""
    sites, k = pool.sites, pool.site
    row = (sites.owner[k] == s.parent) & (sites.side[k] == s.side) & (pool.r < below_mm)
    row &= np.abs(sites.index[k] - s.joint) * STEP_MM < least_mm
    return pool.take(~row)
