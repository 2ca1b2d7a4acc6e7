"""Arms of a symmetric filigree: stems that leave the one on the axis and run out to either side,
behind a neighbour on both sides where there is one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from composer.filler.filigree_curves import Form, clamped, counted, even, length_of, smoothed, up_to
from composer.filler.filigree_fill import Growth
from composer.filler.filigree_grow import STEP_MM, Stroke
from composer.filler.filigree_mirror import HalfGap
from composer.filler.filigree_stem import Foot, Way, lattice, wave
from composer.filler.filigree_stock import SIZES_MM, ball_mm, longest_scroll

ARMS, SMALL_MM2 = 2, 900.0
"""So many arms a side at most; one in a gap smaller than that."""
BENDS_MM = (8.0, 5.5, 3.8)
"""Radii with which an arm bends away from the stem, the widest that fits is taken."""
TIGHTEST_MM = (5.0, 3.4)
"""Radii below which an arm must not bend: the first that some course keeps is taken."""
SPACED_MM, SOFT_MM = 14.0, 2.0
"""How far apart an arm's course follows the middle of the half, and over what length it is smoothed."""
VOLUTE_MM, VOLUTE_LEAD, VOLUTE_BACK_MM = (3.4, 11.0), 0.7, 34.0
"""Sizes of the scroll in which an arm ends that is behind nothing, its lead-in, how far from the wall it may begin."""
WAVES_MM, LEANS = 34.0, 0.55
"""The shortest way along which an arm waves, and how far it swings towards the walls."""
STARTS, STARTS_MM = 10, 3.0
"""An arm leaves the stem at one of so many places (half as many are tried for gentle bends), so far apart."""
SQUARE = 0.72
"""How squarely an arm has to go in behind a neighbour, as the cosine of what it is off."""
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
    goals = goals_of(g, half)
    ends = np.array([q.at for q in goals])
    done = 0
    taken = g.strokes[0].z
    for _ in range(ARMS if g.ground.free.area > SMALL_MM2 else 1):
        places = lattice(g.room, None)
        if len(places.z) < 4:
            return done
        far = np.abs(taken - ends[:, None]).min(axis=1).tolist() if goals else []
        order = sorted(range(len(goals)), key=lambda k: -(min(far[k], 60.0) + (18.0 if goals[k].run_mm >= 0 else 0.0)))
        tried = [(goals[k], Tried(places.ways_to(goals[k].at)))
                 for k in [k for k in order if far[k] > min(FAR_MM, 0.5 * max(far))][:4]]
        found = (arm(g, half, goal, before, tightest) for tightest in TIGHTEST_MM for goal, before in tried)
        s = next((s for s in found if s is not None), None)
        if s is None:
            break
        g.add(s)
        taken = np.concatenate([taken, s.z])
        done += 1
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
    hidden = np.ones((len(runs), len(at)), bool)
    for further in (tuck, 0.0, 0.5 * tuck):
        q = at + out * (runs[:, None] + further)
        for front in (half.front, half.over):
            shapely.prepare(front)
            hidden[hidden] = shapely.contains_xy(front, q.real[hidden], q.imag[hidden])
    for r, there in zip(runs[::-1], hidden[::-1], strict=True):
        run[there] = r
    return [Goal(complex(a), complex(o), float(r)) for a, o, r in zip(at, out, run, strict=True)]


def straight_in(g: Growth, half: HalfGap, s: Stroke) -> bool:
    """Whether an arm goes in behind the neighbours once and does not come out again, on both sides."""
    if not s.tuck:
        return True
    last = round((s.tuck + 8.0) / STEP_MM)
    z, wide = s.z[-last:], s.half[-last:]
    points = shapely.points(z.real, z.imag)
    margin = g.ground.skin_break_mm + wide + 0.05
    for parts in half.sides:
        behind = shapely.contains(parts, points[-1])
        if not behind.any():
            return False
        own = parts[int(np.argmax(behind))]
        inside = shapely.contains(own, points)
        if not inside[int(np.argmax(inside)) :].all():
            return False
        near = shapely.dwithin(own, points, margin)
        if not near[int(np.argmax(near)) :].all():
            return False
        if np.any(shapely.dwithin(parts[~behind], points[~inside, None], margin[~inside, None])):
            return False
    return True


class Tried:
    """What was tried for an arm to one goal. `way_from` leads there; `courses` from the place `k` on the stem with a
    bend and a side: None where it is no use, else the centre line and its sharpest bend (1/mm), which is too sharp
    for what was let so far."""

    def __init__(self, way_from: Way) -> None:
        self._way_from = way_from
        self._ways: dict[int, np.ndarray] = {}
        self.courses: dict[tuple[int, float, int], tuple[np.ndarray, float] | None] = {}

    def way(self, k: int, at: complex) -> np.ndarray:
        """The way to the goal from a place beside the stem at `k`."""
        if k not in self._ways:
            self._ways[k] = self._way_from(at)
        return self._ways[k]


