"""Strokes of what stands behind kept apart from those of what stands before it, so that two lines never close up to
a clot: one of them is lost, as a tattooer loses an edge in the dark.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.brush import arc_length
from composer.filler.cloud_lines import Line, Pen
from composer.filler.points import (
    DRAWN,
    SLIVER_OVER_MM,
    clear_tips,
    long_runs,
    loose_ends_thinned,
    off_along,
    pointed,
    thinned_out,
)

NEAR = 1.08
"""Strokes that run nearer than so many pitches to the edge of what stands before them are left out there."""
BESIDE = 1.7
"""A stroke that stays beside another for longer than so many times their least distance runs along it."""
TIP_RISE = 0.32
"""How fast fine strokes swell behind their tips: less than in other kinds, or curls would close up."""
LOOSE_OVER_MM, CRUMB_MM = 5.0, 4.8
"""A stroke that hung on one that is left out thins out over the first; what is shorter than the second is left out."""
HELD_MM, CLEAR_MM, OUT_MM = 0.8, 0.7, 4.0
"""A stroke goes under a line that is so near; where there is none it ends so far from there and thins out over the
third."""
HIDDEN_MM = 6.0
"""And so much of what of it is hidden is left out."""


def kept_apart(lines: Sequence[Line], front: BaseGeometry, inked: Sequence[BaseGeometry], rim: BaseGeometry,
               pen: Pen) -> list[Line]:
    """Strokes without the stretches in which they run beside the edge of what stands before them (`front`, whose
    strokes' centre lines are `inked`) or along the edge of the skin (`rim`, a line). What is left comes to tips; what
    is too short is left out."""
    shapely.prepare(front)
    kept = off_along(lost_along(lines, front, NEAR * pen.pitch_mm), rim)
    kept = clear_tips(thin_where_bare(without_crumbs(kept, front, CRUMB_MM), front, inked), rim)
    kept = clear_tips(loose_ends_thinned(kept, inked, None, LOOSE_OVER_MM, front), rim)
    drawn = [replace(line, width=np.maximum(line.width, DRAWN * pen.least_mm)) for line in kept]
    return without_crumbs(pointed(drawn, pen, TIP_RISE), front, CRUMB_MM)


def lost_along(lines: Sequence[Line], front: BaseGeometry, apart_mm: float) -> list[Line]:
    """Strokes that run beside the edge of what lies before them (prepared), so near to it that the two would close up
    to a clot, are left out there and thin out towards it: one line is enough for both. Strokes that only come out from
    behind it stay."""
    if not lines or front.is_empty:
        return list(lines)
    at = np.cumsum([len(line.path) for line in lines])[:-1]
    xy = np.concatenate([line.path for line in lines])
    beside = shapely.dwithin(front, shapely.points(xy), apart_mm)
    beside[beside] = ~shapely.contains_xy(front, *xy[beside].T)
    out: list[Line] = []
    for line, near in zip(lines, np.split(beside, at), strict=True):
        gone = long_runs(near, arc_length(line.path), BESIDE * apart_mm) if near.any() else near
        out += thinned_out(line, ~gone, SLIVER_OVER_MM) if gone.any() else [line]
    return out


def thin_where_bare(lines: Sequence[Line], front: BaseGeometry, inked: Sequence[BaseGeometry]) -> list[Line]:
    """Strokes that go under what stands before them (prepared) where its outline is left out thin out towards there:
    nothing would be seen that they end at. `inked`: centre lines of its strokes."""
    if not lines or front.is_empty:
        return list(lines)
    of = np.repeat(np.arange(len(lines)), [len(line.path) for line in lines])
    xy = np.concatenate([line.path for line in lines])
    under = shapely.contains_xy(front, xy[:, 0], xy[:, 1])
    cross = np.flatnonzero((under[1:] != under[:-1]) & (of[1:] == of[:-1]))
    if not len(cross):
        return list(lines)
    shown, lost = (np.where(under[cross], cross + k, cross + 1 - k) for k in (1, 0))
    low, high = xy[shown], xy[lost]
    for _ in range(6):      # where it goes under, halving
        at = (low + high) / 2
        inside = shapely.contains_xy(front, at[:, 0], at[:, 1])[:, None]
        low, high = np.where(inside, low, at), np.where(inside, at, high)
    held = shapely.STRtree(list(inked)).query(shapely.points(at), predicate="dwithin", distance=HELD_MM)[0]
    gone = np.zeros(len(xy), bool)
    for k in np.setdiff1d(np.arange(len(at)), held):
        mine, far = of == of[cross[k]], np.hypot(*(xy - at[k]).T)
        gone |= mine & ((far < CLEAR_MM) | (under & (far < HIDDEN_MM)))
    out: list[Line] = []
    for line, lost in zip(lines, np.split(gone, np.flatnonzero(np.diff(of)) + 1), strict=True):
        out += thinned_out(line, ~lost, OUT_MM) if lost.any() else [line]
    return out


def without_crumbs(lines: Sequence[Line], front: BaseGeometry, least_mm: float) -> list[Line]:
    """Strokes of which more than `least_mm` shows beside what stands before them (prepared)."""
    if not lines:
        return []
    count = np.array([len(line.path) for line in lines])
    xy = np.concatenate([line.path for line in lines])
    shown = ~shapely.contains_xy(front, xy[:, 0], xy[:, 1])
    step = np.zeros(len(xy))
    step[1:] = np.hypot(*np.diff(xy, axis=0).T) * (shown[1:] & shown[:-1])
    step[np.cumsum(count)[:-1]] = 0.0
    long = np.add.reduceat(step, np.concatenate([[0], np.cumsum(count)[:-1]]))
    return [line for line, mm in zip(lines, long, strict=True) if mm > least_mm]
