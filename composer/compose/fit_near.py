"""How near all pieces of a part lie to each other, in one go.

Points along the outlines are sought in the conformal chart, where the nearest is the nearest on
skin too; then the sides of the two outlines about the place found are measured against each other
by the girth there (within 0.02 mm of a patch laid at the place for clearances up to 20 mm).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count

import numpy as np
import shapely
from scipy.spatial import cKDTree

from composer.art.drawing import rings_to_geometry
from composer.body.limb import Limb
from composer.compose.chart import Chart, PanelChart, chart_of
from composer.compose.fit_samples import STEP_MM, Memo, Samples, box_of, key_of, samples_of
from composer.plan.scene import Laid

_ABOUT = 3
COARSE = 5
"""Every so many points of an outline are looked at first."""

CHART_ROOM = 1.1
"""By how much a reach is told large in the chart, for the waist that may lie between two pieces."""

WAVES_MM = (0.0, 6.0, 20.0, np.inf)
"""Pairs are looked at wave by wave, by how far their boxes are apart; what a wave finds cuts short the next."""

WAVE_ROOM = 1.3
"""By how much more than a piece's nearest so far is searched, since chart and skin differ."""

SHEET = 300.0
"""Chart units are blown up to about mm while a geometry is made, since what is tiny counts as nothing there."""


@dataclass(frozen=True, eq=False)
class Body:
    """A piece on skin as the search wants it.

    `us` (n, 2) along its outline, unwrapped, ring after ring; `before`, `after` (n,) the neighbours of each
    point on its ring; `ut` (n, 2) the same in the chart; `tree` of `ut`, its `box` u, t, u, t; `cover` a geometry in
    the chart; `inner_us` (k, 2) spread over it. `coarse` (m,) every COARSE-th point of each ring, `stands_for` (n,) the
    one of them that each point follows; `starts` first point of each ring. `number`: its own. `girth`: the
    least that it lies on, mm.
    """

    us: np.ndarray
    before: np.ndarray
    after: np.ndarray
    ut: np.ndarray
    tree: cKDTree
    box: tuple[float, float, float, float]
    cover: shapely.Geometry
    inner_us: np.ndarray
    coarse: np.ndarray
    stands_for: np.ndarray
    starts: np.ndarray
    number: int
    girth: float


_bodies: Memo[Body] = Memo()
_pairs: Memo[tuple[float, float]] = Memo(100_000)
"""Clearance of two pieces by their numbers, and how far it was looked for: inf lies beyond that."""

_numbers = count()


def body_of(limb: Limb, laid: Laid) -> Body:
    """A laid piece on its skin (kept)."""
    return _bodies.get_or((limb, key_of(laid)), lambda: make_body(limb, laid, samples_of(laid)))


def make_body(limb: Limb, laid: Laid, samples: Samples) -> Body:
    """The same, not kept: for one of many places that are tried."""
    us = laid.patch.to_skin(samples.edge)
    ut = chart_of(limb).to_chart(us)
    n = len(us)
    start = samples.ring_start
    stop = np.append(start[1:], n)
    before, after = np.arange(n) - 1, np.arange(n) + 1
    before[start], after[stop - 1] = stop - 1, start
    number = np.repeat(np.arange(len(start)), stop - start)
    at = np.arange(n) - start[number]
    first = at % COARSE == 0
    return Body(us, before, after, ut, cKDTree(ut, balanced_tree=False, compact_nodes=False), box_of(ut),
                _cover(ut, number, samples.shell), laid.patch.to_skin(samples.inner),
                np.flatnonzero(first), np.cumsum(first) - 1, start, next(_numbers),
                float(chart_of(limb).girth(us[:, 1]).min()))


def _cover(ut: np.ndarray, number: np.ndarray, shell: int | None) -> shapely.Geometry:
    """The area of rings `ut` (n, 2), `number` (n,) the ring of each point."""
    out = None
    if shell is not None:       # nested as on paper
        lines = shapely.linearrings(ut, indices=number)
        out = shapely.polygons(lines[shell], np.delete(lines, shell))
    if out is None or not shapely.is_valid(out):
        rings = np.split(SHEET * ut, np.flatnonzero(np.diff(number)) + 1)
        out = shapely.transform(rings_to_geometry(rings), lambda p: p / SHEET)
    shapely.prepare(out)
    return out


@dataclass(frozen=True)
class Apart:
    """Two pieces by their place in the list, `clearance_mm` between them (0 where they overlap)."""

    a: int
    b: int
    clearance_mm: float


