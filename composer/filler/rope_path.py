"""Where a rope or a chain runs: from neighbour to neighbour through the middle of a gap, swaying where
there is room, and once more through what is left empty beside it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from scipy.ndimage import gaussian_filter1d
from shapely.geometry.base import BaseGeometry

from composer.filler.clip_memo import by_identity
from composer.filler.filigree_curves import even
from composer.filler.filigree_room import Room, room_of
from composer.filler.filigree_stem import Foot, feet_of, middle_way, rank_pairs
from composer.filler.ground import Ground, Wish

STEP_MM = 0.4
MOST = 3
"""So many ropes lie in one gap."""
STRAY = 16.0
"""A further rope is at least so many half widths long, longer where it ends in the open: no stubs."""


@dataclass(frozen=True)
class Run:
    """The middle of a rope: complex places STEP_MM apart; whether its start and its end run on behind a
    neighbour, else they end in the open."""

    z: np.ndarray
    tucked: tuple[bool, bool]

    @property
    def length_mm(self) -> float:
        """Length along the middle."""
        return (len(self.z) - 1) * STEP_MM


def runs_through(ground: Ground, wish: Wish, half_mm: float, sway: float, bend_mm: float,
                 rng: np.random.Generator) -> list[Run]:
    """Ropes of half width `half_mm` through the ground, the main one first: each keeps clear of the
    wall and of the ones before it and never bends tighter than `bend_mm`. `sway` 0..1."""
    free = ground.free
    if wish.fade_mm > 0 and not ground.edge.is_empty:
        free = shapely.difference(free, shapely.buffer(ground.edge, 0.35 * wish.fade_mm, quad_segs=3))
    first = 1 if rng.uniform() < 0.5 else -1
    most = 1 + round((MOST - 1) * wish.density)
    out: list[Run] = []
    todo = [max(shapely.get_parts(free), key=lambda p: _holding(ground, p))] if not free.is_empty else []
    while todo and len(out) < most:
        part = todo.pop(0)
        least = STRAY * half_mm if out else 0.0
        own = replace(ground, free=part) if not out else replace(ground, free=part, spine=(), ends=())
        run = main_run(own, wish, half_mm, sway if not own.spine else 0.0, bend_mm, first, least)
        if run is None:
            continue
        out.append(run)
        first = -first
        todo = sorted(todo + _left(part, run, half_mm, ground.line_gap_mm, 1.6 - wish.density), key=lambda p: -p.area)
    return out


def _holding(ground: Ground, part: BaseGeometry) -> float:
    """Of which part the main rope is: the largest, or that with most of the spine that the artist pulled."""
    if len(ground.spine) < 2:
        return float(part.area)
    return float(shapely.intersection(part, shapely.LineString(ground.spine)).length)


def _left(part: BaseGeometry, run: Run, half_mm: float, line_gap_mm: float, loose: float = 1.0) -> list[BaseGeometry]:
    """What a rope leaves of a ground that could hold one more, `loose` times as far away as usual."""
    line = shapely.LineString(np.column_stack([run.z.real, run.z.imag]))
    apart = half_mm + 2.2 * line_gap_mm * loose
    bare = shapely.difference(part, shapely.buffer(line, apart, quad_segs=4))
    wide = shapely.buffer(shapely.buffer(bare, -(half_mm + 2.0), quad_segs=3), half_mm + 2.0, quad_segs=3)
    inside = shapely.intersection(wide, bare)
    return [p for p in shapely.get_parts(inside) if p.area > (9.0 * half_mm) ** 2 * 0.5 * loose]


def main_run(ground: Ground, wish: Wish, half_mm: float, sway: float, bend_mm: float, first: int,
             least_mm: float = 0.0) -> Run | None:
    """The best rope of a ground: from one neighbour to another where that can be, long and with the flow;
    at least `least_mm` long, and more where it ends in the open."""
    room = room_of(ground).bare()
    if float(room.wall.max()) < half_mm + 1.0:
        return None
    cover = hidden(ground.front, ground.skin_break_mm)
    feet = [f for f in feet_of(ground, room, along=False)
            if not f.owner or depth(f, cover, half_mm, ground, wish) is not None]
    pairs = [(feet[i], feet[j]) for _, i, j in rank_pairs(ground, feet)][:4]
    loose = [hung(foot, ground) for foot in feet_of(replace(ground, ports=()), room, along=False)]
    loose = [f if not f.owner or depth(f, cover, half_mm, ground, wish) is not None else replace(f, owner="")
             for f in loose]
    for a, b in [*pairs, (loose[0], loose[1])]:
        way = middle_way(ground, a.at, b.at)
        if len(way) < 7.0 * half_mm:
            continue
        back = tuple((depth(f, cover, half_mm, ground, wish) or 0.0) if f.owner else 0.0 for f in (a, b))
        for lean in (sway, 0.4 * sway, 0.0):
            run = _swayed(room, way, a, b, half_mm, lean * first, bend_mm, back)
            if run is not None and run.length_mm >= (1.0 if all(run.tucked) else 1.4) * least_mm:
                ends = shapely.buffer(shapely.points(np.array([(p.real, p.imag) for p in run.z[[0, -1]]])), half_mm)
                if all(not t or cover.covers(e) for t, e in zip(run.tucked, ends, strict=True)):
                    return run
    return None


@by_identity
def hidden(front: BaseGeometry, skin_break_mm: float) -> BaseGeometry:
    """What lies behind the neighbours or within the skin break of them."""
    return shapely.buffer(front, skin_break_mm, quad_segs=4)


def depth(foot: Foot, cover: BaseGeometry, half_mm: float, ground: Ground, wish: Wish) -> float | None:
    """How far behind a neighbour (mm) a rope has to run until its end is hidden; None where the neighbour is
    too slight to hide one."""
    least = max(half_mm, wish.tuck_mm)
    for far in (least, least + 5.0, least + 11.0):
        end = foot.at - far * foot.out
        if cover.covers(shapely.Point(end.real, end.imag).buffer(half_mm + 0.5, quad_segs=3)):
            return float(far)
    return None


def hung(foot: Foot, ground: Ground, within_mm: float = 16.0) -> Foot:
    """A foot in the open, on the neighbour that stands in its way if one is near."""
    if ground.front.is_empty:
        return foot
    here = shapely.Point(foot.at.real, foot.at.imag)
    near = np.asarray(shapely.shortest_line(here, ground.front).coords) @ (1, 1j)
    out = foot.at - near[1]
    if abs(out) > within_mm or abs(out) < 1e-6 or (out / abs(out) * np.conj(foot.out)).real < 0.5:
        return foot
    return Foot(complex(near[1]), complex(out / abs(out)), "neighbour")


def _swayed(room: Room, way: np.ndarray, a: Foot, b: Foot, half_mm: float, lean: float, bend_mm: float,
            back_mm: tuple[float, ...]) -> Run | None:
    """The way swung from side to side as far as the walls allow, softened until it bends no tighter than
    `bend_mm` and pushed off the walls; with what runs on behind neighbours. None where that can't be had."""
    need = half_mm + 0.8
    deep = np.flatnonzero(room.look_wall(way) > need + 0.2)
    if not len(deep):
        return None
    way = way[0 if a.owner else deep[0] : len(way) if b.owner else deep[-1] + 1]
    if len(way) < 7.0 * half_mm:
        return None
    z = even(way, max(12, int(np.abs(np.diff(way)).sum() / STEP_MM) + 1))
    wall = gaussian_filter1d(np.maximum(room.look_wall(z), 0.0), 12.0, mode="nearest")
    s = np.arange(len(z)) * STEP_MM
    swing = max(5.0 * bend_mm, 9.0 * half_mm)
    bends = max(1.0, round(s[-1] / (0.5 * swing)))
    calm = np.clip(np.minimum(s, s[-1] - s) / (2.5 * half_mm + 4.0), 0, 1)
    t = np.gradient(z)
    z = z + 1j * t / np.maximum(np.abs(t), 1e-9) * lean * np.maximum(wall - need, 0) * calm * np.sin(
        np.pi * bends * s / s[-1])
    line = _with_tails(_soft(z, 1.2 * half_mm), a, b, back_mm, 2.2 * half_mm)
    for k in range(40):
        radius = _radius(line)
        tight = np.pad(1.0 * (radius < 1.25 * bend_mm), 3)
        open_ = _in_the_open(len(line), a, b, back_mm, 1.8 * half_mm + 6.0)
        if k > 2 and radius.min() > bend_mm and open_.any() and room.look_wall(line[open_]).min() > half_mm + 0.35:
            return Run(line, (bool(a.owner), bool(b.owner)))
        share = np.clip(6.0 * gaussian_filter1d(tight, 10.0), 0, 1)
        line = line + share * (_soft(line, 10.0) - line)
        line = _soft(line + _push(room, line, half_mm + 0.8) * gaussian_filter1d(1.0 * open_, 12.0), 2.0)
        line = even(line, max(12, int(np.abs(np.diff(line)).sum() / STEP_MM) + 1))
    return None


