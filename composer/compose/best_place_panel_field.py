"""Chest and back as tables over their sheet: how paper lies there, what is free, and what each spot is like.

Paper's own patch is fitted at coarse places for a few sizes and kept; between them it is interpolated. That serves
to rule out and to score; what is proposed has been checked on its own patch.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from scipy.interpolate import RegularGridInterpolator
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from composer.body.motion import worst
from composer.body.panel import Panel
from composer.body.panel_flatten import basis
from composer.body.panel_patch import LEAST_MM, MOST_MM
from composer.compose.fit_facts import Client, zone_map
from composer.compose.fit_samples import walk
from composer.compose.fit_seen import squarely

POWERS = np.array([(i, n - i) for n in (1, 2, 3) for i in range(n + 1)])
COARSE_MM, CELL_MM, RUNG = 40.0, 2.0, 1.6
USUAL_MM = (40.0, 60.0, 90.0, 140.0, 220.0)
"""Sizes of pieces on chest and back, from common practice, no published source: one for each size of paper between."""
CREASE_MM = 40.0
"""So far from the armhole skin creases as the arm moves, less and less: common practice, no published source."""

_A = np.linspace(0, 2 * np.pi, 16, endpoint=False)
_DISC = np.concatenate([np.zeros((1, 2)), *(r * np.column_stack([np.cos(_A), np.sin(_A)]) for r in (0.35, 0.7, 1.0))])


def rung_of(reach_mm: float) -> int:
    """The size of paper that stands for a piece which reaches so far from its anchor."""
    reach = np.clip(reach_mm, LEAST_MM / 1.1, MOST_MM / 1.1)
    return int(np.rint(np.log(reach / LEAST_MM) / np.log(RUNG)))


def rung_mm(rung: int) -> float:
    """How far the paper of a rung reaches."""
    return float(LEAST_MM * RUNG**rung)


@lru_cache(maxsize=24)
def _paper(panel: Panel, rung: int) -> RegularGridInterpolator:
    """At any place of the sheet, mm, 19 numbers: the cubic from paper (in shares of the rung's reach) to the sheet, mm
    from the anchor, (9, 2) row by row; and how far paper is off there at most."""
    x0, y0, x1, y1 = panel.form.bounds
    axes = [np.linspace(a, b, int(np.ceil((b - a) / COARSE_MM)) + 1) for a, b in ((x0, x1), (y0, y1))]
    at = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)
    near = shapely.dwithin(panel.form, shapely.points(at), COARSE_MM * 1.5)
    paper = _DISC * rung_mm(rung)
    rows = basis(_DISC, POWERS)
    out = np.zeros((len(at), 19))
    for k in np.flatnonzero(near):
        u, s = panel.from_mm(at[k])
        patch = panel.lay_patch(float(u), float(s), rung_mm(rung))
        us = patch.to_skin(paper)
        off = np.abs(patch.stretches_on(us, panel.metric(us)) - 1).max(axis=1)
        skin = panel.inside(us)
        out[k, :18] = np.linalg.lstsq(rows, panel.to_mm(us) - at[k], rcond=None)[0].ravel()
        out[k, 18] = off[skin].max() if skin.any() else off[0]
    if not near.all():
        out[~near] = out[np.flatnonzero(near)[cKDTree(at[near]).query(at[~near])[1]]]
    return RegularGridInterpolator(axes, out.reshape(*(len(a) for a in axes), 19), bounds_error=False, fill_value=None)


def know_paper(panel: Panel, quiet: Callable[[], bool] = lambda: True) -> None:
    """Work out how paper of the usual sizes lies, which the first search on a panel would wait for; size by size, as
    long as it is `quiet`."""
    for rung in sorted({rung_of(mm / 2) for mm in USUAL_MM}):
        if quiet():
            _paper(panel, rung)


def paper_at(panel: Panel, rung: int, at_mm: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How paper of a rung lies at sheet places (n, 2): the cubics (n, 9, 2), and how far off it is (n,)."""
    found = _paper(panel, rung)(at_mm)
    return found[:, :18].reshape(-1, 9, 2), found[:, 18]


@dataclass(frozen=True, eq=False)
class Grid:
    """Cells of CELL_MM over the sheet from its lower left corner (2,), `shape` (columns, rows)."""

    corner: np.ndarray
    shape: tuple[int, int]

    def at(self, table: np.ndarray, xy: np.ndarray) -> np.ndarray:
        """A table's (columns, rows) value at sheet places (..., 2), mm."""
        columns, rows = self.shape
        cell = np.rint((xy - self.corner) / CELL_MM)
        cell = np.clip(cell, 0, (columns - 1, rows - 1), out=cell).astype(np.intp)
        return table.reshape(columns * rows, *table.shape[2:]).take(cell[..., 0] * rows + cell[..., 1], axis=0)

    @property
    def places(self) -> np.ndarray:
        """Middles of the cells, (n, 2) mm, column by column."""
        i, j = np.meshgrid(*(np.arange(n) for n in self.shape), indexing="ij")
        return self.corner + CELL_MM * np.column_stack([i.ravel(), j.ravel()])


def grid_of(panel: Panel) -> Grid:
    """Cells all over a panel and some way past it."""
    x0, y0, x1, y1 = panel.form.bounds
    corner = np.array([x0, y0]) - 20.0
    nx, ny = (int(np.ceil((b - a + 40.0) / CELL_MM)) + 1 for a, b in ((x0, x1), (y0, y1)))
    return Grid(corner, (nx, ny))


def away_mm(grid: Grid, covers: Sequence[BaseGeometry]) -> np.ndarray:
    """How far each cell is from the edge of the nearest of these (sheet mm), negative within one; (columns, rows)."""
    at = grid.places
    lines = [np.asarray(r.coords)[:-1] for c in covers for p in shapely.get_parts(c) if p.geom_type == "Polygon"
             for r in (p.exterior, *p.interiors)]
    if not lines:
        return np.full(grid.shape, 1e3, np.float32)
    mm = cKDTree(np.concatenate([walk(r, 1.2) for r in lines])).query(at)[0]
    for c in covers:
        x0, y0, x1, y1 = c.bounds
        near = np.flatnonzero((at[:, 0] >= x0) & (at[:, 0] <= x1) & (at[:, 1] >= y0) & (at[:, 1] <= y1))
        hit = near[shapely.contains_xy(c, at[near, 0], at[near, 1])]
        mm[hit] = -np.abs(mm[hit])
    return mm.reshape(grid.shape).astype(np.float32)


@lru_cache(maxsize=8)
def _edge_mm(panel: Panel, skin: bytes) -> np.ndarray:
    return -away_mm(grid_of(panel), [shapely.from_wkb(skin)])


def edge_mm(panel: Panel, skin: BaseGeometry) -> np.ndarray:
    """How far within the planned skin (sheet mm) each cell lies; negative outside (kept)."""
    return _edge_mm(panel, shapely.to_wkb(skin))


SPOTS = ("seen", "folds", "flex", "bone", "shown")


@lru_cache(maxsize=8)
def spots_on(panel: Panel, part: str, client: Client) -> np.ndarray:
    """What each cell is like, (columns, rows, 5) in the order of SPOTS (kept): how far skin is turned away from the
    front or back of the body, 0 (square on) to 1 (60 degrees or more); whether it folds in a pose, or how near the
    armhole it is, 0 to 1; the worst strain, as a share; whether bone lies under it; and how little it is on show."""
    grid = grid_of(panel)
    some = grid.places.reshape(*grid.shape, 2)[::2, ::2].reshape(-1, 2)     # half as fine serves for this
    us = panel.from_mm(some)
    zones, moved = zone_map(panel, part, client.zones), worst(panel, part, us)
    at = zones.at(us)
    holes = [shapely.LineString(panel.to_mm(e.us)) for e in panel.edges if e.name.startswith("armhole")]
    crease = moved.folds.astype(float)
    if holes:
        points = np.concatenate([np.asarray(shapely.segmentize(h, 2.0).coords) for h in holes])
        crease = np.maximum(crease, 1 - cKDTree(points).query(some)[0] / CREASE_MM)
    turned = np.clip(2 * (1 - np.abs(squarely(panel, part, us)[:, 0])), 0, 1)
    bone, shown = (np.array(v, float)[at] for v in ([z.over_bone for z in zones.zones],
                                                    [z.visibility / 10 for z in zones.zones]))
    table = np.column_stack([turned, crease, np.abs(moved.strain).max(axis=1), bone, 1 - shown])
    columns, rows = ((n + 1) // 2 for n in grid.shape)
    table = table.reshape(columns, rows, len(SPOTS)).astype(np.float32)
    return table.repeat(2, axis=0).repeat(2, axis=1)[: grid.shape[0], : grid.shape[1]]