def clearances(limb: Limb, laid: Sequence[Laid], reach_mm: float, only: int | None = None,
               nearest: bool = False) -> list[Apart]:
    """Every pair of pieces nearer than `reach_mm`, each with its least clearance round the limb; with `only`
    those of one piece, by its place in the list. `nearest`: all overlaps, each piece's nearest, and some others."""
    bodies = [body_of(limb, x) for x in laid]
    ways = _ways(limb, bodies, reach_mm, only)
    least: dict[tuple[int, int], float] = {}
    best = np.full(len(bodies), reach_mm)

    def reach(a: int, b: int) -> float:
        return min(reach_mm, 1.0 + WAVE_ROOM * max(best[a], best[b])) if nearest else reach_mm

    since = -1.0
    for until in WAVES_MM if nearest else (np.inf,):
        asked = [(a, b, reach(a, b)) for (a, b), w in ways.items() if since < w[0][0] <= until]
        since = until
        asked = [(a, b, r) for a, b, r in asked if r >= ways[a, b][0][0]]
        for (a, b, _), d in zip(asked, _apart(limb, bodies, asked, ways), strict=True):
            least[a, b] = d
            if d > 0:
                best[[a, b]] = np.minimum(best[[a, b]], d)
    return [Apart(a, b, d) for (a, b), d in sorted(least.items()) if d <= reach_mm]


def _ways(limb: Limb, bodies: Sequence[Body], reach_mm: float,
          only: int | None) -> dict[tuple[int, int], list[tuple[float, int]]]:
    """Pairs that may lie within reach: (at least so many mm apart by their boxes, whole turns to add to the second)
    for each way round, the nearest first."""
    box = np.array([x.box for x in bodies]).reshape(-1, 4)
    girth = np.array([x.girth for x in bodies])
    a, b = np.triu_indices(len(bodies), 1)
    if only is not None:
        mine = (a == only) | (b == only)
        a, b = a[mine], b[mine]
    (u0, t0, u1, t1), (v0, r0, v1, r1) = box[a].T, box[b].T
    least_girth = np.minimum(girth[a], girth[b]) / CHART_ROOM
    up = np.maximum(np.maximum(r0 - t1, t0 - r1), 0.0)
    most = int(np.ceil(np.ptp(box[:, [0, 2]]) + 1)) if limb.closed and len(a) else 0
    out: dict[tuple[int, int], list[tuple[float, int]]] = {}
    for k in range(-most, most + 1):
        mm = np.hypot(np.maximum(np.maximum(v0 + k - u1, u0 - v1 - k), 0.0), up) * least_girth
        for i in np.flatnonzero(mm <= reach_mm).tolist():
            out.setdefault((int(a[i]), int(b[i])), []).append((float(mm[i]), k))
    return {pair: sorted(ways) for pair, ways in out.items()}


def _apart(limb: Limb, bodies: list[Body], asked: Sequence[tuple[int, int, float]],
           ways: dict[tuple[int, int], list[tuple[float, int]]]) -> list[float]:
    """Clearance, mm, of each pair (a, b, reach); 0 where they overlap, inf beyond that reach."""
    chart = chart_of(limb)
    rows: list[tuple[int, int, int, int, int]] = []
    whose: list[int] = []
    out = [np.inf] * len(asked)
    new: list[int] = []
    for n, (a, b, r) in enumerate(asked):
        known = _pairs.get((bodies[a].number, bodies[b].number))
        if known is not None and (known[0] <= r or known[1] >= r):
            out[n] = known[0] if known[0] <= r else np.inf
            continue
        new.append(n)
        for mm, k in ways[a, b]:
            found = _meet(chart, bodies[a], bodies[b], k, r) if mm <= r else None
            if found == (-1, -1):
                out[n] = 0.0
                break
            if found is not None:
                rows.append((a, b, k, *found))
                whose.append(n)
    for n, d in zip(whose, _measure(chart, bodies, rows), strict=True):
        out[n] = min(out[n], float(d))
    for n in new:
        a, b, r = asked[n]
        out[n] = out[n] if out[n] <= r else np.inf
        _pairs.put((bodies[a].number, bodies[b].number), (out[n], r))
    return out


def clearance(limb: Limb, one: Body, others: Sequence[Body], reach_mm: float) -> float:
    """Least clearance, mm, of one piece to any of the others; inf beyond reach, 0 where it overlaps one."""
    chart = chart_of(limb)
    bodies = [one, *others]
    rows: list[tuple[int, int, int, int, int]] = []
    for b in range(1, len(bodies)):
        for k in _turns(limb, one, bodies[b], reach_mm):
            found = _meet(chart, one, bodies[b], k, reach_mm)
            if found == (-1, -1):
                return 0.0
            if found is not None:
                rows.append((0, b, k, *found))
    return float(_measure(chart, bodies, rows).min(initial=np.inf))


