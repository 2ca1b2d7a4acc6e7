"""Arms of a symmetric filigree: stems that leave the one on the axis and run out to either side,
behind a neighbour on both sides where there is one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d
from scipy.sparse import coo_matrix

from composer.filler.filigree_curves import even
from composer.filler.filigree_fill import Growth
from composer.filler.filigree_grow import STEP_MM, Stroke
from composer.filler.filigree_mirror import HalfGap
from composer.filler.filigree_stem import lattice, shortest

ARMS, SMALL_MM2 = 2, 900.0
"""So many arms a side at most; one in a gap smaller than that."""
BENDS_MM = (8.0, 5.5, 3.8)
"""Radii with which an arm bends away from the stem, the widest that fits is taken."""
FAR_MM = 20.0
"""An arm goes to a place at least that far from the stem and from the arm before it."""
LONGEST_MM = 9.0
"""The longest way that an arm runs on over open skin beside the half until it is behind a neighbour."""


@dataclass(frozen=True)
class Goal:
    """Where an arm ends: `at` (complex mm) at the wall of the half, `out` the unit heading there;
    `run_mm` on until it is behind a neighbour on both sides, below 0 where there is none."""

    at: complex
    out: complex
    run_mm: float


def arms(g: Growth, half: HalfGap) -> int:
    """Grow the arms; their number on one side."""
    z, graph = lattice(g.room, None)
    if len(z) < 4:
        return 0
    goals = goals_of(g, half)
    done = 0
    taken = g.strokes[0].z
    for _ in range(ARMS if g.ground.free.area > SMALL_MM2 else 1):
        far = [float(np.abs(taken - q.at).min()) for q in goals]
        order = sorted(range(len(goals)), key=lambda k: -(min(far[k], 60.0) + (18.0 if goals[k].run_mm >= 0 else 0.0)))
        for k in [k for k in order if far[k] > min(FAR_MM, 0.5 * max(far))][:4]:
            s = arm(g, half, goals[k], (z, graph))
            if s is not None:
                g.add(s)
                taken = np.concatenate([taken, s.z])
                done += 1
                break
        else:
            break
    return done


def goals_of(g: Growth, half: HalfGap) -> list[Goal]:
    """Places all along the wall of the half."""
    wall = g.room.wall
    ok = (wall > 0.9) & (wall < 0.9 + 1.2 * g.room.h) & (g.room.grid.real > 5.0)
    at = g.room.grid[ok][:: max(1, int(ok.sum()) // 60)]
    if not len(at):
        return []
    h = g.room.h
    slope = (g.room.look_wall(at + h) - g.room.look_wall(at - h)) \
        + 1j * (g.room.look_wall(at + 1j * h) - g.room.look_wall(at - 1j * h))
    out = -slope / np.maximum(np.abs(slope), 1e-9)
    tuck = max(g.wish.tuck_mm, 1.0)
    runs = np.arange(1.0, LONGEST_MM, 0.5)
    run = np.full(len(at), -1.0)
    for r in runs[::-1]:
        hidden = np.ones(len(at), bool)
        for t in (r, r + 0.5 * tuck, r + tuck):
            q = at + out * t
            hidden &= shapely.contains_xy(half.front, q.real, q.imag) & shapely.contains_xy(half.over, q.real, q.imag)
        run[hidden] = r
    return [Goal(complex(a), complex(o), float(r)) for a, o, r in zip(at, out, run, strict=True)]


def straight_in(g: Growth, half: HalfGap, s: Stroke) -> bool:
    """Whether an arm goes in behind the neighbours once and does not come out again, on both sides."""
    if not s.tuck:
        return True
    last = round((s.tuck + 8.0) / STEP_MM)
    z, wide = s.z[-last:], s.half[-last:]
    points = shapely.points(z.real, z.imag)
    margin = g.ground.skin_break_mm + wide + 0.05
    for front in (half.front, half.over):
        parts = shapely.get_parts(front)
        behind = shapely.contains(parts, points[-1])
        if not behind.any():
            return False
        own = parts[int(np.argmax(behind))]
        near, inside = shapely.distance(points, own) < margin, shapely.contains(own, points)
        if not (near[int(np.argmax(near)) :].all() and inside[int(np.argmax(inside)) :].all()):
            return False
        beside = shapely.union_all(parts[~behind])
        if not beside.is_empty and np.any((shapely.distance(points, beside) < margin) & ~inside):
            return False
    return True


def arm(g: Growth, half: HalfGap, goal: Goal, ways: tuple[np.ndarray, coo_matrix]) -> Stroke | None:
    """One arm to a goal, from the place on the stem that suits it; None where nothing is clear."""
    stem = g.strokes[0]
    y = stem.z.imag
    low, high = half.root + 5.0, half.top - stem.bare * STEP_MM - 2.0
    used = [stem.z[s.joint].imag for s in g.strokes if s.parent == 0]
    first = float(np.clip(goal.at.imag - 0.5 * goal.at.real, low + 0.12 * (high - low), high))
    for start in sorted(np.arange(low, max(high, low + 0.1), 2.0), key=lambda v: abs(v - first)):
        if any(abs(start - u) < 9.0 for u in used):
            continue
        k = int(np.argmin(np.abs(y - start)))
        way = shortest(*ways, complex(stem.z[k] + BENDS_MM[1]), goal.at)
        for bend in BENDS_MM if len(way) > 3 else ():
            z = course(g, stem, k, goal, bend, way)
            s = _stroke(g, stem, k, z, goal) if z is not None else None
            if s is not None and straight_in(g, half, s):
                return s
    return None


def course(g: Growth, stem: Stroke, k: int, goal: Goal, bend_mm: float,
           way: np.ndarray) -> np.ndarray | None:
    """The centre line of an arm: an arc away from the stem, then along `way` through the middle of the
    half to the goal; None where it comes too near a wall, the axis or other ink."""
    start = 0.8 * float(stem.half[k])
    at = stem.z[k] + float(stem.half[k]) - start
    ahead = way[np.abs(way - at) > 1.8 * bend_mm]
    if not len(ahead):
        return None
    turn = float(np.clip(np.pi / 2 - np.angle(ahead[0] - at), 0.5, 2.4))
    a = np.linspace(0.0, turn, 18)
    arc = at + bend_mm * (1 - np.cos(a) + 1j * np.sin(a))
    on = np.exp(1j * (np.pi / 2 - turn))
    rest = way[(np.abs(way - arc[-1]) > 7.0) & (((way - arc[-1]) / on).real > -4.0)]
    rest = rest[np.abs(rest - goal.at) > 5.0]
    knots = rest[:: max(1, len(rest) // max(2, int(len(rest) / 11)))] if len(rest) else rest
    knots = np.concatenate([[arc[-1]], knots, [goal.at]])
    if len(knots) < 3 and abs(knots[-1] - knots[0]) < 3.0:
        return None
    u = np.concatenate([[0.0], np.cumsum(np.maximum(np.abs(np.diff(knots)), 0.5) ** 0.75)])
    v0 = on * abs(knots[1] - knots[0]) / (u[1] - u[0])
    v1 = goal.out * abs(knots[-1] - knots[-2]) / (u[-1] - u[-2])
    cs = CubicSpline(u, np.column_stack([knots.real, knots.imag]),
                     bc_type=((1, (v0.real, v0.imag)), (1, (v1.real, v1.imag))))
    p = cs(np.linspace(0, u[-1], 40 * len(knots)))
    z = np.concatenate([arc[:-1], p[:, 0] + 1j * p[:, 1]])
    length = float(np.abs(np.diff(z)).sum())
    z = even(z, max(24, int(length / STEP_MM)))
    return z if clear(g, stem, k, z) else None


def clear(g: Growth, stem: Stroke, k: int, z: np.ndarray) -> bool:
    """Whether an arm keeps to the half, off the axis and off other ink once it has left the stem,
    and never bends sharply."""
    run = np.arange(len(z)) * STEP_MM
    half = 0.8 * float(stem.half[k])
    wall, ink = g.room.look(z)
    end = run[-1] - run < 6.0
    off = run > 8.0
    if np.any((wall < half + 0.2) & ~end) or np.any(ink[off] < half + g.gap):
        return False
    if np.any(z.real[off] < half + g.gap / 2) or np.any(np.diff(z.real[run < 6.0]) < -0.02):
        return False
    t = np.diff(z)
    bent = gaussian_filter1d(np.abs(np.angle(t[1:] / t[:-1])), 2.0) / STEP_MM
    return bool(bent.max() < 1 / 2.6)


def _stroke(g: Growth, stem: Stroke, k: int, z: np.ndarray, goal: Goal) -> Stroke:
    """The arm as a stroke: behind the neighbour, or to a tip short of the wall."""
    start = 0.8 * float(stem.half[k])
    tuck = 0.0
    if goal.run_mm >= 0:
        tuck = goal.run_mm + g.wish.tuck_mm
        z = np.concatenate([z, z[-1] + goal.out * np.arange(STEP_MM, tuck, STEP_MM)])
    t = np.linspace(0, 1, len(z))
    half = np.maximum(start * (1.0 - 0.25 * t), g.fine)
    if goal.run_mm < 0:
        half = np.maximum(half * np.clip((1 - t) * 4, 0.0, 1.0) ** 0.8, g.fine)
    return Stroke(z, half, "stem", -1, 0, 0, k, end="tucked" if goal.run_mm >= 0 else "tip", tuck=tuck)
