"""One filigree in the making: backbone, scrolls, leaves, curls, from large to small."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import Point

from composer.filler import filigree_ink as ink
from composer.filler.filigree_curves import Form, frond, scroll
from composer.filler.filigree_fit import SAMPLES, Pool, Stock, draw, fit, still_fits
from composer.filler.filigree_grow import STEP_MM, Nib, Sites, Stroke, comma_half, sites_of
from composer.filler.filigree_mirror import HalfGap
from composer.filler.filigree_room import Room, room_of
from composer.filler.filigree_stem import Foot, feet_of, middle_way, rank_pairs, wave
from composer.filler.ground import Ground, Wish
from composer.plan.model import Hand

LINE_SLACK_MM = 0.25


SIZES_MM = tuple(round(24.0 * 0.9**n, 2) for n in range(24))
LEADS = (0.0, 0.7, 1.5)
LONG_LEADS = (3.0, 5.0)
LONG_LEAD_SIZE_MM = 4.6
SMALL_MM = 4.6
CRESCENT_MM = 8.5
ROW_MM = 11.0


def ball_mm(r: float, k: float) -> float:
    """Radius of the ball in which a scroll of size r ends, at line factor k."""
    return float(np.clip(0.12 * r, 0.65, 1.5) * max(k, 0.6))


@lru_cache(maxsize=512)
def longest_scroll(r: float, lead: float, nib: Nib, k: float, gap_mm: float) -> Form:
    """The scroll of size r that turns as far as its own coils and its ball leave a line gap."""
    best = scroll(250, 0.46, lead)
    for turn in range(270, 700, 15):
        form = scroll(turn, 0.46, lead)
        z, t = form.cut(80)
        z = z * r
        half = nib.profile(np.float64(max(nib.share * r, nib.least)), np.float64(r), t)
        heading = np.unwrap(np.angle(form.cut_tangents(80)))
        t = form.tangents()[-1]
        eye = z[-1] + 1j * t * (ball_mm(r, k) - half[-1])
        coil = np.abs(z[:, None] - z[None, :]) - half[:, None] - half[None, :]
        coil[np.abs(heading[:, None] - heading[None, :]) < np.pi] = 99.0
        before = heading < heading[-1] - np.radians(130)
        ball_gap = (np.abs(z - eye) - half)[before].min() - ball_mm(r, k)
        above = eye.imag - ball_mm(r, k) - half[0]  # the parent runs along y = 0
        if min(float(coil.min()), float(ball_gap), float(above)) < gap_mm - 0.1:
            break
        best = form
    return best


@lru_cache(maxsize=64)
def scroll_stock(least_mm: float, largest_mm: float, nib: Nib, k: float, gap_mm: float) -> Stock:
    """Every scroll between two sizes, with the lead-ins."""
    sizes = [r for r in SIZES_MM if least_mm <= r <= largest_mm]
    if not sizes:
        return Stock([scroll(300, 0.46, 0.0)], [np.zeros(0)])
    every = [(r, lead) for lead in LEADS for r in sizes]
    every += [(r, lead) for lead in LONG_LEADS for r in sizes if r <= LONG_LEAD_SIZE_MM]
    return Stock([longest_scroll(r, lead, nib, k, gap_mm) for r, lead in every], [np.array([r]) for r, _ in every],
                 [ball_mm(r, k) for r, _ in every], nib.tip)


def scroll_nib(g: Growth) -> Nib:
    """How scrolls are drawn in a growth's hand."""
    return Nib(0.085 * g.k, 0.36 * g.k, g.fine, 1.4)


