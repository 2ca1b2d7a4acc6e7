"""Filigree: scrollwork that ties the neighbours of a gap together and fills it evenly."""

from __future__ import annotations

import numpy as np
import shapely

from composer.art.drawing import Drawing, End, Layer, geometry_to_rings
from composer.filler import filigree_ink as ink
from composer.filler.filigree_curves import frond, scroll
from composer.filler.filigree_grow import Nib, Stroke, draw, empty_pool, fit, sites_of, still_fits
from composer.filler.filigree_room import Room, room_of
from composer.filler.filigree_stem import Foot, feet_of, middle_way, rank_pairs, wave
from composer.filler.ground import Ground, Wish
from composer.plan.model import Hand

KIND = "filigree"


class Growth:
    """One filigree in the making."""

    def __init__(self, ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> None:
        self.ground, self.hand, self.wish, self.rng = ground, hand, wish, rng
        self.room: Room = room_of(ground).bare()
        self.gap = ground.line_gap_mm + 0.25
        self.strokes: list[Stroke] = []
        self.lobes: list[tuple[int, np.ndarray, np.ndarray]] = []
        self.k = hand.outline_mm * wish.weight
        self.fine = max(hand.fine_mm * wish.weight, hand.fine_mm) / 2 + 0.01

    def add(self, stroke: Stroke) -> int:
        self.strokes.append(stroke)
        z, h = stroke.z[::2], stroke.half[::2]
        self.room.stamp(z, h)
        if stroke.ball:
            c = stroke.z[-1] + 1j * stroke.side * stroke.tangent[-1] * (stroke.ball - stroke.half[-1])
            self.room.stamp(np.array([c]), np.array([stroke.ball]))
        return len(self.strokes) - 1

    # the backbone -------------------------------------------------------------------------
    def backbone(self) -> bool:
        feet = feet_of(self.ground, self.room)
        pairs = rank_pairs(self.ground, feet)
        if not pairs:
            return False
        good = [p for p in pairs if p[0] > 0.72 * pairs[0][0]][:3]
        order = self.rng.permutation(len(good)).tolist() + list(range(len(good), min(len(pairs), 6)))
        lean, pitch = self.rng.uniform(0.42, 0.62), self.rng.uniform(1.5, 1.9)
        first = int(self.rng.choice([-1, 1]))
        for n in order:
            _, i, j = pairs[n]
            a, b = feet[i], feet[j]
            if self.rng.random() < 0.5:
                a, b = b, a
            way = middle_way(self.ground, a.at, b.at)
            for side in (first, -first):
                z = wave(self.room, way, a, b, 0.9 * self.k, lean, side, pitch)
                if z is not None:
                    self.add(self.stem(z, a, b))
                    return True
        return False

    def stem(self, z: np.ndarray, a: Foot, b: Foot) -> Stroke:
        tuck = np.arange(0.4, max(self.wish.tuck_mm, 0.8), 0.4)
        if a.owner:
            z = np.concatenate([(a.at - a.out * tuck)[::-1], z])
        if b.owner:
            z = np.concatenate([z, b.at - b.out * tuck])
        t = np.linspace(0, 1, len(z))
        half = self.k * (0.46 + 0.44 * np.sin(np.pi * t) ** 0.8)
        return Stroke(z, half, "stem", 1, 0, end="tucked" if b.owner else "tip", root="tucked" if a.owner else "tip")

    # branches -----------------------------------------------------------------------------
    def grow(self, what: str, least_mm: float, largest_mm: float, most: int) -> None:
        """Greedy: the largest branch that fits, then the next, children of new ones included."""
        nib = Nib(0.082 * self.k, 0.36 * self.k, self.fine, 1.35)
        sizes = largest_mm * 0.88 ** np.arange(0, 1 + int(np.log(least_mm / largest_mm) / np.log(0.88)))
        forms, ranges = [], []
        for lead in (0.0, 0.7, 1.5):
            for lo, hi, turn in ((9.0, 99.0, 640), (6.2, 9.0, 520), (4.2, 6.2, 400), (0.0, 4.2, 310)):
                r = sizes[(sizes >= lo) & (sizes < hi)]
                if len(r):
                    forms.append(scroll(turn, 0.46, lead))
                    ranges.append(r)
        pool = empty_pool()
        for i, s in enumerate(self.strokes):
            if s.what in ("stem", "scroll", "curl"):
                pool = pool.plus(fit(self.room, sites_of(s, i), forms, ranges, nib, self.gap))
        for _ in range(most):
            ok, void = still_fits(self.room, pool)
            pool, void = pool.take(ok), void[ok]
            if not len(pool):
                return
            score = pool.r * (1 + 0.16 * self.rng.random(len(pool))) + 0.55 * void
            i = int(np.argmax(score))
            s = draw(pool, i, forms[pool.form[i]], nib, what if pool.r[i] > 4.5 else "curl")
            s.end, s.ball = "ball", float(np.clip(0.13 * pool.r[i], 0.75, 1.5) * max(self.k, 0.6))
            n = self.add(s)
            pool = pool.plus(fit(self.room, sites_of(s, n), forms, ranges, nib, self.gap))

    def leaf(self, least_mm: float, largest_mm: float, most: int) -> None:
        nib = Nib(0.05 * self.k, 0.34 * self.k, self.fine, 1.0)
        sizes = np.geomspace(largest_mm, least_mm, 7)
        forms = [frond(55), frond(95), frond(140)]
        fat = Nib(0.0, 0.9, self.fine, 1.0)
        del fat
        pool = empty_pool()
        for i, s in enumerate(self.strokes):
            if s.what != "leaf":
                pool = pool.plus(fit(self.room, sites_of(s, i, 1.2), forms, [sizes] * 3, nib, self.gap, extra=0.5))
        for _ in range(most):
            ok, void = still_fits(self.room, pool)
            pool, void = pool.take(ok), void[ok]
            if not len(pool):
                return
            score = void + 0.18 * pool.r + 0.5 * self.rng.random(len(pool))
            i = int(np.argmax(score))
            if void[i] < 2.3:
                return
            s = draw(pool, i, forms[pool.form[i]], nib, "leaf")
            self.leaf_body(s, float(pool.r[i]))
            self.add(s)

    def leaf_body(self, s: Stroke, length: float) -> None:
        """Swell the leaf and give it the lobes that fit."""
        n = len(s.z)
        wall, near = self.room.look(s.z)
        belly = 0.115 * length
        t = np.linspace(0, 1, n)
        room = np.where(t > 0.3, np.minimum(wall - 0.15, near - self.gap), 9.0)
        s.half = np.maximum(np.minimum(ink.comma_half(n, float(s.half[0]), belly, 0.2, 0.4), np.maximum(room, 0.2)), 0.2)
        s.half = np.convolve(np.pad(s.half, 2, mode="edge"), np.ones(5) / 5, mode="valid")
        count = 3 if length > 11 else 2 if length > 7.5 else 0
        kept = []
        for z, h in ink.lobes_of(s.z, s.side, s.half, count, 1.0):
            wall, near = self.room.look(z)
            u = np.linspace(0, 1, len(z))
            if np.all(wall > h + 0.15) and np.all((near > h + self.gap) | (u < 0.35)):
                kept.append((z, h))
        for z, h in kept:
            self.lobes.append((len(self.strokes), z, h))
            self.room.stamp(z[::2], h[::2])


def propose(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
    """One filigree for this ground, or None where a stem finds no way."""
    g = Growth(ground, hand, wish, rng)
    if not g.backbone():
        return None
    top = float(np.clip(g.room.wall.max() * 0.8, 4.0, 15.0 * wish.size))
    g.grow("scroll", 5.2, top, 14)
    g.leaf(7.0, 15.0, 8)
    g.grow("curl", 3.0, 5.2, 14)
    g.leaf(4.0, 9.0, 24)
    return finish(g)


def finish(g: Growth) -> Drawing:
    """Polygons, ends and notes of a growth."""
    lines, blacks, joints, ends = [], [], [], []
    for s in g.strokes:
        (blacks if s.what == "leaf" else lines).append(ink.body(s.z, s.half))
        if s.ball:
            lines.append(ink.ball(s))
        if s.root:
            ends.append(End(float(s.z[0].real), float(s.z[0].imag), s.root))
        ends.append(End(float(s.z[-1].real), float(s.z[-1].imag), s.end))
        if s.parent >= 0:
            w, at, span = ink.web(s, g.strokes[s.parent], 0.8)
            if w is not None:
                lines.append(w)
            joints.append([round(at.real, 3), round(at.imag, 3), round(span, 2)])
    for owner, z, h in g.lobes:
        blacks.append(ink.body(z, h))
        ends.append(End(float(z[-1].real), float(z[-1].imag), "tip"))
    line, black = shapely.union_all(lines), shapely.union_all(blacks)
    both = shapely.union_all([line, black])
    layers = [Layer("line", geometry_to_rings(line))]
    if not black.is_empty:
        layers.insert(0, Layer("black", geometry_to_rings(black)))
    notes = {"joints": joints, "spines": [[round(v, 2) for z in s.z[::5] for v in (z.real, z.imag)] for s in g.strokes]}
    return Drawing(geometry_to_rings(both), tuple(layers), tuple(ends), notes)
