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
BAR_OUT_MM, BAR_STEPS = 3.4, 10
"""Over what length a bar of black thins out at the least (one that is wider over its width), and in how many steps."""
ACROSS = 1.5
"""A cut shorter than so many widths goes across the bar."""
LAST = 0.3
"""To so much of the pen's least to either side: its last stretch is finer than a needle, and left away."""
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
    at_cut = shapely.get_parts(shapely.intersection(cover.boundary, black))
    half = 0.25 * black.length      # of a bar w by l: w + l = 2 half, w l its area
    wide = half - float(np.sqrt(max(half * half - black.area, 0.0)))
    across = float(shapely.length(at_cut).max(initial=0.0))
    wide = across if 0 < across < ACROSS * wide else wide       # a cut along it says nothing
    out = max(BAR_OUT_MM, wide)
    x0, y0, x1, y1 = black.bounds
    near = shapely.clip_by_rect(cover, x0 - out, y0 - out, x1 + out, y1 + out)
    share = np.arange(BAR_STEPS + 1) / BAR_STEPS
    slimmer = shapely.buffer(black, -max(0.5 * wide - LAST * pen.least_mm, 0.25 * wide) * (1.0 - share), quad_segs=2)
    left = shapely.difference(slimmer, shapely.buffer(near, out * share, quad_segs=3))
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
    for chain in _chains(lines):
        line = _as_one(chain)
        hidden = shapely.contains_xy(cover, line.path[:, 0], line.path[:, 1])
        if not hidden.any():
            out += chain
            continue
        if len(chain) > 1 and (line.path[0] == line.path[-1]).all():
            line, hidden = _opened(line, hidden)
        bounds = [0, *(np.flatnonzero(np.diff(hidden)) + 1).tolist(), len(hidden)]
        for a, b in pairwise(bounds):
            if not hidden[a]:
                out += _stretch(line, a, b, cover, holds, pen, loose_mm)
    return out


def _chains(lines: Sequence[Line]) -> list[list[Line]]:
    """Strokes that run on from one to the next, as an outline laid in stretches does, together."""
    out: list[list[Line]] = []
    for line in lines:
        last = out[-1][-1] if out else None
        if last is not None and last.end == line.start == "tucked" and (last.path[-1] == line.path[0]).all():
            out[-1].append(line)
        else:
            out.append([line])
    return out


def _as_one(chain: Sequence[Line]) -> Line:
    """Strokes that run on from one to the next as one stroke."""
    if len(chain) == 1:
        return chain[0]
    path, width = (np.concatenate([part(chain[0]), *(part(line)[1:] for line in chain[1:])])
                   for part in (lambda line: line.path, lambda line: line.width))
    return replace(chain[0], path=path, width=width, end=chain[-1].end)


def _opened(line: Line, hidden: np.ndarray) -> tuple[Line, np.ndarray]:
    """A closed stroke begun where it is `hidden` (n,)."""
    k = int(np.argmax(hidden))
    path, width, lost = (np.concatenate([a[k:-1], a[: k + 1]]) for a in (line.path, line.width, hidden))
    return replace(line, path=path, width=width), lost


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
