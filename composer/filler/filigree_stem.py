"""The backbone of filigree: a stem that ties two ports, waves from side to side and leaves a
hollow for a scroll in every bend."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from scipy.sparse import coo_matrix, csr_matrix
from scipy.sparse.csgraph import dijkstra

from composer.filler.filigree_curves import clamped, counted, even, length_of, smoothed, up_to
from composer.filler.filigree_room import Room, room_of
from composer.filler.ground import Ground, Port

STEP_MM = 0.4
Way = Callable[[complex], np.ndarray]
"""From a place to the smooth way (complex, 1 mm steps) that leads on from it."""
EASY = 1.25
"""Radius of a stem's bends at the least, as a share of how far it swings."""
LOOSE = 0.3
"""By so much a way is worth less for each end that lies behind nothing."""
SHORE_MM, SHORE_LEAST_MM, SHORE_TUCK_MM = 0.4, 3.0, 2.4
SHORE_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92)
"""A part borders on the open skin within the skin break and the first, for the second at least; so far a stem runs
behind it at least; and where along the border it may (shares)."""


@dataclass(frozen=True)
class Foot:
    """Where a stem may start or end. `at` complex mm; `out` unit heading into the gap; `owner`
    of the neighbour, '' for a free end inside the gap."""

    at: complex
    out: complex
    owner: str


def feet_of(ground: Ground, room: Room, along: bool = True) -> list[Foot]:
    """The ports that lie on something in front, `along` with places on its border if there are fewer than two; else two
    places far apart along the flow. The ends that the artist pulled, where there are any."""
    if ground.ends:
        return [_pulled(p, room) for p in ground.ends]
    feet = []
    for p in ground.ports:
        if ground.front.is_empty or ground.front.distance(shapely.Point(p.x, p.y)) > 0.4:
            continue
        foot = Foot(complex(p.x, p.y), complex(np.exp(1j * np.radians(p.out_deg))), p.owner)
        if comes_out(foot, room):
            feet.append(foot)
    if along and len({f.owner for f in feet}) < 2:
        parts = shapely.get_parts(ground.front)
        held = {f"front-{i}" for f in feet
                for i in np.flatnonzero(shapely.dwithin(parts, shapely.Point(f.at.real, f.at.imag), 0.5))}
        feet += [f for f in shores(ground) if f.owner not in held]
    if len({f.owner for f in feet}) >= 2:
        return feet
    ok = room.wall > min(3.0, 0.55 * float(room.wall.max()))
    z = room.grid[ok]
    mid = z.mean()
    a = float(ground.flow(np.array([[mid.real, mid.imag]]))[0])
    along = ((z - mid) * np.exp(-1j * a)).real
    ends = [z[int(np.argmin(along))], z[int(np.argmax(along))]]
    feet += [Foot(complex(e), complex((mid - e) / max(abs(mid - e), 1e-9)), "") for e in ends]
    return feet


def comes_out(foot: Foot, room: Room) -> bool:
    """Whether a stem has room to come out there: within 12 mm the wall leaves it 1.5 mm."""
    return bool((room.look_wall(foot.at + np.arange(1.0, 12.0, 0.5) * foot.out) > 1.5).any())


@lru_cache(maxsize=48)
def shores(ground: Ground) -> tuple[Foot, ...]:
    """For each part of what lies in front that borders on the open skin a place where a stem can run behind it, the
    most roomy of a few along that border; `owner` numbers the parts."""
    room, out = room_of(ground), []
    for i, part in enumerate(shapely.get_parts(ground.front)):
        near = shapely.buffer(part, ground.skin_break_mm + SHORE_MM, quad_segs=4)
        border = shapely.line_merge(shapely.intersection(ground.free.boundary, near))
        border = max(shapely.get_parts(border), key=shapely.length, default=border)
        if border.geom_type != "LineString" or border.length < SHORE_LEAST_MM:
            continue
        rows = []
        for share in SHORE_SHARES:
            line = shapely.shortest_line(part, border.interpolate(share, normalized=True))
            a, b = np.asarray(line.coords) @ (1, 1j)
            foot = Foot(complex(a), complex((b - a) / max(abs(b - a), 1e-9)), f"front-{i}")
            behind = a - foot.out * np.array([0.2, 0.6, 1.0]) * SHORE_TUCK_MM
            if shapely.contains_xy(part, behind.real, behind.imag).all() and comes_out(foot, room):
                rows.append((float(room.look_wall(np.array([a + 9.0 * foot.out]))[0]), foot))
        if rows:
            out.append(max(rows, key=lambda row: row[0])[1])
    return tuple(out)


def _pulled(p: Port, room: Room) -> Foot:
    """An end where the artist put it; on a neighbour it comes out where there is room."""
    at, out = complex(p.x, p.y), complex(np.exp(1j * np.radians(p.out_deg)))
    walk = np.arange(1.0, 12.0, 0.5)
    held = p.owner and (room.look_wall(at + walk * out) > 1.5).any()
    return Foot(at, out, p.owner if held else "")


