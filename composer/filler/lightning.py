"""Lightning: a bolt of wedges, long and short by turns, heavy at the root and needle-fine at the
tips, with branches from its outer corners. Below 80 mm of way it is a twig, below 16 mm nothing.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.ndimage import gaussian_filter1d
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, End, Layer, geometry_to_rings
from composer.filler.filigree_curves import even
from composer.filler.filigree_room import Room, room_of
from composer.filler.filigree_stem import Foot, feet_of, middle_way, rank_pairs
from composer.filler.ground import Ground, Wish
from composer.plan.model import Hand

KIND = "lightning"
BOLT_MM = 80.0
LEAST_MM = 16.0
BRANCH_DEG = 45.0


@dataclass(frozen=True)
class Bolt:
    """A chain of wedges: `z` (n,) complex corners in mm, `half` (n,) half widths there."""

    z: np.ndarray
    half: np.ndarray

    @property
    def length(self) -> float:
        """Along the corners, mm."""
        return float(np.abs(np.diff(self.z)).sum())

    def samples(self, step_mm: float = 0.8) -> tuple[np.ndarray, np.ndarray]:
        """Centre line and half widths, evenly spaced."""
        s = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(self.z)))])
        t = np.linspace(0, s[-1], max(4, int(s[-1] / step_mm)))
        return np.interp(t, s, self.z.real) + 1j * np.interp(t, s, self.z.imag), np.interp(t, s, self.half)

    def body(self) -> BaseGeometry:
        """The polygon: every leg a blade, widest just past its corner, with a spur that stands
        out at the corner and a slimmer heel where the next leg takes over."""
        d = np.diff(self.z)
        length = np.abs(d)
        d /= length
        hs, he = self.half[:-1], np.minimum(self.half[1:], self.half[:-1]) * 0.55
        he[-1] = self.half[-1]
        he = np.maximum(he, self.half[-1])
        n = 1j * d
        spur = self.z[:-1] - d * np.minimum(1.7 * hs, 0.3 * length)
        spur[0] = self.z[0]
        belly = self.z[:-1] + d * np.minimum(0.12 * length, hs)
        heel = self.z[1:] + d * np.where(np.arange(len(d)) < len(d) - 1, 0.35 * he, 0.0)
        ring = np.stack([spur, belly + n * hs, heel + n * he, heel - n * he, belly - n * hs], axis=1)
        ring[0, 0] = self.z[0] + n[0] * hs[0]
        ring = np.concatenate([ring, np.where(np.arange(len(d)) == 0, self.z[0] - n[0] * hs[0], spur)[:, None]], axis=1)
        return shapely.union_all(shapely.polygons(np.stack([ring.real, ring.imag], axis=2)))


def shard(z: np.ndarray, half: np.ndarray) -> BaseGeometry:
    """A splinter: a lozenge through three places, blunt only by the needle's width."""
    n = 1j * (z[2] - z[0]) / abs(z[2] - z[0])
    ring = np.array([z[0] + n * half[0], z[1] + n * half[1], z[2] + n * half[2],
                     z[2] - n * half[2], z[1] - n * half[1], z[0] - n * half[0]])
    return shapely.polygons(np.column_stack([ring.real, ring.imag]))


