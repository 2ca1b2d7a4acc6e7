"""The half of a gap that a symmetric filigree is drawn in: the skin that has its mirror image
in the gap, turned so that the mirror axis is the y axis, to the right of it; and the axes that
suit a gap, where none is asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from composer.filler.filigree_room import Room, room_of, skin_to_draw
from composer.filler.ground import Ground

LEAST_AXIS_MM = 9.0
STRIP_MM = 3.0
"""Half the width of a strip along an axis that shrinks along it as the whole gap does."""
PLACES, WEIGHED = 600, 40
"""At so many places it is asked whether a mirror image lies in the gap, and so many of the axes about which most does
are weighed."""
AS_GOOD, AS_ROOTED = 0.04, 0.07
"""An axis may be chosen instead of the best when the first less of the gap has its mirror image; one on which the stem
comes from behind a neighbour, when the second less has."""


@dataclass(frozen=True)
class Axis:
    """A mirror axis: a place on it (complex mm) and its direction in degrees; `share` of the gap
    that has its mirror image in the gap."""

    at: complex
    deg: float
    share: float = 1.0


@dataclass(frozen=True)
class HalfGap:
    """`skin` of the half (a little of the other half included: the axis is no wall), `root` and
    `top` of the stem on the axis (y in mm), `low` and `high` of the whole axis in it,
    `tucked` whether the root goes behind something in front. `at` (complex mm) and `turn_deg`:
    a place z of the gap is (z - at) turned by `turn_deg` in the half. `hides`: what lies in front, in the gap."""

    skin: BaseGeometry
    root: float
    top: float
    low: float
    high: float
    tucked: bool
    at: complex
    turn_deg: float
    hides: BaseGeometry

    @cached_property
    def front(self) -> BaseGeometry:
        """What lies in front on the right in the half."""
        return _turned(self.hides, self.at, self.turn_deg)

    @cached_property
    def over(self) -> BaseGeometry:
        """What lies in front on the left, mirrored to the right."""
        return affinity.scale(self.front, -1.0, 1.0, origin=(0, 0))

    @cached_property
    def sides(self) -> tuple[np.ndarray, np.ndarray]:
        """The parts of `front` and of `over`, prepared."""
        out = shapely.get_parts(self.front), shapely.get_parts(self.over)
        for parts in out:
            shapely.prepare(parts)
        return out

    @cached_property
    def room(self) -> Room:
        """The empty room of the half."""
        return Room(self.skin)

    def home(self, z: np.ndarray) -> np.ndarray:
        """Complex places of the half in the gap."""
        return np.asarray(z) * np.exp(-1j * np.radians(self.turn_deg)) + self.at

    def away(self, z: np.ndarray) -> np.ndarray:
        """Complex places of the gap in the half; those on the left are mirrored to the right."""
        w = (np.asarray(z) - self.at) * np.exp(1j * np.radians(self.turn_deg))
        return np.abs(w.real) + 1j * w.imag


@lru_cache(maxsize=32)
def half_of(ground: Ground, axis: Axis | None = None) -> HalfGap | None:
    """The right half (about the ground's own axis through the origin, unless another is given), or
    None if the axis does not run through the gap for 9 mm. Of the two ways up, the one in which the
    root can go behind a neighbour."""
    axis = axis or Axis(0j, float(ground.symmetry_deg or 0.0))
    turn = 90.0 - axis.deg
    up = _half(ground, axis.at, turn)
    if up is None or up.tucked or not _tucked(ground, axis.at, turn + 180.0, -up.top):
        return up
    down = _half(ground, axis.at, turn + 180.0)
    return down if down is not None and down.tucked else up


def rooted(ground: Ground, axis: Axis) -> bool | None:
    """Whether the root of the half about an axis goes behind a neighbour, or None where there is no half: told from a
    strip along the axis, which shrinks to within a hundredth of a millimetre of what `half_of` finds."""
    turn = 90.0 - axis.deg
    both = _both(ground, axis.at, turn)
    if both.is_empty:
        return None
    _, y0, _, y1 = both.bounds
    run = _run(shapely.clip_by_rect(both, -STRIP_MM, y0 - 1, STRIP_MM, y1 + 1), y0, y1)
    return run and (_tucked(ground, axis.at, turn, run[0]) or _tucked(ground, axis.at, turn + 180.0, -run[1]))


def _turned(shape: BaseGeometry, at: complex, turn: float) -> BaseGeometry:
    return affinity.rotate(affinity.translate(shape, -at.real, -at.imag), turn, origin=(0, 0))


@lru_cache(maxsize=8)
def _both(ground: Ground, at: complex, turn: float) -> BaseGeometry:
    """The skin that has its mirror image in the gap, turned so that the axis is the y axis."""
    free = _turned(skin_to_draw(ground), at, turn)
    return free.intersection(affinity.scale(free, -1.0, 1.0, origin=(0, 0)))


def _run(both: BaseGeometry, y0: float, y1: float) -> tuple[float, float] | None:
    """Where the longest run of the y axis in such skin, y0 to y1, begins and ends, None where it is too short."""
    axis = both.buffer(-0.8).intersection(LineString([(0, y0 - 5), (0, y1 + 5)]))
    run = max(getattr(axis, "geoms", [axis]), key=lambda g: g.length, default=axis)
    return (run.bounds[1], run.bounds[3]) if run.length >= LEAST_AXIS_MM else None


def _tucked(ground: Ground, at: complex, turn: float, low: float) -> bool:
    """Whether a stem that begins at (0, low) of such skin goes behind something in front."""
    below = 1j * (low - ground.skin_break_mm - 2.0) * np.exp(-1j * np.radians(turn)) + at
    return bool(shapely.contains_xy(ground.front, below.real, below.imag))


def _half(ground: Ground, at: complex, turn: float) -> HalfGap | None:
    both = _both(ground, at, turn)
    if both.is_empty:
        return None
    _, y0, x1, y1 = both.bounds
    run = _run(both, y0, y1)
    if run is None:
        return None
    low, high = run
    middle = Point(0, (low + high) / 2)
    parts = [p for p in getattr(both, "geoms", [both]) if p.distance(middle) < 0.1]
    kept = shapely.union_all(parts).intersection(box(-9.0, y0 - 1, x1 + 1, y1 + 1))
    return HalfGap(kept, low, high, y0 - 2, y1 + 2, _tucked(ground, at, turn, low), at, turn, ground.front)


@lru_cache(maxsize=32)
def axes_of(ground: Ground) -> tuple[Axis, ...]:
    """Axes about which most of the gap has its mirror image in the gap, the best first; those that
    hardly differ from a better one are left out."""
    room = room_of(ground)
    step = max(1, round(1.5 / room.h))
    grid, wall = room.grid[::step, ::step], room.wall[::step, ::step]
    z = grid[wall > 0.3]
    z = z[:: max(1, len(z) // PLACES)]
    if len(z) < 8:
        return ()
    middle = complex(z.mean())
    reach = 0.35 * float(np.abs(z - middle).max())
    tried = _axes(room, z, [(middle, d, o) for d in np.arange(0.0, 180.0, 10.0)
                            for o in np.linspace(-reach, reach, 9)])[:WEIGHED]
    fine = _axes(room, z, [(a.at, a.deg + d, o) for a in tried[:3] for d in (-5.0, -2.5, 0.0, 2.5, 5.0)
                           for o in (-1.5, 0.0, 1.5)])
    out: list[Axis] = []
    for a in sorted(fine + tried[3:], key=lambda a: -a.share):
        if all(abs((a.deg - b.deg + 90) % 180 - 90) > 15 for b in out):
            out.append(a)
    return tuple(out[:4])


def _axes(room: Room, z: np.ndarray, lines: Sequence[tuple[complex, float, float]]) -> list[Axis]:
    """The axes through places so many mm to the left of others, each (place, degrees, mm), with their shares, those
    with the greatest first."""
    at, deg, beside = (np.array(v) for v in zip(*lines, strict=True))
    way = np.exp(1j * np.radians(deg))
    on = at + beside * 1j * way
    mirrored = z.conj() * (way * way)[:, None]
    mirrored += (on - on.conj() * way * way)[:, None]
    share = [round(s, 4) for s in room.inside(mirrored).mean(axis=1).tolist()]
    return [Axis(complex(round(float(on[k].real), 2), round(float(on[k].imag), 2)), round(float(deg[k]), 1), share[k])
            for k in sorted(range(len(share)), key=lambda k: -share[k])[:WEIGHED]]


def chosen_half(ground: Ground, rng: np.random.Generator) -> tuple[HalfGap, Axis] | None:
    """The half about one of the axes that suit the gap nearly as well as the best; an axis whose stem comes from
    behind a neighbour may be a little worse than one on which it would stand loose."""
    found: list[tuple[bool, Axis]] = []
    best = -1.0
    for a in axes_of(ground):       # the best first: those behind it are looked at while they may be chosen
        behind = rooted(ground, a) if a.share > best - max(AS_GOOD, AS_ROOTED) else None
        if behind is not None:
            found, best = [*found, (behind, a)], max(best, a.share)
    good = [a for behind, a in found if behind and a.share > best - AS_ROOTED] \
        or [a for _, a in found if a.share > best - AS_GOOD]
    if not good:
        return None
    axis = good[int(rng.integers(len(good)))]
    half = half_of(ground, axis)
    return (half, axis) if half is not None else None
