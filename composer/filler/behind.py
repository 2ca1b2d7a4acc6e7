"""Strokes that go behind another form of the same drawing and end in a tip there, where nothing holds them.

A form that keeps skin clear round it cuts what lies behind it; a stroke that is just cut stops bare in the open. Where
the stroke runs right up to ink of the form in front it is held by that, and stays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import arc_length
from composer.filler.cloud_lines import Line, Pen
from composer.filler.masses import Mass
from composer.filler.points import LOOSE_MM, pointed

HELD_MM = 0.75
"""An end so near to the middle of a stroke in front, or to black, runs into it."""
BAR_OUT_MM, BAR_STEPS = 3.4, 6
"""Over what length a bar of black thins out, and in how many steps."""
RUN_OUT_MM = 4.0
"""Over what length a stroke thins out before it goes behind something."""


def run_out(masses: Sequence[Mass], pen: Pen, loose_mm: float = LOOSE_MM, slim_mm: float = 0.0) -> list[Mass]:
    """The masses (back to front) of which enough is seen, their strokes cut where what stands before them hides them:
    held by its ink, or thinned out to a tip. What is left of a stroke and hangs on nothing is left out where it is
    shorter than `loose_mm`. Black narrower than `slim_mm` that goes behind something thins out as strokes do. Masses
    are changed in place."""
    if not masses:
        return []
    bodies = np.array([m.body for m in masses], dtype=object)
    halo = np.array([m.halo_mm for m in masses])
    hides = np.where(halo > 0, shapely.buffer(bodies, halo, quad_segs=3), bodies)
    tree = shapely.STRtree(hides)
    gone = np.zeros(len(masses), bool)
    for i in range(len(masses) - 1, -1, -1):
        mass = masses[i]
        over = np.sort(tree.query(mass.body, predicate="intersects"))
        over = over[(over > i) & ~gone[over]]
        if not len(over):
            continue
        cover = shapely.union_all(hides[over])
        if mass.least_seen > 0 and shapely.difference(mass.body, cover).area < mass.least_seen * mass.body.area:
            gone[i] = True
            continue
        before = [masses[k] for k in over]
        mass.lines = _cut(mass.lines, cover, before, pen, loose_mm)
        if slim_mm > 0:
            mass.black = [_thinning(b, cover, pen, slim_mm) for b in mass.black]
    return [m for m, lost in zip(masses, gone, strict=True) if not lost]


def _thinning(black: BaseGeometry, cover: BaseGeometry, pen: Pen, slim_mm: float) -> BaseGeometry:
    """A bar of black that thins out towards what hides the rest of it; as it is where nothing does or it is no bar."""
    thick = 2.0 * black.area / max(black.length, 1e-9)
    if thick > slim_mm or not shapely.intersects(cover, black) or shapely.covers(cover, black):
        return black
    x0, y0, x1, y1 = black.bounds
    near = shapely.clip_by_rect(cover, x0 - BAR_OUT_MM, y0 - BAR_OUT_MM, x1 + BAR_OUT_MM, y1 + BAR_OUT_MM)
    most = 0.5 * max(thick - 1.1 * pen.least_mm, 0.0)
    share = np.arange(BAR_STEPS + 1) / BAR_STEPS
    slimmer = shapely.buffer(black, -most * (1.0 - share), quad_segs=2)
    left = shapely.difference(slimmer, shapely.buffer(near, BAR_OUT_MM * share, quad_segs=3))
    return shapely.union_all([g for g in left if not g.is_empty] or [Polygon()])


def _cut(lines: Sequence[Line], cover: BaseGeometry, before: Sequence[Mass], pen: Pen, loose_mm: float) -> list[Line]:
    """Strokes without what is hidden."""
    if not lines:
        return []
    shapely.prepare(cover)
    ink = [shapely.linestrings(one.path) for m in before for one in m.lines if len(one.path) > 1]
    ink += [b for m in before for b in m.black]
    ink += [m.white.boundary for m in before if not m.white.is_empty]
    holds = shapely.STRtree(ink)
    out: list[Line] = []
    for line in lines:
        hidden = shapely.contains_xy(cover, line.path[:, 0], line.path[:, 1])
        if not hidden.any():
            out.append(line)
            continue
        bounds = [0, *(np.flatnonzero(np.diff(hidden)) + 1).tolist(), len(hidden)]
        for a, b in pairwise(bounds):
            if not hidden[a]:
                out += _stretch(line, a, b, cover, holds, pen, loose_mm)
    return out


def _stretch(line: Line, a: int, b: int, cover: Polygon, holds: shapely.STRtree, pen: Pen,
             loose_mm: float) -> list[Line]:
    """The vertices a..b (not b) of a stroke, that lie in view, finished at both ends."""
    n, first, last = len(line.path), max(a - 1, 0), min(b + 1, len(line.path))
    held = [True, True]
    for side, cut, k in ((0, a > 0, a - 1), (1, b < n, b - 1)):
        if cut:
            over = shapely.intersection(shapely.linestrings(line.path[k : k + 2]), cover)
            held[side] = bool(len(holds.query(over, "dwithin", HELD_MM)))
    if all(held):
        return [replace(line, path=line.path[first:last], width=line.width[first:last])] if last - first > 1 else []
    first, last = first if held[0] else a, last if held[1] else b
    if last - first < 2:
        return []
    path = line.path[first:last]
    s = arc_length(path)
    near = np.minimum(np.inf if held[0] else s, np.inf if held[1] else s[-1] - s)
    start = "tip" if not held[0] else line.start if a == 0 else "tucked"
    end = "tip" if not held[1] else line.end if b == n else "tucked"
    if s[-1] < (loose_mm if start == end == "tip" else 1.2):
        return []
    part = replace(line, path=path, width=line.width[first:last] * np.clip(near / RUN_OUT_MM, 0.1, 1.0),
                   start=start, end=end)
    return pointed([part], pen)
