"""The parts of lightning: a bolt as a chain of wedges, how it zigzags, its shards, the white of a
doubled outline, its crotches."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import geometry_to_rings
from composer.filler.closing import polygons_of, united
from composer.filler.filigree_room import Room

MITRE, WEDGE = 2.1, 0.6
"""The outer point of a corner stands out by so many half widths at most; how much narrower a leg ends than the next one
begins."""
GRID_MM = 0.001
STRAIGHT = 0.2
"""Sine of the turn below which one leg runs straight on into the next."""
SLENDER = 0.36
"""A bolt is at each corner no wider to either side than so much of the shorter leg."""
LEAST_WHITE_MM2 = 30.0
"""Smaller islands of white in a doubled outline are left black."""


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

    @cached_property
    def edges(self) -> tuple[np.ndarray, np.ndarray]:
        """The left and the right edge (n,) complex. Every leg is a blade, WEDGE as wide where it ends as the next one
        begins; legs meet where their edges do, in sharp corners no farther out than MITRE half widths."""
        d = np.diff(self.z)
        n = 1j * d / np.abs(d)
        last = np.append(np.maximum(WEDGE * self.half[1:-1], self.half[-1]), self.half[-1])
        out = []
        for side in (1.0, -1.0):
            start, end = self.z[:-1] + side * n * self.half[:-1], self.z[1:] + side * n * last
            way = end - start
            across = (np.conj(way[:-1]) * way[1:]).imag
            straight = np.abs((np.conj(d[:-1]) * d[1:]).imag) < STRAIGHT * np.abs(d[:-1] * d[1:])
            along = (np.conj(start[1:] - start[:-1]) * way[1:]).imag / np.where(straight, np.inf, across)
            meet = np.where(straight, start[1:], start[:-1] + along * way[:-1]) - self.z[1:-1]
            far = np.abs(meet)
            meet *= np.minimum(1.0, MITRE * self.half[1:-1] / np.maximum(far, 1e-9))
            out.append(np.concatenate([start[:1], self.z[1:-1] + meet, end[-1:]]))
        return out[0], out[1]

    @cached_property
    def corners(self) -> np.ndarray:
        """The outer points of its corners (n - 2,) complex."""
        d = np.diff(self.z)
        left, right = self.edges
        return np.where((d[1:] * np.conj(d[:-1])).imag < 0, left[1:-1], right[1:-1])

    def stamp(self, room: Room) -> None:
        """Lay the bolt into a room."""
        z, half = self.samples()
        room.stamp(z, half)
        if len(self.z) > 2:
            at = self.corners
            room.stamp(at, np.full(len(at), 0.15))

    def body(self) -> BaseGeometry:
        """The polygon: legs that grow finer from root to tip and meet in sharp corners, nowhere finer than its tip."""
        return in_ink([self])

    def parts(self) -> np.ndarray:
        """The polygons (k,) that make it: its legs, and the finest stroke along each."""
        left, right = self.edges
        d = np.diff(self.z)
        tip = float(self.half.min()) * d / np.abs(d)
        a, b, n = self.z[:-1] - tip, self.z[1:] + tip, 1j * tip
        b[-1] -= tip[-1]
        quads = np.concatenate([np.stack([left[:-1], left[1:], right[1:], right[:-1]], axis=1),
                                np.stack([a + n, b + n, b - n, a - n], axis=1)])
        return shapely.polygons(np.stack([quads.real, quads.imag], axis=2))


def in_ink(bolts: Sequence[Bolt]) -> BaseGeometry:
    """Bolts as one area."""
    # without a grid GEOS 3.14 loses a leg here and there: they share edges
    return shapely.union_all(_parts(bolts), grid_size=GRID_MM)


def in_ink_roughly(bolts: Sequence[Bolt]) -> BaseGeometry:
    """The same to within a needle's width in a fraction of the time: each bolt as one ring along both edges, leg by leg
    only where that crosses itself."""
    rings = [np.concatenate([left, right[::-1]]) for left, right in (b.edges for b in bolts)]
    z = np.concatenate(rings)
    whole = polygons_of(np.column_stack([z.real, z.imag]), [len(r) for r in rings])
    sound = shapely.is_valid(whole)
    crossed = [b for b, fine in zip(bolts, sound, strict=True) if not fine]
    return united([*whole[sound], *(_parts(crossed) if crossed else ())])


def _parts(bolts: Sequence[Bolt]) -> np.ndarray:
    parts = np.concatenate([b.parts() for b in bolts])
    crossed = ~shapely.is_valid(parts)
    parts[crossed] = shapely.make_valid(parts[crossed])
    return parts


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
    at, off = [0.0], [0.0]
    hand = float(rng.choice([-1.0, 1.0]))
    low = 0.0
    room = between(s, room_mm)
    while True:
        done = at[-1] / total
        leg = largest_mm * (1.0 - 0.55 * done) * rng.uniform(0.8, 1.2)
        free = room(min(at[-1] + leg, total))
        slope = np.radians(slope_deg * rng.uniform(0.8, 1.25))
        swing = min(leg * np.sin(slope), 1.7 * max(free, 0.3))
        run = min(leg * np.cos(slope), max(swing / np.tan(slope), 3.5))
        if at[-1] + run > total - 3.0:
            break
        high = np.clip(low + hand * swing, -free, free)
        at.append(at[-1] + run)
        off.append(float(high))
        if rng.random() < 0.22 and done > 0.1:
            hand, low = -hand, float(high)
            continue
        back = abs(high - low) * rng.uniform(0.85, 1.1)
        step = back / np.tan(np.radians(rng.uniform(52, 70))) + 0.4
        if at[-1] + step > total - 3.0:
            break
        free = room(at[-1] + step)
        low = float(np.clip(high - hand * back, -free, free))
        at.append(at[-1] + step)
        off.append(low)
    at.append(total)
    off.append(0.0)
    u = np.array(at)
    z = np.interp(u, s, way.real) + 1j * np.interp(u, s, way.imag)
    tt = np.interp(u, s, t.real) + 1j * np.interp(u, s, t.imag)
    z = z + 1j * tt / np.abs(tt) * np.array(off)
    share = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(z)))])
    share /= share[-1]
    half = tip_half + (root_half - tip_half) * (1 - share) ** 0.85
    # no heavier than the legs that meet there are long, or its corners run into one another
    legs = np.abs(np.diff(z))
    short = np.minimum(np.append(legs, legs[-1]), np.insert(legs, 0, legs[0]))
    half = np.maximum(np.minimum(half, SLENDER * short), tip_half)
    half[-1] = tip_half
    return Bolt(z, half)


def between(at: np.ndarray, values: np.ndarray) -> Callable[[float], float]:
    """What `np.interp` reads at one place, to the last bit; it takes as long for one as for hundreds."""
    x, y = at.tolist(), values.tolist()
    last = len(x) - 1

    def read(where: float) -> float:
        k = bisect_right(x, where) - 1
        if k < 0:
            return y[0]
        if k >= last:
            return y[last]
        return (y[k + 1] - y[k]) / (x[k + 1] - x[k]) * (where - x[k]) + y[k]

    return read


def hollow(body: BaseGeometry, line_mm: float, gap_mm: float) -> BaseGeometry:
    """The white inside a doubled outline: only where it is a line gap wide, so that it stays open.
    Its corners are as round as that gap; sharp ones would close up first."""
    r = gap_mm / 2 + 0.02
    with np.errstate(divide="ignore", invalid="ignore"):    # GEOS mitres legs that run straight on with a division by 0
        white = body.buffer(-line_mm - r, join_style="mitre").buffer(r, quad_segs=12)
        # no cusps of ink where it narrows, but never into the outline
        white = white.buffer(0.35, quad_segs=8).buffer(-0.35, quad_segs=8)
        white = white.intersection(body.buffer(-line_mm, join_style="mitre"))
    return shapely.union_all([p for p in getattr(white, "geoms", [white]) if p.area > LEAST_WHITE_MM2])


def crotches(ink: BaseGeometry, gap_mm: float) -> list[list[float]]:
    """The sharp inner corners of the ink, [x, y, radius]: there two limbs of a joint meet, and up
    to where they stand a line gap apart it is narrower."""
    out = []
    for ring in geometry_to_rings(ink):
        z = ring[:, 0] + 1j * ring[:, 1]
        area = float((np.conj(z) * np.roll(z, -1)).imag.sum())
        before, after = z - np.roll(z, 1), np.roll(z, -1) - z
        turn = np.angle(after * np.conj(before)) * np.sign(area)
        for k in np.flatnonzero(turn < -0.3):
            opening = max(np.pi + turn[k], 0.3)
            reach = np.clip(gap_mm / 2 / np.tan(opening / 2) + 1.0, 2.6, 5.2)
            out.append([round(float(z[k].real), 3), round(float(z[k].imag), 3), round(float(reach), 2)])
    return out