def zigzag(way: np.ndarray, room_mm: np.ndarray, root_half: float, tip_half: float, rng: np.random.Generator,
           largest_mm: float, slope_deg: float) -> Bolt:
    """A bolt along `way` (complex, 0.5 mm steps) with at most `room_mm` (same length) to each side.

    A long leg leans off the way by about `slope_deg`, a short one cuts back across it steeply;
    now and then two long legs follow each other and the saw changes hands.
    """
    s = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(way)))])
    total = float(s[-1])
    t = np.gradient(way)
    t /= np.maximum(np.abs(t), 1e-9)
    at, off, kind = [0.0], [0.0], ["start"]
    hand = float(rng.choice([-1.0, 1.0]))
    low = 0.0
    while True:
        done = at[-1] / total
        leg = largest_mm * (1.0 - 0.55 * done) * rng.uniform(0.8, 1.2)
        free = float(np.interp(min(at[-1] + leg, total), s, room_mm))
        slope = np.radians(slope_deg * rng.uniform(0.8, 1.25))
        swing = min(leg * np.sin(slope), 1.7 * max(free, 0.3))
        run = min(leg * np.cos(slope), max(swing / np.tan(slope), 3.5))
        if at[-1] + run > total - 3.0:
            break
        high = np.clip(low + hand * swing, -free, free)
        at.append(at[-1] + run)
        off.append(float(high))
        kind.append("long")
        if rng.random() < 0.22 and done > 0.1:
            hand, low = -hand, float(high)
            continue
        back = abs(high - low) * rng.uniform(0.85, 1.1)
        step = back / np.tan(np.radians(rng.uniform(52, 70))) + 0.4
        if at[-1] + step > total - 3.0:
            break
        free = float(np.interp(at[-1] + step, s, room_mm))
        low = float(np.clip(high - hand * back, -free, free))
        at.append(at[-1] + step)
        off.append(low)
        kind.append("short")
    at.append(total)
    off.append(0.0)
    kind.append("long")
    u = np.array(at)
    z = np.interp(u, s, way.real) + 1j * np.interp(u, s, way.imag)
    tt = np.interp(u, s, t.real) + 1j * np.interp(u, s, t.imag)
    z = z + 1j * tt / np.abs(tt) * np.array(off)
    share = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(z)))])
    share /= share[-1]
    half = tip_half + (root_half - tip_half) * (1 - share) ** 0.85
    # a leg is as heavy as it is long: `half` at its start
    legs = np.concatenate([np.abs(np.diff(z)), [0.0]])
    half = half * np.clip(0.62 + 0.5 * legs / max(float(legs.max()), 1e-9), 0.62, 1.12)
    half = np.maximum(half, tip_half)
    half[-1] = tip_half
    return Bolt(z, half)