def arm(g: Growth, half: HalfGap, goal: Goal, before: Tried, tightest_mm: float) -> Stroke | None:
    """One arm to a goal, from the place on the stem that suits it; None where nothing is clear."""
    stem = g.strokes[0]
    y = stem.z.imag
    low, high = half.root + 5.0, half.top - stem.bare * STEP_MM - 2.0
    used = [stem.z[s.joint].imag for s in g.strokes if s.parent == 0]
    first = float(np.clip(goal.at.imag - 0.5 * goal.at.real, low + 0.12 * (high - low), high))
    waved = 3
    starts = sorted(np.arange(low, max(high, low + 0.1), STARTS_MM), key=lambda v: abs(v - first))
    for start in starts[: STARTS if tightest_mm < TIGHTEST_MM[0] else STARTS // 2]:
        if any(abs(start - u) < 9.0 for u in used):
            continue
        k = int(np.argmin(np.abs(y - start)))
        way = before.way(k, complex(stem.z[k] + BENDS_MM[1]))
        if len(way) < 4:
            continue
        # an arm begins with the arc away from the stem, so that with a sharper one than is let it is no use
        tries = [(bend, 0) for bend in BENDS_MM if bend >= tightest_mm]
        if BENDS_MM[-1] >= tightest_mm and len(way) > WAVES_MM and waved > 0:
            tries, waved = [(BENDS_MM[-1], 1), (BENDS_MM[-1], -1), *tries], waved - 1
        for bend, side in tries:
            key = k, bend, side
            if key not in before.courses:
                z = course(g, stem, k, goal, bend, way, side)
                before.courses[key] = None if z is None else (z, sharpest(z))
            found = before.courses[key]
            if found is None or found[1] >= 1 / tightest_mm:
                continue
            before.courses[key] = None      # what is no use now is none where sharper bends are let
            s = _stroke(g, stem, k, found[0], goal) if clear(g, stem, k, found[0]) else None
            if s is not None and straight_in(g, half, s):
                return s
    return None


def course(g: Growth, stem: Stroke, k: int, goal: Goal, bend_mm: float, way: np.ndarray,
           side: int = 0) -> np.ndarray | None:
    """The centre line of an arm: an arc away from the stem, then along `way` through the middle of the
    half to the goal; None where they don't meet. With a `side` it waves along its way, the first bend to
    that side (+1 left)."""
    start = 0.8 * float(stem.half[k])
    at = stem.z[k] + float(stem.half[k]) - start
    ahead = np.abs(way - at) > 1.8 * bend_mm
    first = int(ahead.argmax())
    if not ahead[first]:
        return None
    turn = min(max(float(np.pi / 2 - np.angle(way[first] - at)), 0.5), 2.4)
    a = up_to(turn, 18)
    arc = at + bend_mm * (1 - np.cos(a) + 1j * np.sin(a))
    on = np.exp(1j * (np.pi / 2 - turn))
    rest = way[(np.abs(way - arc[-1]) > 7.0) & (((way - arc[-1]) / on).real > -4.0)]
    rest = rest[np.abs(rest - goal.at) > 5.0]
    if side:
        if len(rest) < WAVES_MM / 2:
            return None
        line = np.concatenate([[arc[-1]], rest, [goal.at]])
        line = even(line, max(12, int(length_of(line) / STEP_MM)))
        w = wave(g.room, line, Foot(complex(arc[-1]), complex(on), "stem"), Foot(goal.at, -goal.out, "wall"),
                 0.8 * float(stem.half[k]), LEANS, side, 1.0, 0.9 * bend_mm)
        if w is None:
            return None
        z = np.concatenate([arc[:-1], w])
        return softened(even(z, max(24, int(length_of(z) / STEP_MM))), SOFT_MM / STEP_MM)
    knots = rest[:: max(1, len(rest) // max(2, int(len(rest) / SPACED_MM)))] if len(rest) else rest
    knots = np.concatenate([[arc[-1]], knots, [goal.at]])
    if len(knots) < 3 and abs(knots[-1] - knots[0]) < 3.0:
        return None
    u = np.zeros(len(knots))
    (np.maximum(np.abs(knots[1:] - knots[:-1]), 0.5) ** 0.75).cumsum(out=u[1:])
    v0 = on * abs(knots[1] - knots[0]) / (u[1] - u[0])
    v1 = goal.out * abs(knots[-1] - knots[-2]) / (u[-1] - u[-2])
    z = np.concatenate([arc[:-1], clamped(u, knots, v0, v1, up_to(u[-1], 40 * len(knots)))])
    z = even(z, max(24, int(length_of(z) / STEP_MM)))
    return softened(z, SOFT_MM / STEP_MM)


def softened(z: np.ndarray, sigma: float) -> np.ndarray:
    """A path smoothed over so many vertices, but not where it leaves the stem; its end and its direction there stay."""
    n = int(4 * sigma)
    full = np.concatenate([2 * z[0] - z[n:0:-1], z, 2 * z[-1] - z[-2 : -n - 2 : -1]])
    soft = smoothed(full, sigma, "reflect")[n:-n]
    u = np.minimum(counted(len(z)) / (2 * n), 1.0)
    return z + (soft - z) * u * u * (3 - 2 * u)


def sharpest(z: np.ndarray) -> float:
    """The sharpest bend of a course, 1/mm."""
    t = z[1:] - z[:-1]
    return float((smoothed(np.abs(np.angle(t[1:] / t[:-1])), 2.0, "reflect") / STEP_MM).max())


def clear(g: Growth, stem: Stroke, k: int, z: np.ndarray) -> bool:
    """Whether an arm keeps to the half, off the axis and off other ink once it has left the stem."""
    run = np.arange(len(z)) * STEP_MM
    half = 0.8 * float(stem.half[k])
    wall, ink = g.room.look(z)
    end = run[-1] - run < 6.0
    off = run > 8.0
    return not (np.any((wall < half + 0.2) & ~end) or np.any(ink[off] < half + g.gap)
                or np.any(z.real[off] < half + g.gap / 2) or np.any(np.diff(z.real[run < 6.0]) < -0.02))


def _stroke(g: Growth, stem: Stroke, k: int, z: np.ndarray, goal: Goal) -> Stroke | None:
    """The arm as a stroke: straight on behind the neighbour, in a scroll, or to a tip short of the wall; None where it
    comes to the neighbour too slantingly."""
    start = 0.8 * float(stem.half[k])
    if goal.run_mm >= 0:
        on = (z[-1] - z[-3]) / abs(z[-1] - z[-3])
        square = float((on * np.conj(goal.out)).real)
        if square < SQUARE:
            return None
        tuck = goal.run_mm / square + g.wish.tuck_mm
        z = np.concatenate([z, z[-1] + on * np.arange(STEP_MM, tuck, STEP_MM)])
        half = np.maximum(start * (1.0 - 0.25 * np.linspace(0, 1, len(z))), g.fine)
        return Stroke(z, half, "stem", -1, 0, 0, k, end="tucked", tuck=tuck)
    wound = volute(g, z, start)
    if wound is not None:
        return Stroke(wound.z, wound.half, "stem", -1, 0, 0, k, end="ball", ball=wound.ball, eye=wound.side,
                      bare=wound.bare)
    t = np.linspace(0, 1, len(z))
    half = np.maximum(start * (1.0 - 0.25 * t), g.fine)
    return Stroke(z, np.maximum(half * np.clip((1 - t) * 4, 0.0, 1.0) ** 0.8, g.fine), "stem", -1, 0, 0, k)


def volute(g: Growth, z: np.ndarray, start: float) -> Stroke | None:
    """The arm along `z` ending in the largest scroll for which there is room at its end; None where there is none.
    Its curvature only grows, so that it lies in the disc of its first bend."""
    cuts = np.arange(len(z) - 4, max(len(z) // 3, len(z) - round(VOLUTE_BACK_MM / STEP_MM)), -4)
    if not len(cuts):
        return None
    t = (z[cuts + 1] - z[cuts - 1]) / np.abs(z[cuts + 1] - z[cuts - 1])
    for r in SIZES_MM:
        if not VOLUTE_MM[0] <= r <= VOLUTE_MM[1]:
            continue
        ball = ball_mm(r, g.k)
        form: Form = longest_scroll(r, VOLUTE_LEAD, g.nib, round(g.k, 4), g.gap)
        curl, share = form.cut(min(max(24, int(form.length * r / STEP_MM)), len(form.z)))
        heart = r * form.z[len(form.z) // 3 :].mean()
        for side in (1, -1):
            about = z[cuts] + t * (heart if side > 0 else heart.conjugate())
            wall, ink = g.room.look(about)
            fits = (wall > r + start + 0.2) & (ink > r + start + g.gap) & (about.real > r + start + g.gap / 2)
            for c, on in zip(cuts[fits], t[fits], strict=True):
                tail = z[c] + on * r * (curl if side > 0 else curl.conj())
                away = np.abs(tail[len(tail) // 4 :, None] - z[: max(1, c - 12) : 4]).min()
                if away < 2 * start + g.gap:
                    continue
                lead = start * (1.0 - 0.2 * np.linspace(0, 1, c))
                w = min(0.8 * start, float(g.nib.start(np.array(r), np.array(0.8 * start))))
                lead = np.minimum(lead, w + (start - w) * np.linspace(1, 0, c))
                half = np.concatenate([lead, g.nib.profile(np.array(w), np.array(r), share)])
                if wall_ok(g, tail, half[c:]):
                    return Stroke(np.concatenate([z[:c], tail]), np.maximum(half, g.fine), "stem", side, 0,
                                  end="ball", ball=ball, bare=len(tail))
    return None


def wall_ok(g: Growth, z: np.ndarray, half: np.ndarray) -> bool:
    """Whether a stroke keeps clear of wall, ink and axis at every vertex."""
    wall, ink = g.room.look(z)
    return bool(np.all(wall > half + 0.15) and np.all(ink > half + g.gap) and np.all(z.real > half + g.gap / 2))
