"""One paper slit from its rim into strips that lie on skin, each true along its own middle."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.strips import Strip
from composer.sheets.cut_model import ASIDE, FAR, Draft, Seams, Spots, in_chart, line_error
from composer.sheets.leaf import Cell, Tick, tick_pairs
from composer.sheets.quiet import Field, crossed_mm, quiet_way
from composer.sheets.slit_plans import Strips, gaps
from composer.sheets.stencil import Stencil

LEAST_MM = 12.0
"""A slit is made only where art reaches this far on both of its sides."""


def slit_draft(stencil: Stencil, field: Field, sides: tuple[Strips, Strips], spots: Spots, aside: float = ASIDE
               ) -> Draft | None:
    """Slit along quiet lines near those between the strips above and below the spine, that stray by no more than
    `aside` widths of a strip; None where no line leads through, or nothing would be cut."""
    us, middle = spots.us, spots.spine
    u, s = np.moveaxis(field.places(stencil.chart.to_skin), -1, 0)
    cells: list[Cell] = []
    where: list[Strip] = []
    joins: list[_Join] = []
    for plan, up in zip(sides, (True, False), strict=True):
        half_form = shapely.intersection(spots.form, shapely.box(-FAR, middle, FAR, 1e5) if up else
                                         shapely.box(-FAR, -1e5, FAR, middle))
        ways: list[np.ndarray | None] = []
        ahead = (s >= middle) if up else (s <= middle)
        number = np.where(ahead, plan.number(u), np.nan) if plan.lines else u
        for k, line in enumerate(plan.lines, 1):
            across = (number - k) / aside
            ways.append(None)
            if not _parts(stencil, us, line, middle, up):
                continue
            on = s[field.paper & (np.abs(across) <= 1)]
            last = on.max() if up else on.min()
            ways[-1] = quiet_way(field, across, np.abs(s - middle) < 1.0, np.abs(s - last) < 1.0,
                                 "up" if up else "down")
            if ways[-1] is None:
                return None
        here, gores, kept = _strips(stencil, half_form, ways, plan.edges, spots.strip, middle, up)
        joins += [_join(stencil, way, len(cells) + k, gores[k], gores[k + 1], up) for k, way in kept]
        cells += here
        where += gores
    if not any(j.wide.any() for j in joins):
        return None
    left = np.zeros(len(us))
    for cell, gore in zip(cells, where, strict=True):
        on = shapely.contains_xy(cell.region, *spots.flat.T)
        left[on] = spots.stretch(gore, on)
    return Draft("slits", (tuple(cells),), left,
                 lambda: line_error(stencil.limb, where, [spots.rim(c.region) for c in cells]),
                 lambda: _seams(stencil, cells, where, joins),
                 lambda: sum(crossed_mm(j.way, stencil.art.lines) for j in joins),
                 lambda: max(j.opens(stencil) for j in joins))


def _parts(stencil: Stencil, us: np.ndarray, line: float, middle: float, up: bool) -> bool:
    """Whether a slit along u = `line` on one side of the spine has art on both sides of it."""
    here = us[us[:, 1] > middle + 8] if up else us[us[:, 1] < middle - 8]
    if not len(here):
        return False
    c = stencil.limb.girth(here[:, 1])
    aside = (here[:, 0] - line) * c
    return float(-aside.min()) > LEAST_MM and float(aside.max()) > LEAST_MM


def _strips(stencil: Stencil, form: BaseGeometry, ways: list[np.ndarray | None], edges: np.ndarray,
            strip_at: Callable[[float], Strip], middle: float, up: bool
            ) -> tuple[list[Cell], list[Strip], list[tuple[int, np.ndarray]]]:
    """Cells of one side of the spine between its slits; where a slit has nothing to part, none is made."""
    kept = [(e, w) for e, w in zip(edges[1:-1], ways, strict=True) if w is not None]
    bounds = [edges[0], *(e for e, _ in kept), edges[-1]]
    beyond = 1e5 if up else -1e5
    tracks = [np.array([[-FAR, middle], [-FAR, beyond]])]
    for _, way in kept:
        t = stencil.chart.to_skin(way)
        t[0, 1] = middle
        tracks.append(np.vstack([t, [t[-1, 0], beyond]]))
    tracks.append(np.array([[FAR, middle], [FAR, beyond]]))
    cells, gores = [], []
    for k in range(len(tracks) - 1):
        strip = shapely.make_valid(Polygon(np.vstack([tracks[k], tracks[k + 1][::-1]])))
        gore = strip_at(float(bounds[k] + bounds[k + 1]) / 2)
        cells.append(Cell(in_chart(stencil, shapely.intersection(form, strip)), gore))
        gores.append(gore)
    return cells, gores, [(k, w) for k, (_, w) in enumerate(kept)]


@dataclass(frozen=True)
class _Join:
    """The slit `way` (n, 2) between the cells `k` and k + 1, in the stencil's chart, and finely on skin (`us`), with
    the gap there from the one's paper to the other's, mm."""

    way: np.ndarray
    k: int
    us: np.ndarray
    gap: np.ndarray
    up: bool

    @property
    def wide(self) -> np.ndarray:
        """Where there is anything to cut."""
        return np.abs(self.gap) > 0.3

    def opens(self, stencil: Stencil) -> float:
        """How far it opens on skin through art, mm."""
        on = self.gap < 0
        on[on] = shapely.contains_xy(stencil.body, stencil.chart.to_flat(self.us[on]))
        return -float(self.gap[on].min(initial=0.0))


def _join(stencil: Stencil, way: np.ndarray, k: int, left: Strip, right: Strip, up: bool) -> _Join:
    us = stencil.chart.to_skin(np.asarray(shapely.segmentize(LineString(way), 1.0).coords))
    return _Join(way, k, us, gaps(left, right, us), up)


def _seams(stencil: Stencil, cells: list[Cell], where: list[Strip], joins: list[_Join]) -> Seams:
    """What is given up where papers would overlap, the lines to cut there, ticks, and how many wedges are taken out."""
    trims: list[BaseGeometry] = [Polygon() for _ in cells]
    cuts: list[np.ndarray] = []
    ticks: list[Tick] = []
    wedges = 0
    for j in joins:
        left, right = j.k, j.k + 1
        pa, pb = where[left].to_flat(j.us), where[right].to_flat(j.us)
        mid = (pa + pb) / 2
        if (j.gap < -0.02).any():
            for k, own in ((left, pa), (right, pb)):
                trims[k] = shapely.union(trims[k], shapely.make_valid(Polygon(np.vstack([mid, own[::-1]]))))
        xy = stencil.chart.to_flat(j.us)
        if j.wide.any():
            first = int(np.argmax(j.wide))
            if (j.gap[first:] < 0).any():
                cuts.append(mid[first:])
            if len(xy) - first > 2:
                # a way down the limb has the right-hand gore on its left side
                pair = (cells[left], cells[right]) if j.up else (cells[right], cells[left])
                one, two = tick_pairs(stencil, xy[first:], *pair, 1, False)
                ticks += [*one, *two]
        wedges += bool((j.gap[j.wide] > 0).any())
    return Seams(tuple(trims), tuple(cuts), (tuple(ticks),), wedges)
