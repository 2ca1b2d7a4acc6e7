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
from composer.compose.fit_samples import STEP_MM, Memo, Samples, key_of, samples_of
from composer.plan.scene import Laid

_ABOUT = 3
COARSE = 5
"""Every so many points of an outline are looked at first."""

SHEET = 300.0
"""Chart units are blown up to about mm while a geometry is made, since what is tiny counts as nothing there."""


@dataclass(frozen=True, eq=False)
class Body:
    """A piece on skin as the search wants it.

    `us` (n, 2) along its outline, unwrapped, ring after ring; `before`, `after` (n,) the neighbours of each
    point on its ring; `ut` (n, 2) the same in the chart; `tree` of `ut`; `cover` a geometry in the chart;
    `inner_us` (k, 2) spread over it. `coarse` (m,) every COARSE-th point of each ring, `stands_for` (n,) the
    one of them that each point follows; `starts` first point of each ring. `number`: its own. `girth`: the
    least that it lies on, mm.
    """

    us: np.ndarray
    before: np.ndarray
    after: np.ndarray
    ut: np.ndarray
    tree: cKDTree
    cover: shapely.Geometry
    inner_us: np.ndarray
    coarse: np.ndarray
    stands_for: np.ndarray
    starts: np.ndarray
    number: int
    girth: float

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Chart bounds: u, t, u, t."""
        (u0, t0), (u1, t1) = self.tree.mins, self.tree.maxes
        return u0, t0, u1, t1


_bodies: Memo[Body] = Memo()
_pairs: Memo[tuple[float]] = Memo(100_000)
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
    rings = [ut[a:b] for a, b in zip(start, stop, strict=True)]
    at = np.arange(n) - np.repeat(start, stop - start)
    first = at % COARSE == 0
    return Body(us, before, after, ut, cKDTree(ut), _cover(rings), laid.patch.to_skin(samples.inner),
                np.flatnonzero(first), np.cumsum(first) - 1, start, next(_numbers),
                float(chart_of(limb).girth(us[:, 1]).min()))


def _cover(rings: list[np.ndarray]) -> shapely.Geometry:
    out = rings_to_geometry([r * SHEET for r in rings])
    out = shapely.transform(out, lambda p: p / SHEET)
    shapely.prepare(out)
    return out


@dataclass(frozen=True)
class Apart:
    """Two pieces by their place in the list, `clearance_mm` between them (0 where they overlap)."""

    a: int
    b: int
    clearance_mm: float


def clearances(limb: Limb, laid: Sequence[Laid], reach_mm: float, only: int | None = None) -> list[Apart]:
    """Every pair of pieces nearer than `reach_mm`, each with its least clearance round the limb; with `only`
    those of one piece, by its place in the list."""
    chart = chart_of(limb)
    bodies = [body_of(limb, x) for x in laid]
    rows: list[tuple[int, int, int, int, int]] = []
    least: dict[tuple[int, int], float] = {}
    asked: dict[tuple[int, int], tuple[int, int, float]] = {}
    for a, x in enumerate(bodies):
        for b in range(a + 1, len(bodies)):
            if only not in (None, a, b):
                continue
            name = x.number, bodies[b].number, reach_mm
            if name in _pairs:
                least[a, b] = _pairs[name][0]
                continue
            asked[a, b] = name
            least[a, b] = np.inf
            for k in _turns(limb, x, bodies[b], reach_mm):
                found = _meet(chart, x, bodies[b], k, reach_mm)
                if found == (-1, -1):
                    least[a, b] = 0.0
                elif found is not None:
                    rows.append((a, b, k, *found))
    for (a, b, *_), d in zip(rows, _measure(chart, bodies, rows), strict=True):
        least[a, b] = min(least[a, b], float(d))
    for (a, b), name in asked.items():
        _pairs.put(name, (least[a, b],))
    return [Apart(a, b, d) for (a, b), d in sorted(least.items()) if d <= reach_mm]


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
    """Indices of the nearest points of x and y; (-1, -1) when they overlap, None out of reach."""
    shift = np.array([k, 0.0])
    r = _chart_reach(x, y, reach_mm)
    stride = 1.2 * COARSE * STEP_MM / x.girth  # paper may be stretched by some of it on skin
    (v0, r0, v1, r1), m = y.box, r + stride
    q = x.ut[x.coarse] - shift
    near = (q[:, 0] > v0 - m) & (q[:, 0] < v1 + m) & (q[:, 1] > r0 - m) & (q[:, 1] < r1 + m)
    rough = np.full(len(q), np.inf)
    if near.any():
        rough[near] = y.tree.query(q[near], distance_upper_bound=m)[0]
    least = float(rough.min())
    if not np.isfinite(least):
        return (-1, -1) if _inside(x, y, k) else None
    pick = np.flatnonzero((rough <= least + stride)[x.stands_for])
    p = x.ut[pick] - shift
    d, j = y.tree.query(p, distance_upper_bound=r)
    i = int(d.argmin())
    if not np.isfinite(d[i]):
        return (-1, -1) if _inside(x, y, k) else None
    c = float(chart.girth(x.us[pick[i], 1]))
    if d[i] * c < 4.0 or bool(shapely.contains_xy(y.cover, *p[i])) or _inside(x, y, k):
        here = shapely.transform(y.cover, lambda q: q + shift) if k else y.cover
        if shapely.intersects(x.cover, here):
            return -1, -1
    return int(pick[i]), int(j[i])


def _chart_reach(x: Body, y: Body, reach_mm: float) -> float:
    """A reach in the chart, told large: by the least girth that either lies on, and a waist between them."""
    return 1.1 * reach_mm / min(x.girth, y.girth)


def _inside(x: Body, y: Body, k: int) -> bool:
    """Whether a ring of one lies within the other, by one point of each ring."""
    (u, t), (v, r) = x.ut[x.starts].T, y.ut[y.starts].T
    return bool(shapely.contains_xy(y.cover, u - k, t).any()) or bool(shapely.contains_xy(x.cover, v + k, r).any())


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
