"""One paper slit from its rim into strips that lie on skin, each true along its own middle."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.strips import Strip, strips_over
from composer.sheets.cut_model import ASIDE, FAR, Draft, in_chart, line_error, on_skin, signed
from composer.sheets.cut_plans import gaps
from composer.sheets.leaf import Cell, Tick, tick_pairs
from composer.sheets.quiet import Field, crossed_mm, quiet_way
from composer.sheets.stencil import Stencil

LEAST_MM = 12.0
"""A slit is made only where art reaches this far on both of its sides."""


def slit_draft(stencil: Stencil, field: Field, lines: tuple[float, ...], us: np.ndarray) -> Draft | None:
    (u0, s0), (u1, s1) = us.min(axis=0), us.max(axis=0)
    middle = (s0 + s1) / 2
    strip = strips_over(stencil.limb, us)
    edges = np.array([u0, *lines, u1])
    u, s = np.moveaxis(field.places(stencil.chart.to_skin), -1, 0)
    half = ASIDE * float(np.diff(edges).min())
    form = on_skin(stencil, stencil.outline)
    cells: list[Cell] = []
    where: list[Strip] = []
    trims: list[BaseGeometry] = []
    cuts, ticks, crossed, opens, wedges = [], [], 0.0, 0.0, 0
    for up in (True, False):
        half_form = shapely.intersection(form, shapely.box(-FAR, middle, FAR, 1e5) if up else
                                         shapely.box(-FAR, -1e5, FAR, middle))
        ways: list[np.ndarray | None] = []
        for line in lines:
            ahead = (s >= middle) if up else (s <= middle)
            across = np.where(ahead, (u - line) / half, np.nan)
            ways.append(None)
            if not _parts(stencil, us, line, middle, up):
                continue
            on = s[field.paper & (np.abs(np.nan_to_num(across, nan=9.0)) <= 1)]
            last = on.max() if up else on.min()
            ways[-1] = quiet_way(field, across, np.abs(s - middle) < 1.0, np.abs(s - last) < 1.0,
                                 "up" if up else "down")
            if ways[-1] is None:
                return None
        here, gores, joins = _strips(stencil, half_form, ways, edges, strip, middle, up)
        base = len(cells)
        cells += here
        where += gores
        trims += [Polygon() for _ in here]
        for k, way in joins:
            got = _join(stencil, way, here[k], here[k + 1], gores[k], gores[k + 1], up)
            trims[base + k] = shapely.union(trims[base + k], got[0])
            trims[base + k + 1] = shapely.union(trims[base + k + 1], got[1])
            cuts += got[2]
            ticks += got[3]
            opens = max(opens, got[4])
            wedges += got[5]
            crossed += crossed_mm(way, stencil.art.lines)
    if not cuts and not ticks:
        return None
    left, groups = np.zeros(len(us)), []
    flat = stencil.chart.to_flat(us)
    for cell, gore in zip(cells, where, strict=True):
        on = shapely.contains_xy(cell.region, flat[:, 0], flat[:, 1])
        left[on] = signed(gore.stretches(us[on]))
        groups.append(us[on])
    return Draft("slits", (tuple(cells),), tuple(trims), tuple(cuts), (tuple(ticks),), left,
                  lambda: line_error(stencil, where, groups), crossed, opens, wedges)


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


def _join(stencil: Stencil, way: np.ndarray, a: Cell, b: Cell, left: Strip, right: Strip, up: bool
          ) -> tuple[BaseGeometry, BaseGeometry, list[np.ndarray], list[Tick], float, bool]:
    """What each of two gores gives up where their papers would overlap, the line to cut there, ticks,
    how far the slit opens on skin, and whether a wedge is taken out."""
    us = stencil.chart.to_skin(np.asarray(shapely.segmentize(LineString(way), 1.0).coords))
    gap = gaps(left, right, us)
    pa, pb = left.to_flat(us), right.to_flat(us)
    mid = (pa + pb) / 2
    over = gap < -0.02
    give_a = give_b = Polygon()
    if over.any():
        give_a = shapely.make_valid(Polygon(np.vstack([mid, pa[::-1]])))
        give_b = shapely.make_valid(Polygon(np.vstack([mid, pb[::-1]])))
    wide = np.abs(gap) > 0.3
    cuts, ticks = [], []
    if wide.any():
        first = int(np.argmax(wide))
        if (gap[first:] < 0).any():
            cuts.append(mid[first:])
        tail = stencil.chart.to_flat(us[first:])
        if len(tail) > 2:
            # a way down the limb has the right-hand gore on its left side
            one, two = tick_pairs(stencil, tail, *((a, b) if up else (b, a)), 1, False)
            ticks = [*one, *two]
    xy = stencil.chart.to_flat(us)
    on = gap[shapely.contains_xy(stencil.body, xy[:, 0], xy[:, 1])]
    return give_a, give_b, cuts, ticks, max(0.0, -float(on.min(initial=0.0))), bool((gap[wide] > 0).any())