class Storm:
    """One lightning in the making."""

    def __init__(self, ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> None:
        self.ground, self.hand, self.wish, self.rng = ground, hand, wish, rng
        self.room: Room = room_of(ground).bare()
        self.gap = ground.line_gap_mm + 0.3
        self.tip = hand.fine_mm / 2 + 0.01
        self.bolts: list[Bolt] = []
        self.splinters: list[Bolt] = []
        self.joints: list[list[float]] = []
        self.ends: list[End] = []

    def clear(self, bolt: Bolt, skip_mm: float) -> bool:
        """Whether a bolt keeps to the free skin and, beyond `skip_mm`, clear of the others."""
        z, half = bolt.samples(0.5)
        wall, ink = self.room.look(z)
        run = np.arange(len(z)) * 0.5
        corner_wall = self.room.look_wall(bolt.z[1:])
        return bool(np.all(wall[run > 0.6 * skip_mm] > half[run > 0.6 * skip_mm] + 0.15)
                    and np.all(corner_wall > 1.4 * bolt.half[1:] + 0.1)
                    and np.all(ink[run > skip_mm] > half[run > skip_mm] + self.gap))

    def main(self) -> bool:
        """The main bolt from port to port, heavy end first."""
        feet = feet_of(self.ground, self.room)
        pairs = rank_pairs(self.ground, feet)
        loose = feet_of(dataclasses.replace(self.ground, ports=()), self.room)
        tries = [(feet[i], feet[j]) for _, i, j in pairs[:4]] + [(loose[0], loose[1])]
        for a, b in tries:
            if self.rng.random() < 0.5:
                a, b = b, a
            way = middle_way(self.ground, a.at, b.at)
            bolt = self.along(way, a)
            if bolt is not None:
                self.bolts.append(bolt)
                z, half = bolt.samples()
                self.room.stamp(z, half)
                how = "tucked" if a.owner else "tip"
                self.ends += [End(float(bolt.z[0].real), float(bolt.z[0].imag), how),
                              End(float(bolt.z[-1].real), float(bolt.z[-1].imag), "tip")]
                return True
        return False

    def along(self, way: np.ndarray, a: Foot) -> Bolt | None:
        """A bolt down a way that passes; ever slimmer and straighter until it does."""
        if np.abs(np.diff(way)).sum() < LEAST_MM * 0.8:
            return None
        way = even(way, max(8, int(np.abs(np.diff(way)).sum() / 0.5) + 1))
        wall = self.room.look_wall(way)
        inside = np.flatnonzero(wall > self.tip + 0.4)
        if len(inside) < 2 * LEAST_MM * 0.8:
            return None
        way, wall = way[: inside[-1] + 1], wall[: inside[-1] + 1]
        soft = min(8.0, len(way) / 12)
        way = gaussian_filter1d(way.real, soft, mode="nearest") + 1j * gaussian_filter1d(way.imag, soft, mode="nearest")
        way = even(way, max(8, int(np.abs(np.diff(way)).sum() / 0.5) + 1))
        length = len(way) * 0.5
        if length < LEAST_MM:
            return None
        wall = np.maximum(self.room.look_wall(way), 0.0)
        deep = float(np.median(wall))
        for slim in (1.0, 0.8, 0.62, 0.48, 0.36):
            root = float(np.clip(0.034 * length * slim, 0.8, max(0.8, min(0.3 * deep, 4.6)))) * self.wish.weight
            root = max(root, 2.2 * self.tip)
            spare = np.maximum(wall - 1.6 * root * np.linspace(1, 0.2, len(wall)) - 0.4, 0.0) * (0.5 + 0.5 * slim)
            spare = np.minimum(spare, 0.16 * length)
            for _ in range(3):
                bolt = zigzag(way, spare, root, self.tip, self.rng, float(np.clip(0.2 * length, 6.0, 26.0)) *
                              self.wish.size, 25.0)
                if self.clear(bolt, 4.0):
                    if a.owner:
                        d = bolt.z[1] - bolt.z[0]
                        back = bolt.z[0] - d / abs(d) * self.wish.tuck_mm
                        bolt = Bolt(np.concatenate([[back], bolt.z]), np.concatenate([bolt.half[:1], bolt.half]))
                    return bolt
        return None

    def branches(self, parent: Bolt, most: int, share: float, depth: int) -> None:
        """Branches from the outer corners of a bolt, within 45 degrees of its travel."""
        z = parent.z
        total = parent.length
        corners = np.arange(2, len(z) - 1) if depth == 0 else np.arange(1, len(z) - 1)
        run = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(z)))])
        made = 0
        for k in self.rng.permutation(corners):
            if made >= most:
                return
            before, after = z[k] - z[k - 1], z[min(k + 1, len(z) - 1)] - z[k]
            turn = float(np.sign((np.conj(before) * after).imag))
            lo, hi = max(0, k - 2), min(len(z) - 1, k + 2)
            travel = (z[hi] - z[lo]) / abs(z[hi] - z[lo])
            left = total - run[k]
            for tilt in self.rng.permutation([22.0, 32.0, 42.0]):
                aim = travel * np.exp(-1j * turn * np.radians(tilt))
                for length in np.array([1.0, 0.75, 0.55, 0.4]) * share * (0.36 * left + 0.16 * total):
                    if length < 7.0:
                        break
                    way = even(np.array([z[k], z[k] + aim * length]), max(8, int(length / 0.5) + 1))
                    root = min(parent.half[k] * 0.72, 0.05 * length + 0.3)
                    twig = zigzag(way, np.full(len(way), 0.1 * length), max(root, self.tip), self.tip, self.rng,
                                  0.42 * length, 20.0)
                    skip = 4.5 + 2.0 * float(parent.half[k])
                    if twig.length > skip + 2.5 and self.clear(twig, skip):
                        made += 1
                        self.bolts.append(twig)
                        zz, half = twig.samples()
                        self.room.stamp(zz, half)
                        self.joints.append([round(z[k].real, 3), round(z[k].imag, 3), round(min(skip + 0.9, 7.0), 2)])
                        self.ends.append(End(float(twig.z[-1].real), float(twig.z[-1].imag), "tip"))
                        if depth == 0 and length > 24:
                            self.branches(twig, 1, 0.8, 1)
                        break
                else:
                    continue
                break

    def scatter(self, most: int) -> None:
        """Small floating splinters beside the bolt, along its travel."""
        z, _ = self.bolts[0].samples(4.0)
        if len(z) < 6:
            return
        t = np.gradient(z)
        t /= np.abs(t)
        smooth = gaussian_filter1d(t.real, 2.0) + 1j * gaussian_filter1d(t.imag, 2.0)
        for k in self.rng.permutation(np.arange(2, len(z) - 1)):
            if len(self.splinters) >= most:
                return
            length = float(self.rng.uniform(5.5, 9.5))
            side = float(self.rng.choice([-1, 1]))
            aim = smooth[k] / abs(smooth[k]) * np.exp(1j * side * np.radians(self.rng.uniform(8, 30)))
            mid = z[k] + 1j * side * smooth[k] / abs(smooth[k]) * self.rng.uniform(4.5, 7.0)
            line = mid + aim * length * np.array([-0.5, -0.18, 0.5])
            bolt = Bolt(line, np.array([self.tip, 0.085 * length + 0.1, self.tip]))
            if self.clear(bolt, -1.0):
                self.splinters.append(bolt)
                zz, half = bolt.samples()
                self.room.stamp(zz, half)
                self.ends += [End(float(p.real), float(p.imag), "tip") for p in line[[0, 2]]]


