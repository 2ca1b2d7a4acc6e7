"""Where the flow runs on from gap to gap, behind the pieces between."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from composer.compose.chart import Chart, PanelChart
from composer.compose.flow import Flow
from composer.compose.pockets import Pocket
from composer.compose.skin import Skin

STEP_MM = 4.0
REACH_MM = 160.0


@dataclass(frozen=True)
class Stream:
    """From gap to gap (keys) along the flow; `behind`: pieces it passes under, in order; `du`
    turns and `ds_mm` on the way; `length_mm` of the way."""

    start: str
    end: str
    behind: tuple[str, ...]
    du: float
    ds_mm: float
    length_mm: float


def find_streams(chart: Chart, flow: Flow, skin: Skin, pockets: Sequence[Pocket]) -> list[Stream]:
    """Follow the flow from the middle of every gap, both ways, to the next gap (within REACH_MM)."""
    if not pockets:
        return []
    paths = walk(chart, flow, np.repeat([p.centre for p in pockets], 2, axis=0), np.tile([1.0, -1.0], len(pockets)),
                 STEP_MM, int(REACH_MM / STEP_MM))
    n, m = paths.shape[:2]
    inside = np.full((n, m), -1)
    for k, p in enumerate(pockets):
        inside[p.holds(paths.reshape(-1, 2)).reshape(n, m)] = k
    out: dict[tuple[int, int, tuple[str, ...]], Stream] = {}
    for r in range(n):
        own = r // 2
        hits = np.flatnonzero((inside[r] >= 0) & (inside[r] != own))
        if not len(hits):
            continue
        stop = int(hits[0])
        k = int(inside[r, stop])
        behind = _behind(chart, skin, paths[r, : stop + 1])
        key = (min(own, k), max(own, k), tuple(sorted(behind)))
        if key not in out:
            du, ds = paths[r, stop] - paths[r, 0]
            out[key] = Stream(pockets[own].key, pockets[k].key, behind, float(du), float(ds), stop * STEP_MM)
    return list(out.values())


def walk(chart: Chart, flow: Flow, at: np.ndarray, sense: np.ndarray, step_mm: float, steps: int) -> np.ndarray:
    """Paths (n, steps + 1, 2) of (u, s) along the flow from places `at` (n, 2), the one way or the other (`sense`
    (n,), 1 or -1); each keeps on the way it set out. Stops at the borders."""
    out = [at]
    angle = flow.angle(at)
    way = np.column_stack([np.cos(angle), np.sin(angle)]) * sense[:, None]
    for _ in range(steps):
        a = flow.angle(at)
        d = np.column_stack([np.cos(a), np.sin(a)])
        d *= np.where((d * way).sum(axis=1) < 0, -1.0, 1.0)[:, None]
        way = d
        was = at
        at = at + d * step_mm / np.column_stack([chart.girth(at[:, 1]), np.ones(len(at))])
        if isinstance(chart, PanelChart):
            at = np.where(chart.panel.inside(at)[:, None], at, was)
        at[:, 1] = np.clip(at[:, 1], chart.s[0], chart.s[-1])
        out.append(at)
    return np.stack(out, axis=1)


def _behind(chart: Chart, skin: Skin, path: np.ndarray) -> tuple[str, ...]:
    ut = chart.to_chart(path)
    seen: dict[str, int] = {}
    for e in skin.edges[2:]:
        u0, t0, u1, t1 = e.box
        if ut[:, 1].max() < t0 or ut[:, 1].min() > t1:
            continue
        for k in range(int(np.ceil(u0 - ut[:, 0].max())), int(np.floor(u1 - ut[:, 0].min())) + 1):
            hit = np.flatnonzero(shapely.contains_xy(e.cover, ut[:, 0] + k, ut[:, 1]))
            if len(hit):
                seen[e.id] = min(int(hit[0]), seen.get(e.id, 1 << 30))
    return tuple(sorted(seen, key=lambda x: (seen[x], x)))
