"""The empty skin as tables over the unrolled limb: how far it is to the next piece, and what each
spot is like (motion, folds, bone, sides that see it).

Columns run round the limb and repeat; rows run along it. Distances are sought in the conformal chart
and told in mm by the girth at the spot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from scipy.spatial import cKDTree

from composer.body.limb import Limb
from composer.body.motion import is_known, worst
from composer.compose.chart import chart_of
from composer.compose.fit_facts import Client, zone_map
from composer.compose.fit_near import Body
from composer.compose.fit_seen import seen_from

FINE = 3
"""Cells of the distance table in one cell of the lattice of places, each way."""


@dataclass(frozen=True)
class Lattice:
    """Places that are tried: `columns` round the limb, `rows` (n,) of s mm with `step_mm` between."""

    columns: int
    rows: np.ndarray
    step_mm: float

    @property
    def us(self) -> np.ndarray:
        """All places (rows x columns, 2) of (u, s), row by row."""
        return np.column_stack([np.tile(np.arange(self.columns) / self.columns, len(self.rows)),
                                np.repeat(self.rows, self.columns)])


def lattice_of(limb: Limb, step_mm: float) -> Lattice:
    """Places about `step_mm` apart all over a limb."""
    n = max(2, int(np.ceil((limb.s_max - limb.s_min) / step_mm)) + 1)
    columns = max(4, int(np.ceil(float(chart_of(limb).c.max()) / step_mm)))
    rows = np.linspace(limb.s_min, limb.s_max, n)
    return Lattice(columns, rows, float(rows[1] - rows[0]))


@dataclass(frozen=True, eq=False)
class Distances:
    """`mm` (rows, 2 columns) to the next edge of a piece, negative within one, told twice round so
    that a run of columns never breaks; `columns` in one turn; `s0`, `step_mm` of the rows. `slack_mm`:
    how far off a spot's own distance may be from that of its cell. `tree` of all edge points in the chart."""

    mm: np.ndarray
    columns: int
    s0: float
    step_mm: float
    slack_mm: float
    tree: cKDTree | None

    def row(self, s_mm: np.ndarray) -> np.ndarray:
        """Row of the table for each s."""
        return np.clip(np.rint((s_mm - self.s0) / self.step_mm).astype(np.int32), 0, len(self.mm) - 1)


def distances(limb: Limb, lattice: Lattice, bodies: Sequence[Body]) -> Distances:
    """The distance table of a limb with these pieces on it."""
    chart = chart_of(limb)
    columns = lattice.columns * FINE
    rows = np.linspace(limb.s_min, limb.s_max, (len(lattice.rows) - 1) * FINE + 1)
    step = float(rows[1] - rows[0])
    slack = 0.5 * float(np.hypot(chart.c.max() / columns, step)) + 0.1
    us = np.column_stack([np.tile(np.arange(columns) / columns, len(rows)), np.repeat(rows, columns)])
    ut = chart.to_chart(us)
    tree = points_tree(bodies)
    if tree is None:
        return Distances(np.full((len(rows), 2 * columns), 1e3), columns, limb.s_min, step, slack, None)
    mm = tree.query(ut)[0] * chart.girth(us[:, 1])
    for b in bodies:
        (u0, t0, u1, t1) = b.box
        for k in range(int(np.floor(u0)), int(np.floor(u1)) + 1):
            near = np.flatnonzero((ut[:, 0] + k >= u0) & (ut[:, 0] + k <= u1) & (ut[:, 1] >= t0) & (ut[:, 1] <= t1))
            if len(near):
                hit = near[shapely.contains_xy(b.cover, ut[near, 0] + k, ut[near, 1])]
                mm[hit] = -np.abs(mm[hit])
    table = mm.reshape(len(rows), columns).astype(np.float32)
    return Distances(np.hstack([table, table]), columns, limb.s_min, step, slack, tree)


def points_tree(bodies: Sequence[Body]) -> cKDTree | None:
    """All edge points of the pieces in the chart, u in [0, 1) and round; None without pieces."""
    if not bodies:
        return None
    points = np.concatenate([b.ut for b in bodies])
    points = np.column_stack([points[:, 0] % 1.0, points[:, 1]])
    points[points[:, 0] >= 1.0, 0] = 0.0
    return cKDTree(points, boxsize=[1.0, 0.0])


@dataclass(frozen=True, eq=False)
class Spots:
    """What each place of the lattice is like, (rows, columns): worst strain, whether skin folds there,
    whether bone lies under it, how much it is on show (0..1, from the zones), and (rows, columns, 4) which of
    the four sides see it."""

    strain: np.ndarray
    folds: np.ndarray
    bone: np.ndarray
    shown: np.ndarray
    seen: np.ndarray


@lru_cache(maxsize=16)
def spots_of(limb: Limb, part: str, client: Client, step_mm: float) -> Spots:
    """Tables of a client's limb (kept). Where poses and zones are unknown they count for nothing."""
    lattice = lattice_of(limb, step_mm)
    us = lattice.us
    shape = len(lattice.rows), lattice.columns
    seen = seen_from(limb, part, us).reshape(*shape, 4)
    if not is_known(limb, part):
        none = np.zeros(shape, bool)
        return Spots(np.zeros(shape), none, none, np.ones(shape), seen)
    found = worst(limb, part, us, dict(client.flexed))
    zones = zone_map(limb, part, client.zones)
    at = zones.at(us)
    bone, shown = (np.array(v, float)[at].reshape(shape) for v in
                   ([z.over_bone for z in zones.zones], [z.visibility / 10 for z in zones.zones]))
    return Spots(np.abs(found.strain).max(axis=1).reshape(shape), found.folds.reshape(shape), bone > 0, shown, seen)
