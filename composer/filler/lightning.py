"""Lightning: a bolt of wedges, long and short by turns, heavy at the root and needle-fine at the
tips, with branches from its outer corners. Below 80 mm of way it is a twig, below 16 mm nothing.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, End, Layer, geometry_to_rings
from composer.filler.clip import margin
from composer.filler.clip_memo import by_identity
from composer.filler.filigree_curves import even, smoothed
from composer.filler.filigree_room import Room, room_of, strength
from composer.filler.filigree_stem import Foot, feet_of, middle_way, rank_pairs
from composer.filler.ground import Ground, Wish
from composer.filler.lightning_bolt import GRID_MM, Bolt, crotches, hollow, in_ink, in_ink_roughly, shard, zigzag
from composer.filler.points import CLEAR_MM
from composer.plan.model import Hand

KIND = "lightning"
BOLT_MM = 80.0
LEAST_MM, SHORT_MM = 16.0, 30.0
PEEPS_MM2 = 0.01
PALE, LEAST_OPEN = 0.5, 0.4
"""In a paler hand than the first a wide bolt is a doubled outline, where at least so much of it is white."""
SHORTER = np.array([1.0, 0.75, 0.55, 0.4, 0.28, 0.2])
"""Lengths that are tried for a branch, as shares of what its place on the bolt asks for."""
LONG_MM, FAR_LEAST_MM = 84.0, 3.0
"""A way of this length holds a bolt. A bolt that meets no other neighbour ends where the wall is that far off."""


class Storm:
    """One lightning in the making."""

    def __init__(self, ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> None:
        self.ground, self.hand, self.wish, self.rng = ground, hand, wish, rng
        self.room: Room = room_of(ground).bare()
        self.gap = ground.line_gap_mm + 0.3
        self.tip = hand.tip_mm / 2 + 0.01
        self.bolts: list[Bolt] = []
        self.splinters: list[Bolt] = []
        self.ends: list[End] = []

    @property
    def visible(self) -> float:
        """Length of the main bolt without what is tucked, mm."""
        return self.bolts[0].length - (self.wish.tuck_mm if self.ends[0].how == "tucked" else 0.0)

    def clear(self, bolt: Bolt, skip_mm: float) -> bool:
        """Whether a bolt keeps to the free skin and, beyond `skip_mm`, clear of the others."""
        z, half = bolt.samples(0.5)
        wall, ink = self.room.look(z)
        run = np.arange(len(z)) * 0.5
        corner_wall = self.room.look_wall(bolt.corners)
        tips = bolt.z[[0, -1] if skip_mm < 0 else [-1]]
        return bool(np.all(self.room.look_wall(tips) > CLEAR_MM + 0.1)
                    and np.all(wall[run > 0.6 * skip_mm] > half[run > 0.6 * skip_mm] + 0.15)
                    and np.all(corner_wall > 0.15)
                    and np.all(ink[run > skip_mm] > half[run > skip_mm] + self.gap))

    def main(self) -> bool:
        """The main bolt from port to port, heavy end first."""
        for a, b in self.ways():
            way = middle_way(self.ground, a.at, b.at)
            bolt = self.along(way, a)
            if bolt is not None:
                self.bolts.append(bolt)
                bolt.stamp(self.room)
                how = "tucked" if a.owner else "tip"
                self.ends += [End(float(bolt.z[0].real), float(bolt.z[0].imag), how),
                              End(float(bolt.z[-1].real), float(bolt.z[-1].imag), "tip")]
                return True
        return False

    def ways(self) -> list[tuple[Foot, Foot]]:
        """From where to where a bolt may run, in the order of trying: first what holds a bolt, from behind one
        neighbour towards another, or else to the far end of the gap."""
        feet = feet_of(self.ground, self.room)
        ranked = [(feet[i], feet[j]) for _, i, j in rank_pairs(self.ground, feet)[:4]]
        if self.ground.ends:
            return ranked
        tries = [(b, a) if self.rng.random() < 0.5 else (a, b) for a, b in ranked]
        tries += [(f, Foot(far, (f.at - far) / max(abs(f.at - far), 1e-9), ""))
                  for f in feet if f.owner for far in [self.far_from(f.at)]]
        tries = [(b, a) if b.owner and not a.owner else (a, b) for a, b in tries]
        long = [len(middle_way(self.ground, a.at, b.at)) for a, b in tries]
        kept = [k for k, n in enumerate(long) if n >= LONG_MM][:3] or [int(np.argmax(long))] if tries else []
        order = [kept[k] for k in self.rng.permutation(len(kept))]
        order += [k for k in np.argsort([-n for n in long], kind="stable").tolist() if k not in order]
        loose = feet_of(dataclasses.replace(self.ground, ports=(), front=shapely.Polygon()), self.room)
        return [tries[k] for k in order] + [(loose[0], loose[1])]

    def far_from(self, at: complex) -> complex:
        """The roomy place of the gap that lies farthest from another."""
        roomy = self.room.wall > min(FAR_LEAST_MM, 0.55 * float(self.room.wall.max()))
        z = self.room.grid[roomy]
        return complex(z[int(np.argmax(np.abs(z - at)))])

    def along(self, way: np.ndarray, a: Foot) -> Bolt | None:
        """A bolt down a way that passes; ever slimmer and straighter until it does."""
        if np.abs(np.diff(way)).sum() < LEAST_MM * 0.8:
            return None
        way = even(way, max(8, int(np.abs(np.diff(way)).sum() / 0.5) + 1))
        wall = self.room.look_wall(way)
        inside = np.flatnonzero(wall > max(self.tip + 0.4, CLEAR_MM + 0.15))
        if len(inside) < 2 * LEAST_MM * 0.8:
            return None
        way, wall = way[: inside[-1] + 1], wall[: inside[-1] + 1]
        soft = min(8.0, len(way) / 12)
        way = smoothed(way, soft)
        way = even(way, max(8, int(np.abs(np.diff(way)).sum() / 0.5) + 1))
        length = len(way) * 0.5
        if length < LEAST_MM:
            return None
        wall = np.maximum(self.room.look_wall(way), 0.0)
        deep = float(np.median(wall))
        widest = min(0.034 * length, max(0.8, min(0.3 * deep, 4.6)))
        heavy = self.wish.weight * (0.4 + 0.6 * self.hand.outline_mm)
        for slim in (1.0, 0.8, 0.62, 0.48, 0.36):
            root = max(max(0.8 if length > SHORT_MM else 0.5, widest * slim) * heavy, 2.2 * self.tip)
            spare = np.maximum(wall - 1.6 * root * np.linspace(1, 0.2, len(wall)) - 0.4, 0.0) * (0.5 + 0.5 * slim)
            spare = np.minimum(spare, 0.16 * length)
            for _ in range(3):
                bolt = zigzag(way, spare, root, self.tip, self.rng, float(np.clip(0.2 * length, 6.0, 26.0)) *
                              self.wish.size, 25.0)
                if not a.owner:     # what comes from behind nothing comes to a point at both ends
                    bolt = Bolt(bolt.z, np.append(self.tip, bolt.half[1:]))
                if self.clear(bolt, max(4.0, 5.0 + 2.0 * root) if a.owner else 4.0):
                    if a.owner:
                        d = bolt.z[1] - bolt.z[0]
                        back = bolt.z[0] - d / abs(d) * self.wish.tuck_mm
                        if not shapely.contains_xy(self.ground.front, back.real, back.imag):
                            back = bolt.z[0] - a.out * self.wish.tuck_mm
                        bolt = Bolt(np.concatenate([[back], bolt.z]), np.concatenate([bolt.half[:1], bolt.half]))
                        if self.peeps_out(bolt):
                            continue
                    return bolt
        return None

    def peeps_out(self, bolt: Bolt) -> bool:
        """Whether a root that is tucked behind a piece shows between its parts (fingers, feathers) beyond the open
        skin: there it would be cut off."""
        root = Bolt(bolt.z[:2], bolt.half[:2]).parts()
        closed = out_of_view(self.ground.free, self.ground.front, self.ground.skin_break_mm)
        if shapely.covers(closed, root).all():
            return False
        return bool(shapely.difference(shapely.union_all(root), closed).area > PEEPS_MM2)

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
            if self.rng.random() > strength(self.ground, z[k : k + 1], self.wish.fade_mm)[0]:
                continue
            before, after = z[k] - z[k - 1], z[min(k + 1, len(z) - 1)] - z[k]
            turn = float(np.sign((np.conj(before) * after).imag))
            lo, hi = max(0, k - 2), min(len(z) - 1, k + 2)
            travel = (z[hi] - z[lo]) / abs(z[hi] - z[lo])
            left = total - run[k]
            lengths = SHORTER * share * (0.36 * left + 0.16 * total)
            lengths = lengths[lengths >= 7.0]
            for tilt in self.rng.permutation([22.0, 32.0, 42.0]):
                aim = travel * np.exp(-1j * turn * np.radians(tilt))
                for length in lengths[self.tips_clear(z[k] + aim * lengths)]:
                    way = even(np.array([z[k], z[k] + aim * length]), max(8, int(length / 0.5) + 1))
                    root = min(parent.half[k] * 0.6, 0.05 * length + 0.3)
                    twig = zigzag(way, np.full(len(way), 0.1 * length), max(root, self.tip), self.tip, self.rng,
                                  0.42 * length, 20.0)
                    skip = 4.5 + 2.0 * float(parent.half[k])
                    if twig.length > skip + 2.5 and self.clear(twig, skip):
                        made += 1
                        self.bolts.append(twig)
                        twig.stamp(self.room)
                        self.ends.append(End(float(twig.z[-1].real), float(twig.z[-1].imag), "tip"))
                        if depth == 0 and length > 24:
                            self.branches(twig, 1, 0.8, 1)
                        break
                else:
                    continue
                break

    def tips_clear(self, at: np.ndarray) -> np.ndarray:
        """Which places (n,) a tip may have (see `clear`)."""
        wall, ink = self.room.look(at)
        return (wall > CLEAR_MM + 0.1) & (ink > self.tip + self.gap)

    def scatter(self, most: int) -> None:
        """A few floating splinters beside the bolt, each along the leg that it has come off."""
        z, _ = self.bolts[0].samples(4.0)
        if len(z) < 6:
            return
        t = np.gradient(z)
        t /= np.abs(t)
        for k in self.rng.permutation(np.arange(2, len(z) - 1)):
            if len(self.splinters) >= most:
                return
            length = float(self.rng.uniform(7.0, 12.0))
            side = float(self.rng.choice([-1, 1]))
            aim = t[k] * np.exp(1j * side * np.radians(self.rng.uniform(0, 8)))
            mid = z[k] + 1j * side * t[k] * self.rng.uniform(4.5, 6.5)
            line = mid + aim * length * np.array([-0.5, -0.18, 0.5])
            bolt = Bolt(line, np.array([self.tip, 0.06 * length + 0.1, self.tip]))
            if self.clear(bolt, -1.0):
                self.splinters.append(bolt)
                self.room.stamp(*bolt.samples())
                self.ends += [End(float(p.real), float(p.imag), "tip") for p in line[[0, 2]]]


@by_identity
def out_of_view(free: BaseGeometry, front: BaseGeometry, skin_break_mm: float) -> BaseGeometry:
    """Where nothing of a tucked root shows: behind what lies in front, and the open skin it comes out on; prepared."""
    out = shapely.union(free, margin(front, skin_break_mm))
    shapely.prepare(out)
    return out


def propose(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
    """One lightning for this ground, or None where no bolt of 16 mm finds room."""
    storm = laid(ground, hand, wish, rng)
    if storm is None:
        return None
    storm.scatter(round(storm.visible / 90))
    ink = shapely.union_all([in_ink(storm.bolts), *(shard(s.z, s.half) for s in storm.splinters)], grid_size=GRID_MM)
    ink = shapely.set_precision(shapely.simplify(ink, 10 * GRID_MM), GRID_MM)
    white = opened(storm, ink)
    shown = ink.difference(white) if not white.is_empty else ink
    layers = (Layer("line" if not white.is_empty else "black", geometry_to_rings(shown)),)
    main = storm.bolts[0]
    notes = {"joints": crotches(ink, ground.line_gap_mm), "form": "bolt" if storm.visible >= BOLT_MM else "twig",
             "length_mm": round(storm.visible, 1),
             "spine": np.round(np.column_stack([main.z.real, main.z.imag]), 2).tolist()}
    return Drawing(geometry_to_rings(ink), layers, tuple(storm.ends), notes)


def sketch(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
    """The first pass of what `propose` draws of the same: bolt and branches, without the splinters beside them."""
    storm = laid(ground, hand, wish, rng)
    if storm is None:
        return None
    ink = in_ink_roughly(storm.bolts)
    white = opened(storm, ink)
    shown = ink.difference(white) if not white.is_empty else ink
    return Drawing.of(ink, (Layer.of("line" if not white.is_empty else "black", shown),), tuple(storm.ends))


def laid(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Storm | None:
    """Bolt and branches; None where no bolt of 16 mm finds room."""
    storm = Storm(ground, hand, wish, rng)
    if not storm.main():
        return None
    storm.branches(storm.bolts[0], round((1 + storm.visible / 34) * (0.4 + wish.density)), wish.size, 0)
    return storm


def opened(storm: Storm, ink: BaseGeometry) -> BaseGeometry:
    """The white inside a bolt that a pale hand draws as a doubled outline; empty where it is solid black."""
    ground, hand, line_mm = storm.ground, storm.hand, storm.hand.line_mm * storm.wish.weight
    if hand.dark >= PALE or 2 * storm.bolts[0].half[0] <= 2 * line_mm + 1.4 * ground.line_gap_mm:
        return shapely.Polygon()
    bolts = shapely.simplify(in_ink(storm.bolts), 10 * GRID_MM)
    white = hollow(bolts, line_mm, ground.line_gap_mm)
    # a doubled outline that closes up at once looks like a mistake: solid black instead
    return white if white.area >= LEAST_OPEN * ink.area else shapely.Polygon()
