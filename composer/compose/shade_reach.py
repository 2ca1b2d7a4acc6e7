"""How far skin lies on the shaded side of a line that the artist drew.

A line that runs more round a limb than along it goes on round the limb until it meets itself; one that runs more along
the limb goes on to both its ends, and shades the half turn beside it. One that comes back to where it began goes round
a patch of skin. On chest and back a line goes on straight to the edges. So every line has two sides, whatever was
drawn of it, and nothing depends on where the sheet is cut.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.surface import Surface
from composer.compose.chart import Chart, chart_of
from composer.plan.shade_lines import ShadeLine

STEP_MM = 2.0
SHUT_MM = 15.0
"""A line whose ends lie so near each other, and that is four times as long, goes round a patch of skin."""
FAR_MM = 1200.0
HALF_TURN = 0.5


@dataclass(frozen=True, eq=False)
class Reach:
    """The shaded side of one line. `shaded`: its area in (u times `turn_mm`, s), about the line's own u; `at` (m, 2)
    points of (u, s) along its border, `after` (m,) whether the next point is joined to each, `tree` of them in the
    chart. `borders`: the border as lines (n, 2) of (u, s) to be drawn, the first one that of the line itself."""

    chart: Chart
    closed: bool
    turn_mm: float
    middle_u: float
    shaded: BaseGeometry
    side: int
    at: np.ndarray
    after: np.ndarray
    tree: cKDTree
    borders: tuple[np.ndarray, ...]

    def inside(self, us: np.ndarray) -> np.ndarray:
        """Which of the skin points (n, 2) of (u, s) are on the shaded side."""
        us = np.asarray(us, float)
        u = us[:, 0] - np.round(us[:, 0] - self.middle_u) if self.closed else us[:, 0]
        return shapely.contains_xy(self.shaded, u * self.turn_mm, us[:, 1]) == (self.side > 0)

    def depth_mm(self, us: np.ndarray) -> np.ndarray:
        """How far (n,) within the shaded side skin points (n, 2) lie, mm on skin by the girth (or metric) half way;
        negative on the other side."""
        us = np.asarray(us, float)
        if self.closed:
            us = np.column_stack([us[:, 0] - np.round(us[:, 0] - self.middle_u), us[:, 1]])
        ut = self.chart.to_chart(us)
        _, i = self.tree.query(ut)
        edge = self.chart.to_chart(self.at)
        far = np.full(len(us), np.inf)
        for a in (i, np.maximum(i - 1, 0)):
            b = np.where(self.after[a], np.minimum(a + 1, len(edge) - 1), a)
            way = edge[b] - edge[a]
            size = np.maximum((way * way).sum(axis=1), 1e-15)
            share = np.clip(((ut - edge[a]) * way).sum(axis=1) / size, 0.0, 1.0)
            near = self.at[a] + share[:, None] * (self.at[b] - self.at[a])
            far = np.minimum(far, self.chart.distance(us, near))
        return np.where(self.inside(us), far, -far)


def reach_of(limb: Surface, line: ShadeLine) -> Reach:
    """The shaded side of a line on a limb, chest or back."""
    chart, at = chart_of(limb), np.array(line.points, float)
    middle = float(at[:, 0].min() + at[:, 0].max()) / 2
    turn = float(limb.girth(float(at[:, 1].mean())))
    run = at[-1] - at[0]
    long = float(np.hypot(*(np.diff(at, axis=0) * (turn, 1.0)).T).sum())
    if np.hypot(run[0] * turn, run[1]) <= SHUT_MM < long / 4:
        ring = np.concatenate([at, at[:1]])
        return _made(chart, limb.closed, turn, middle, [ring], _area(ring, turn), _left_turning(ring) * line.side)
    across = abs(run[0]) * turn >= abs(run[1])
    if not limb.closed:
        return _on_panel(chart, turn, middle, at, across, line.side)
    if across:
        sense = 1.0 if run[0] >= 0 else -1.0
        kept = at[np.abs(at[:, 0] - at[0, 0]) < 0.97] if abs(run[0]) >= 0.97 else at
        whole = np.concatenate([kept, [at[0] + (sense, 0.0)]])
        middle = float(whole[0, 0] + whole[-1, 0]) / 2
        rows = np.concatenate([_moved(whole[:-1], -sense), whole[:-1], _moved(whole, sense)])
        top = [(rows[-1, 0], FAR_MM), (rows[0, 0], FAR_MM)]
        return _made(chart, True, turn, middle, [rows], _area(np.concatenate([rows, top]), turn),
                     int(sense) * line.side, whole)
    up = 1 if run[1] >= 0 else -1
    line_ = np.concatenate([[(at[0, 0], -FAR_MM * up)], at, [(at[-1, 0], FAR_MM * up)]])
    shift = -HALF_TURN * up * line.side     # the left of a line that runs up lies at smaller u
    other = _moved(line_, shift)
    ring = np.concatenate([line_, other[::-1]])
    return _made(chart, True, turn, middle + shift / 2, [line_, other], _area(ring, turn), 1)


def _on_panel(chart: Chart, turn: float, middle: float, at: np.ndarray, across: bool, side: int) -> Reach:
    """A line on chest or back, carried on to beyond the edges."""
    far_u = FAR_MM / turn
    if across:
        way = 1 if at[-1, 0] >= at[0, 0] else -1
        line = np.concatenate([[(-far_u * way, at[0, 1])], at, [(far_u * way, at[-1, 1])]])
        round_ = [(far_u * way, FAR_MM), (-far_u * way, FAR_MM)]
        return _made(chart, False, turn, middle, [line], _area(np.concatenate([line, round_]), turn), way * side)
    way = 1 if at[-1, 1] >= at[0, 1] else -1
    line = np.concatenate([[(at[0, 0], -FAR_MM * way)], at, [(at[-1, 0], FAR_MM * way)]])
    round_ = [(-far_u, FAR_MM * way), (-far_u, -FAR_MM * way)]
    return _made(chart, False, turn, middle, [line], _area(np.concatenate([line, round_]), turn), way * side)


def _made(chart: Chart, closed: bool, turn: float, middle: float, borders: list[np.ndarray], shaded: BaseGeometry,
          side: int, drawn: np.ndarray | None = None) -> Reach:
    shapely.prepare(shaded)
    copies = [_moved(b, k) for b in borders for k in ((-1, 0, 1) if closed and drawn is None else (0,))]
    rows = [_dense(b, turn) for b in copies]
    at = np.concatenate(rows)
    after = np.ones(len(at), bool)
    after[np.cumsum([len(r) for r in rows]) - 1] = False
    shown = [drawn] if drawn is not None else borders[:2]
    return Reach(chart, closed, turn, middle, shaded, side, at, after, cKDTree(chart.to_chart(at)),
                 tuple(_dense(b, turn) for b in shown))


def _moved(line: np.ndarray, turns: float) -> np.ndarray:
    return np.add(line, (turns, 0.0))


def _area(ring: np.ndarray, turn: float) -> BaseGeometry:
    area = Polygon(ring * (turn, 1.0))
    return area if area.is_valid else shapely.make_valid(area)


def _left_turning(ring: np.ndarray) -> int:
    """1 for a ring drawn counter-clockwise, whose left is its inside."""
    x, y = ring.T
    return 1 if float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum()) >= 0 else -1


def _dense(line: np.ndarray, turn: float) -> np.ndarray:
    """A line (n, 2) of (u, s) with no step longer than STEP_MM."""
    out = [line[:1]]
    for a, b in pairwise(line):
        n = max(1, int(np.ceil(float(np.hypot((b[0] - a[0]) * turn, b[1] - a[1])) / STEP_MM)))
        out.append(a + (b - a) * (np.arange(1, n + 1) / n)[:, None])
    return np.concatenate(out)