class Growth:
    """Strokes and leaf lobes so far, and the room that is left."""

    def __init__(self, ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator,
                 room: Room | None = None, half: bool = False) -> None:
        self.ground, self.hand, self.wish, self.rng = ground, hand, wish, rng
        self.room = (room or room_of(ground)).bare()
        self.gap = ground.line_gap_mm + LINE_SLACK_MM
        self.strokes: list[Stroke] = []
        self.lobes: list[tuple[int, np.ndarray, np.ndarray]] = []
        self.k = hand.outline_mm * wish.weight
        self.fine = hand.fine_mm * max(wish.weight, 1.0) / 2 + 0.01
        self._half = half
        self._used: set[str] = set()
        self._sites: list[Sites] = []
        self._points = (np.zeros(0, complex), np.zeros(0), np.zeros(0, int), np.zeros(0, int))

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
        self._points = tuple(np.concatenate(pair) for pair in zip(self._points, new, strict=True))
        sites = sites_of(stroke, n)
        if self._half:
            # right of the mirror axis only
            sites = sites.take((sites.at.real > 0.05) | (sites.side < 0))
        self._sites.append(sites)
        return n

    def axis(self, half: HalfGap) -> None:
        """The stem on a mirror axis, ending in a bud; where it isn't, the axis itself keeps
        strokes half a line gap away."""
        length = half.top - half.root
        tuck = self.wish.tuck_mm if half.tucked else 0.0
        y = np.arange(half.root - tuck, half.top - 0.3, STEP_MM)
        full = self.k * float(np.clip(0.55 + 0.02 * length, 0.6, 1.0))
        bud = float(np.clip(0.22 * length, 4.0, 11.0))
        u = np.clip((half.top - y) / bud, 0, 1)
        stem = full * (1.0 - 0.4 * np.clip((y - half.root) / length, 0, 1))
        width = np.where(u < 1, comma_half(1 - u, float(stem[-1]), 0.21 * bud, self.fine, 0.38), stem)
        width = np.minimum(width, np.maximum(self.room.look(1j * y, False)[0] - 0.15, 0) + 99.0 * (y < half.root + 6.0))
        if not half.tucked:
            width *= np.clip(0.2 + (y - half.root) / 6.0, 0, 1)
        line = 1j * np.arange(half.low, half.high, 0.8)
        self.room.stamp(line, np.full(len(line), -self.gap / 2))
        bare = int(bud / STEP_MM)
        self.add(Stroke(1j * y, np.maximum(width, self.fine), "stem", 1, 0, end="tip",
                        root="tucked" if half.tucked else "tip", tuck=tuck, bare=bare))

    def backbone(self) -> bool:
        """Tie two ports by a waving stem; False where no way is clear."""
        feet = feet_of(self.ground, self.room)
        pairs = rank_pairs(self.ground, feet)
        if not pairs:
            return False
        good = [p for p in pairs if p[0] > 0.72 * pairs[0][0]][:3]
        order = self.rng.permutation(len(good)).tolist() + list(range(len(good), min(len(pairs), 6)))
        lean, pitch = self.rng.uniform(0.45, 0.66), self.rng.uniform(1.45, 1.85)
        first = int(self.rng.choice([-1, 1]))
        turned = self.rng.random(len(pairs)) < 0.5
        for bend in (6.0, 4.0, 2.6):
            for n in order:
                _, i, j = pairs[n]
                a, b = (feet[j], feet[i]) if turned[n] else (feet[i], feet[j])
                way = middle_way(self.ground, a.at, b.at)
                for side in (first, -first):
                    z = wave(self.room, way, a, b, self.k, lean, side, pitch, bend)
                    if z is not None:
                        self.add(self.stem(z, a, b))
                        self._used |= {a.owner, b.owner}
                        return True
        return False

    def stem(self, z: np.ndarray, a: Foot, b: Foot) -> Stroke:
        """The backbone as a stroke, run on behind the neighbours at both feet."""
        if a.owner:
            z = np.concatenate([self.tail(z[0], z[0] - z[1], a)[::-1], z])
        if b.owner:
            z = np.concatenate([z, self.tail(z[-1], z[-1] - z[-2], b)])
        t = np.linspace(0, 1, len(z))
        full = self.k * float(np.clip(0.62 + 0.028 * self.room.wall.max(), 0.6, 1.15))
        half = full * (0.62 + 0.38 * np.sin(np.pi * t) ** 0.9)
        if not a.owner:
            half *= np.clip(0.35 + t * 6, 0, 1)
        if not b.owner:
            half *= np.clip(0.25 + (1 - t) * 5, 0, 1)
        return Stroke(z, np.maximum(half, self.fine), "stem", 1, 0, end="tucked" if b.owner else "tip",
                      root="tucked" if a.owner else "tip", tuck=self.wish.tuck_mm)

    def tail(self, at: complex, on: complex, foot: Foot) -> np.ndarray:
        """The run behind a neighbour: straight on, or square to its outline if that would miss it."""
        step = np.arange(STEP_MM, max(self.wish.tuck_mm, 0.8), STEP_MM)
        on /= abs(on)
        end = at + on * step[-1]
        if not shapely.contains_xy(self.ground.front, end.real, end.imag):
            on = -foot.out
        return at + on * step

    def beads(self) -> None:
        """Nodes on the bare stretches of the stem on the axis, where there is room for them."""
        stem = self.strokes[0]
        taken = np.array([stem.z[s.joint].imag for s in self.strokes if s.parent == 0])
        all_z, all_half, owner, _ = self._points
        others, other_half = all_z[owner != 0], all_half[owner != 0]
        half, y = stem.half.copy(), stem.z.imag
        swell, length = 0.62 * self.k, 2.6
        for at in np.arange(y[0] + stem.tuck + 7.0, y[-1] - stem.bare * STEP_MM - 3.0, 0.8):
            wide = swell + float(np.interp(at, y, stem.half))
            if len(taken) and np.abs(taken - at).min() < 6.0:
                continue
            if self.room.look(np.array([1j * at]))[0][0] < wide + 0.3:
                continue
            if len(others) and (np.abs(others - 1j * at) - other_half).min() < wide + self.gap:
                continue
            u = np.clip(np.abs(y - at) / length, 0, 1)
            half += swell * np.cos(u * np.pi / 2) ** 2
            taken = np.append(taken, at + 2.0)
        stem.half = half

    def pool(self, kinds: tuple[str, ...], stock: Stock, nib: Nib, extra: float = 0.0) -> Pool:
        """Everything that fits on the strokes of these kinds."""
        parts = [s for s, k in zip(self._sites, self.strokes, strict=True) if k.what in kinds and len(s.at)]
        return fit(self.room, Sites.all(parts or [Sites.none()]), stock, nib, self.gap, most=320, extra=extra)

    def holds(self, s: Stroke, need: np.ndarray) -> bool:
        """Whether a drawn stroke keeps clear at every vertex (`need` as in its pool); near its
        root, where only the parent may be close, of everything else as well."""
        wall, near = self.room.look(s.z)
        t = np.linspace(0, 1, len(s.z))
        asked = np.interp(t, np.linspace(0.03, 1, SAMPLES), need[:SAMPLES])
        if not (np.all(wall > s.half + 0.1) and np.all((near > asked - 0.06)[t > 0.05])):
            return False
        root = asked < s.half + self.gap - 0.05
        if s.ball:
            eye = self.room.look(np.array([s.ball_at]))
            if eye[0][0] < s.ball + 0.1 or eye[1][0] < s.ball + self.gap - 0.1:
                return False
        if self._half and s.parent != 0 and float((s.z.real - s.half).min()) < self.gap / 2 - 0.1:
            return False
        z, half = s.z[root], s.half[root]
        if not len(z):
            return True
        wide = 2.0 + self.gap
        x0, x1, y0, y1 = z.real.min() - wide, z.real.max() + wide, z.imag.min() - wide, z.imag.max() + wide
        all_z, all_half, owner, index = self._points
        near = (all_z.real > x0) & (all_z.real < x1) & (all_z.imag > y0) & (all_z.imag < y1) & (owner != s.parent)
        near = np.flatnonzero(near)
        if not len(near):
            return True
        for n in np.unique(owner[near]):
            other = self.strokes[n]
            # a sibling that leaves close by shares the fork: only its later course counts
            if other.parent == s.parent and other.side == s.side and abs(other.joint - s.joint) < 24:
                near = near[(owner[near] != n) | (index[near] >= 24)]
        apart = np.abs(z[::2, None] - all_z[near]) - half[::2, None] - all_half[near]
        return not np.any(apart < self.gap - 0.15)

    def scrolls(self, least_mm: float, largest_mm: float, most: int, void_mm: float = 0.0) -> None:
        """Greedy: the largest scroll that fits, then the next, children of new ones included; with
        `void_mm` only into voids of that mean radius, the widest first."""
        nib = scroll_nib(self)
        stock = scroll_stock(round(least_mm, 2), round(largest_mm, 2), nib, round(self.k, 4), self.gap)
        if not len(stock.r):
            return
        pool = self.pool(("stem", "scroll", "curl"), stock, nib)
        left, missed = most, dict[int, int]()
        for _ in range(3 * most):
            ok, void = still_fits(self.room, pool)
            ok &= void > void_mm
            pool, void = pool.take(ok), void[ok]
            if not len(pool) or left <= 0:
                return
            score = pool.r * (1 + 0.16 * self.rng.random(len(pool))) * (0.3 if void_mm else 1.0) + 0.55 * void
            i = int(np.argmax(score))
            s = draw(pool, i, stock.forms[pool.form[i]], nib, "scroll" if pool.r[i] > 4.5 else "curl")
            s.end, s.ball = "ball", ball_mm(float(pool.r[i]), self.k)
            if not self.holds(s, pool.need[i]):
                k = int(pool.site[i])
                missed[k] = missed.get(k, 0) + 1
                pool = pool.take((pool.site != k) | ((pool.r < 0.85 * pool.r[i]) & (missed[k] < 2)))
                continue
            if pool.r[i] > CRESCENT_MM and self.rng.random() < 0.5:
                s = self.crescent(s, float(pool.r[i]))
            if pool.r[i] < SMALL_MM:
                # small curls in a row look like a caterpillar
                sites, k = pool.sites, pool.site
                row = (sites.owner[k] == s.parent) & (sites.side[k] == s.side)
                row &= np.abs(sites.index[k] - s.joint) * STEP_MM < ROW_MM
                pool = pool.take(~row)
            n, left = self.add(s), left - 1
            pool = pool.plus(fit(self.room, self._sites[n], stock, nib, self.gap))

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
        coil = slice(0, max(2, int(np.searchsorted(turn, turn[start] - np.radians(90.0)))))
        if np.min(np.abs(z[start:, None] - z[coil]) - half[start:, None] - half[coil]) < self.gap - 0.1:
            return s
        return Stroke(z, half, s.what, s.side, s.level, s.parent, s.joint)

    def second_root(self, least_mm: float, largest_mm: float) -> None:
        """Where a wide void is left beside a neighbour that the backbone does not meet, one more
        scroll from behind that neighbour."""
        nib = scroll_nib(self)
        stock = scroll_stock(round(least_mm, 2), round(largest_mm, 2), nib, round(self.k, 4), self.gap)
        feet = [f for f in feet_of(self.ground, self.room) if f.owner and f.owner not in self._used]
        void = self.room.void()
        heart = complex(self.room.grid.ravel()[int(np.argmax(void))])
        nearest = shapely.shortest_line(self.ground.front, Point(heart.real, heart.imag))
        if not nearest.is_empty:
            at = complex(*nearest.coords[0])
            feet.append(Foot(at, (heart - at) / max(abs(heart - at), 1e-9), "front"))
        half = 0.62 * self.k
        rows = []
        for f in feet:
            for lean in (0.0, 28.0, -28.0):
                out = f.out * np.exp(1j * np.radians(lean))
                for run in np.arange(1.5, 9.0, 0.5):
                    if self.room.look(np.array([f.at + out * run]), False)[0][0] > half + 0.5:
                        rows += [(f.at + out * run, out, side, run) for side in (1, -1)]
                        break
        if not rows or not len(stock.r):
            return
        at, heading, side, run = (np.array(v) for v in zip(*rows, strict=True))
        n = len(rows)
        none = np.full(n, -1)
        tenths = np.round(run * 10).astype(int)  # the way from behind the neighbour, carried as the index
        sites = Sites(at, heading, np.full(n, half), side.astype(int), none, tenths, np.zeros(n, int))
        pool = fit(self.room, sites, stock, nib, self.gap)
        ok, void = still_fits(self.room, pool)
        pool, void = pool.take(ok), void[ok]
        for i in np.argsort(-(pool.r + void), kind="stable")[:12]:
            s = draw(pool, int(i), stock.forms[pool.form[i]], nib, "scroll")
            k = int(pool.site[i])
            hidden = pool.sites.index[k] / 10 + self.wish.tuck_mm
            tail = (s.z[0] - pool.sites.heading[k] * np.arange(STEP_MM, hidden, STEP_MM))[::-1]
            wall, near = self.room.look(tail)
            if np.any((near < float(s.half[0]) + self.gap) & (wall > -3.0)):
                continue
            shown = s.half.copy()
            s = Stroke(np.concatenate([tail, s.z]), np.concatenate([np.full(len(tail), s.half[0]), shown]), "scroll",
                       s.side, 0, end="ball", ball=ball_mm(float(pool.r[i]), self.k), root="tucked",
                       tuck=hidden)
            wall, near = self.room.look(s.z[len(tail) :])
            if np.all(wall > shown + 0.1) and np.all(near > shown + self.gap - 0.06):
                self.add(s)
                return

    def leaves(self, least_mm: float, largest_mm: float, most: int, void_mm: float) -> None:
        """Leaves into the widest voids first, those that sheathe a fork preferred."""
        sizes = np.geomspace(largest_mm, least_mm, 6)
        forms = [frond(55), frond(95), frond(140)]
        stock = Stock(forms, [sizes] * 3)
        nib = Nib(0.045 * self.k, 0.42 * self.k, self.fine, 1.0, leaf=0.105)
        pool = self.pool(("stem", "scroll", "curl"), stock, nib)
        young = np.array([s.what == "scroll" for s in self.strokes])
        left, missed = most, dict[int, int]()
        for _ in range(3 * most):
            ok, void = still_fits(self.room, pool)
            ok &= void > void_mm
            pool, void = pool.take(ok), void[ok]
            if not len(pool) or left <= 0:
                return
            near_root = (pool.sites.index[pool.site] * 0.4 < 10.0) & young[pool.sites.owner[pool.site]]
            score = void + 0.2 * pool.r + 0.7 * near_root + 0.5 * self.rng.random(len(pool))
            i = int(np.argmax(score))
            s = draw(pool, i, forms[pool.form[i]], nib, "leaf")
            if not self.holds(s, pool.need[i]):
                k = int(pool.site[i])
                missed[k] = missed.get(k, 0) + 1
                pool = pool.take((pool.site != k) | ((pool.r < 0.85 * pool.r[i]) & (missed[k] < 2)))
                continue
            sites, k = pool.sites, pool.site
            row = (sites.owner[k] == s.parent) & (sites.side[k] == s.side)
            row &= np.abs(sites.index[k] - s.joint) * STEP_MM < 0.9 * pool.r[i]
            self.lobe(s, float(pool.r[i]))
            pool = pool.take(~row)
            self.add(s)
            left -= 1

    def lobe(self, s: Stroke, length: float) -> None:
        """Give a leaf the lobes that fit."""
        count = 5 if length > 11.5 else 3 if length > 8.5 else 2 if length > 6 else 0
        kept = []
        for z, h in ink.lobes_of(s.z, s.side, s.half, count):
            wall, near = self.room.look(z)
            u = np.linspace(0, 1, len(z))
            if self._half and float((z.real - h).min()) < self.gap / 2:
                continue
            if np.all(wall > h + 0.15) and np.all((near > h + self.gap) | (u < 0.3)):
                kept.append((z, h))
        for z, h in kept:
            self.lobes.append((len(self.strokes), z, h))
            self.room.stamp(z[::2], h[::2])