def _in_the_open(count: int, a: Foot, b: Foot, back_mm: tuple[float, ...], far_mm: float) -> np.ndarray:
    """Which places of a rope have to keep off the wall: all but those where it goes behind its neighbours."""
    s = np.arange(count) * STEP_MM
    return ((s > back_mm[0] + far_mm) | (not a.owner)) & ((s[-1] - s > back_mm[1] + far_mm) | (not b.owner))


def _with_tails(z: np.ndarray, a: Foot, b: Foot, back_mm: tuple[float, ...], cut_mm: float) -> np.ndarray:
    """The way with what lies hidden: it goes on behind a neighbour as it comes, though never aslant by more
    than 50 degrees."""
    k = max(2, min(round(cut_mm / STEP_MM), len(z) // 3))
    parts: list[Any] = [z]
    if a.owner:
        parts = [a.at - _heading(z[k] - a.at, a.out) * np.arange(back_mm[0], 0.2, -STEP_MM), [a.at], z[k:]]
    if b.owner:
        rest = parts.pop()
        parts += [rest[:-k], [b.at], b.at - _heading(z[-1 - k] - b.at, b.out) * np.arange(STEP_MM, back_mm[1], STEP_MM)]
    line = np.concatenate(parts)
    return even(line, max(12, int(np.abs(np.diff(line)).sum() / STEP_MM) + 1))


def _heading(d: complex, out: complex) -> complex:
    off = np.clip(np.angle(d / out), -np.radians(50), np.radians(50))
    return complex(out * np.exp(1j * off))


def _soft(z: np.ndarray, sigma: float) -> np.ndarray:
    """Smoothed with its ends where they were."""
    lead, rest = 2 * z[0] - z[1:61][::-1], 2 * z[-1] - z[-61:-1][::-1]
    w = np.concatenate([lead, z, rest])
    w = gaussian_filter1d(w.real, sigma, mode="nearest") + 1j * gaussian_filter1d(w.imag, sigma, mode="nearest")
    return w[len(lead) : len(lead) + len(z)]


def _push(room: Room, z: np.ndarray, need: float) -> np.ndarray:
    """How far places inside are moved off the wall that they are too near to."""
    w = room.look_wall(z)
    e = 0.8
    grad = (room.look_wall(z + e) - room.look_wall(z - e) + 1j * (room.look_wall(z + 1j * e)
                                                                  - room.look_wall(z - 1j * e))) / (2 * e)
    return np.where((w < need) & (w > 0.5), 0.4 * (need - w), 0.0) * grad


def _radius(z: np.ndarray) -> np.ndarray:
    """Radius of curvature along a path of even steps, mm."""
    d, dd = np.gradient(z), np.gradient(np.gradient(z))
    bend = np.abs((np.conj(d) * dd).imag) / np.maximum(np.abs(d) ** 3, 1e-12)
    return 1 / np.maximum(bend[3:-3], 1e-9)