def hollow(body: BaseGeometry, line_mm: float, gap_mm: float) -> BaseGeometry:
    """The white inside a doubled outline: only where it is a line gap wide, so that it stays open."""
    inner = body.buffer(-line_mm, join_style="mitre")
    r = gap_mm / 2
    return inner.buffer(-r, join_style="mitre").buffer(r, join_style="mitre").intersection(inner)


def propose(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
    """One lightning for this ground, or None where no bolt of 16 mm finds room."""
    storm = Storm(ground, hand, wish, rng)
    if not storm.main():
        return None
    main = storm.bolts[0]
    visible = main.length - (wish.tuck_mm if storm.ends[0].how == "tucked" else 0.0)
    form = "bolt" if visible >= BOLT_MM else "twig"
    storm.branches(main, round((1 + visible / 34) * (0.4 + wish.density)), wish.size, 0)
    storm.scatter(round(visible / 45))
    bodies = [b.body() for b in storm.bolts]
    ink = shapely.union_all([*bodies, *(shard(s.z, s.half) for s in storm.splinters)])
    white = shapely.Polygon()
    if hand.dark < 0.75 and 2 * main.half[0] > 2 * hand.line_mm * wish.weight + 1.4 * ground.line_gap_mm:
        white = hollow(shapely.union_all(bodies), hand.line_mm * wish.weight, ground.line_gap_mm)
        # a doubled outline that closes up at once looks like a mistake: solid black instead
        if white.area < 0.25 * ink.area:
            white = shapely.Polygon()
    for b in storm.bolts:
        storm.joints += [[round(z.real, 3), round(z.imag, 3), round(2.4 + 1.5 * float(h), 2)]
                         for z, h in zip(b.z[1:-1], b.half[1:-1], strict=True)]
    shown = ink.difference(white) if not white.is_empty else ink
    layers = (Layer("line" if not white.is_empty else "black", geometry_to_rings(shown)),)
    notes = {"joints": storm.joints, "form": form, "length_mm": round(visible, 1),
             "spine": np.round(np.column_stack([main.z.real, main.z.imag]), 2).tolist()}
    return Drawing(geometry_to_rings(ink), layers, tuple(storm.ends), notes)