def _turns(limb: Limb, x: Body, y: Body, reach_mm: float) -> range:
    """Whole turns to add to y that may bring it within reach of x."""
    (u0, t0, u1, t1), (v0, r0, v1, r1) = x.box, y.box
    r = _chart_reach(x, y, reach_mm)
    if r0 > t1 + r or r1 < t0 - r:
        return range(0)
    if not limb.closed:
        return range(0, 1 if v0 - r <= u1 and v1 + r >= u0 else 0)
    return range(int(np.ceil(u0 - r - v1)), int(np.floor(u1 + r - v0)) + 1)


def _meet(chart: Chart, x: Body, y: Body, k: int, reach_mm: float) -> tuple[int, int] | None:
    """Indices of the nearest points of x and y, the second moved by k turns; (-1, -1) when they overlap, None out of
    reach."""
    if _overlap(x, y, k):
        return -1, -1
    shift = np.array([k, 0.0])
    r = _chart_reach(x, y, reach_mm)
    stride = 1.2 * COARSE * STEP_MM / x.girth  # paper may be stretched by some of it on skin
    v0, r0, v1, r1 = y.box
    q = x.ut[x.coarse] - shift
    u, t = q[:, 0], q[:, 1]
    off = np.hypot(np.maximum(np.maximum(v0 - u, u - v1), 0.0), np.maximum(np.maximum(r0 - t, t - r1), 0.0))
    least = min(r, float(y.tree.query(q[off.argmin()])[0]))     # where it lies at most, from one likely place
    near = np.flatnonzero(off <= least + stride)
    rough = np.full(len(q), np.inf)
    rough[near] = y.tree.query(q[near], distance_upper_bound=least + stride)[0]
    least = float(rough.min())
    if not np.isfinite(least):
        return None
    pick = np.flatnonzero((rough <= least + stride)[x.stands_for])
    d, j = y.tree.query(x.ut[pick] - shift, distance_upper_bound=min(r, least + 1e-9))
    i = int(d.argmin())
    return (int(pick[i]), int(j[i])) if np.isfinite(d[i]) else None


def _overlap(x: Body, y: Body, k: int) -> bool:
    """Whether two pieces lie over each other, the second moved by k turns."""
    (u0, t0, u1, t1), (v0, r0, v1, r1) = x.box, y.box
    if v0 + k > u1 or v1 + k < u0 or r0 > t1 or r1 < t0:
        return False
    there = shapely.transform(y.cover, lambda q: q + np.array([k, 0.0])) if k else y.cover
    return bool(shapely.intersects(x.cover, there))


def _chart_reach(x: Body, y: Body, reach_mm: float) -> float:
    """A reach in the chart, told large: by the least girth that either lies on, and a waist between them."""
    return CHART_ROOM * reach_mm / min(x.girth, y.girth)


def _measure(chart: Chart, bodies: list[Body], rows: Sequence[tuple[int, int, int, int, int]]) -> np.ndarray:
    """Least distance on skin, mm, between the stretches of both outlines about the points found."""
    if not rows:
        return np.zeros(0)
    one = np.array([_about(bodies[a], i) for a, _, _, i, _ in rows])
    two = np.array([_about(bodies[b], j) + np.array([k, 0.0]) for _, b, k, _, j in rows])
    origin = (one[:, _ABOUT] + two[:, _ABOUT]) / 2
    c = chart.girth(origin[:, 1])
    scale = np.stack([c, np.ones_like(c)], axis=1)[:, None]
    p, q = (one - origin[:, None]) * scale, (two - origin[:, None]) * scale
    if isinstance(chart, PanelChart):
        true = np.linalg.cholesky(chart.panel.metric(origin))
        p, q = p @ true, q @ true
    return np.minimum(_to_sides(p, q), _to_sides(q, p))


def _about(body: Body, i: int) -> np.ndarray:
    """Points (2 _ABOUT + 1, 2) of the outline about its i-th."""
    out = [i]
    for _ in range(_ABOUT):
        out = [int(body.before[out[0]]), *out, int(body.after[out[-1]])]
    return body.us[out]


def _to_sides(p: np.ndarray, q: np.ndarray) -> np.ndarray:
    """Least distance (m,) from points p (m, n, 2) to the sides between successive q (m, n, 2)."""
    a, side = q[:, None, :-1], np.diff(q, axis=1)[:, None]
    to = p[:, :, None] - a
    t = np.clip((to * side).sum(-1) / np.maximum((side * side).sum(-1), 1e-12), 0.0, 1.0)
    return np.sqrt(((to - t[..., None] * side) ** 2).sum(-1)).min(axis=(1, 2))