class Lattice:
    """Places `z` (n,) complex, and the cost (n, n) of stepping from one to the next. Searches are kept, since several
    stems that are weighed end at one place."""

    def __init__(self, z: np.ndarray, cost: csr_matrix) -> None:
        self.z, self._cost = z, cost
        self._found: dict[int, tuple[np.ndarray, np.ndarray]] = {}

    def ways_to(self, b: complex) -> Way:
        """From any place to the smooth way (complex, 1 mm steps) that leads on to b; empty where there is none."""
        z = self.z
        if len(z) < 4:
            return lambda _: np.zeros(0, complex)
        ib = int(np.argmin(np.abs(z - b)))
        if ib not in self._found:
            self._found[ib] = dijkstra(self._cost, indices=ib, return_predecessors=True)
        dist, before = self._found[ib]

        def way_from(a: complex) -> np.ndarray:
            ia = int(np.argmin(np.abs(z - a)))
            if not np.isfinite(dist[ia]):
                return np.zeros(0, complex)
            path = [ia]
            while path[-1] != ib:
                path.append(int(before[path[-1]]))
            return _smooth(np.concatenate([[a], z[path], [b]]))

        return way_from


@lru_cache(maxsize=48)
def _lattice(ground: Ground) -> Lattice:
    return lattice(room_of(ground), ground.flow)


def lattice(room: Room, flow: Callable[[np.ndarray], np.ndarray] | None) -> Lattice:
    """Coarse places inside a room and the cost of stepping between neighbours: dear
    near the wall and near ink, a little dearer across the flow if there is one."""
    step = max(1, round(2.0 / room.h))
    wall, grid = room.wall[::step, ::step], room.grid[::step, ::step]
    ok = wall > 1.2
    number = np.full(ok.shape, -1)
    number[ok] = np.arange(ok.sum())
    z, d = grid[ok], np.minimum(wall, np.maximum(room.ink[::step, ::step], 0.6))[ok]
    if not len(z):
        return Lattice(z, coo_matrix((0, 0)).tocsr())
    a = flow(np.column_stack([z.real, z.imag])) if flow is not None else np.zeros(len(z))
    rows, cols, vals = [], [], []
    for di, dj in ((0, 1), (1, 0), (1, 1), (1, -1)):
        src = number[: number.shape[0] - di, max(0, -dj) : number.shape[1] - max(0, dj)]
        dst = number[di:, max(0, dj) : number.shape[1] + min(0, dj)]
        both = (src >= 0) & (dst >= 0)
        s, t = src[both], dst[both]
        move = z[t] - z[s]
        across = np.abs(np.sin(np.angle(move) - a[s])) if flow is not None else 0.0
        cost = np.abs(move) * (1 + 0.5 * across) * (1 + (7.0 / (d[s] + d[t])) ** 2)
        rows += [s, t]
        cols += [t, s]
        vals += [cost, cost]
    n = len(z)
    return Lattice(z, coo_matrix((np.concatenate(vals), (np.concatenate(rows), np.concatenate(cols))), (n, n)).tocsr())


@lru_cache(maxsize=256)
def middle_way(ground: Ground, a: complex, b: complex) -> np.ndarray:
    """A smooth way (complex, 1 mm steps) through the middle of the gap from a to b; empty if
    there is none. Along the spine that the artist pulled, where there is one."""
    if len(ground.spine) > 1:
        line = np.array(ground.spine) @ (1, 1j)
        line = line if abs(line[0] - a) <= abs(line[0] - b) else line[::-1]
        return even(line, max(8, int(np.abs(np.diff(line)).sum())))
    return _lattice(ground).ways_to(b)(a)


def _smooth(way: np.ndarray) -> np.ndarray:
    a, b = way[0], way[-1]
    way = even(way, max(8, int(length_of(way))))
    s = min(6.0, len(way) / 8)
    way = smoothed(way, s)
    way = np.concatenate([[a], way, [b]])
    return even(way, max(8, int(length_of(way))))


def rank_pairs(ground: Ground, feet: Sequence[Foot]) -> list[tuple[float, int, int]]:
    """Pairs of feet with different owners, the best tie first: long, and along the flow."""
    return list(_ranked(ground, tuple(feet)))


@lru_cache(maxsize=48)
def _ranked(ground: Ground, feet: tuple[Foot, ...]) -> list[tuple[float, int, int]]:
    out = []
    for i in range(len(feet)):
        for j in range(i + 1, len(feet)):
            if feet[i].owner == feet[j].owner and feet[i].owner and not ground.ends:
                continue
            d = feet[j].at - feet[i].at
            m = (feet[j].at + feet[i].at) / 2
            a = float(ground.flow(np.array([[m.real, m.imag]]))[0])
            way = middle_way(ground, feet[i].at, feet[j].at)
            length = len(way) if len(way) else 0.0
            if length < 8:
                continue
            agree = abs(np.cos(np.angle(d) - a))
            tied = 1.0 - LOOSE * (not feet[i].owner) - LOOSE * (not feet[j].owner)
            out.append((float(length * (0.55 + 0.45 * agree) * tied), i, j))
    return sorted(out, reverse=True)


