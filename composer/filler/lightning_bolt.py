"""The parts of lightning: a bolt as a chain of wedges, how it zigzags, its shards, the white of a
doubled outline, its crotches."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import geometry_to_rings
from composer.filler.filigree_room import Room

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

    def spurs(self) -> np.ndarray:
        """The points of the spurs, complex; the first is the root, which has none."""
        d = np.diff(self.z)
        length = np.abs(d)
        out = self.z[:-1] - d / length * np.minimum(1.3 * self.half[:-1], 0.3 * length)
        out[0] = self.z[0]
        return out

    def stamp(self, room: Room) -> None:
        """Lay the bolt into a room."""
        z, half = self.samples()
        room.stamp(z, half)
        room.stamp(self.spurs(), np.full(len(self.z) - 1, 0.15))

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
        spur = self.spurs()
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


def hollow(body: BaseGeometry, line_mm: float, gap_mm: float) -> BaseGeometry:
    """The white inside a doubled outline: only where it is a line gap wide, so that it stays open.
    Its corners are as round as that gap; sharp ones would close up first."""
    r = gap_mm / 2 + 0.02
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