def wave(room: Room, way: np.ndarray, a: Foot, b: Foot, half_mm: float, lean: float, first: int,
         pitch: float, bend_mm: float) -> np.ndarray | None:
    """The waving stem from foot to foot along `way` (complex points 0.4 mm apart) or None.

    `lean` 0..1 how far it swings towards the wall, `first` side (+1 left) of the first bend,
    `pitch` half wave length as a share of what a sine of that swing needs, `bend_mm` the tightest bend.
    Tried with ever less swing where it comes too near the wall or bends too tightly.
    """
    d = np.maximum(room.look_wall(way), 1.0)
    d = smoothed(d, 3.0)
    s = np.zeros(len(way))
    np.abs(way[1:] - way[:-1]).cumsum(out=s[1:])
    t = np.gradient(way)
    t /= np.maximum(np.abs(t), 1e-9)
    # in a narrow channel the stem swings from wall to wall, so that its hollows hold something
    tilt = lean + (0.95 - lean) * np.clip((9.5 - d) / 4.0, 0.0, 1.0)
    swung = tilt * np.maximum(d - 1.5, 1.0)
    # a sine of this amplitude and tightest bend: half its wave length
    long = pitch * np.pi * np.sqrt(swung * np.maximum(1.25 * bend_mm, EASY * swung))
    rate = np.concatenate([[0.0], np.cumsum(np.diff(s) / long[1:])])
    bends = max(1, round(float(rate[-1])))
    at = np.interp((np.arange(bends) + 0.5) / bends * rate[-1], rate, s)
    idx = np.clip(np.searchsorted(s, at), 1, len(way) - 2)
    side = first * (-1.0) ** np.arange(bends)
    swing = np.ones(bends)
    for _ in range(9):
        off = side * swing * tilt[idx] * np.maximum(d[idx] - 1.5, 0.0)
        z = _through(np.concatenate([[a.at], way[idx] + 1j * t[idx] * off, [b.at]]), a, b)
        w = room.look_wall(z)
        bad = w < half_mm + 0.15
        if a.owner or b.owner:
            far, clear = counted(len(z)) * STEP_MM > 7.0, w > half_mm
            if a.owner:
                bad &= far | clear
            if b.owner:
                bad &= far[::-1] | clear
        bad |= _bend_radius(z) < bend_mm
        if not bad.any():
            return z
        # the bends next to the trouble swing less; where none is left to blame, all do
        near = np.abs(way[idx][:, None] - z[bad][None, :]).min(axis=1) < 1.3 * d[idx] + 4.0
        swing[near if near.any() and swing[near].max() > 0.05 else slice(None)] *= 0.6
        swing[swing < 0.08] = 0.0
    return None


def _through(knots: np.ndarray, a: Foot, b: Foot) -> np.ndarray:
    """A smooth curve (curvature continuous) from foot to foot near the knots, 0.4 mm steps."""
    apart = np.minimum(np.abs(knots - knots[0]), np.abs(knots - knots[-1]))
    keep = apart > 6.5
    keep[[0, -1]] = True
    knots = knots[keep]
    u = np.zeros(len(knots))
    (np.abs(knots[1:] - knots[:-1]) ** 0.75).cumsum(out=u[1:])
    v0 = _blend(a.out, knots[1] - knots[0]) * _speed(knots[:2], u[:2])
    v1 = _blend(-b.out, knots[-1] - knots[-2]) * _speed(knots[-2:], u[-2:])
    z = clamped(u, knots, v0, v1, up_to(u[-1], 40 * len(knots)))
    return even(z, max(12, int(length_of(z) / STEP_MM)))


def _blend(out: complex, chord: complex) -> complex:
    """Heading at a port: out of the neighbour, leaning towards where the stem is going."""
    v = out + 0.9 * chord / max(abs(chord), 1e-9)
    return v / max(abs(v), 1e-9)


def _speed(z: np.ndarray, u: np.ndarray) -> float:
    return float(abs(z[1] - z[0]) / max(u[1] - u[0], 1e-9))


def _bend_radius(z: np.ndarray) -> np.ndarray:
    """Radius of curvature at every point, mm."""
    t = z[1:] - z[:-1]
    turn = np.abs(np.angle(t[1:] / t[:-1]))
    r = np.empty(len(z))
    r[1:-1] = np.abs(t[1:]) / np.maximum(turn, 1e-6)
    r[0], r[-1] = r[1], r[-2]
    return r
