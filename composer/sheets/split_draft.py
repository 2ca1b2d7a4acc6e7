"""A stencil split into several papers, across the limb or side by side, each fitted to the skin under it."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon

from composer.sheets.cut_model import ASIDE, FAR, Draft, Seams, Spots, in_chart, line_error
from composer.sheets.cut_plans import LEAST, band_paper
from composer.sheets.leaf import Cell, Tick, tick_pairs
from composer.sheets.quiet import Field, crossed_mm, quiet_way
from composer.sheets.stencil import Stencil


def split_draft(stencil: Stencil, field: Field, lines: tuple[float, ...], spots: Spots, upright: bool = False,
                aside: float = ASIDE) -> Draft | None:
    """Parted along levels, or `upright` along lines of equal u, along quiet lines that stray by no more than `aside`
    widths of a band; None where no way leads through."""
    limb, us, axis = stencil.limb, spots.us, 0 if upright else 1
    ways = quiet_ways(stencil, field, lines, us, upright, aside)
    if ways is None:
        return None
    tracks = tracks_of(stencil, ways, axis)
    cells, papers, rims, left = [], [], [], np.zeros(len(us))
    for k in range(len(tracks) - 1):
        strip = shapely.make_valid(Polygon(np.vstack([tracks[k], tracks[k + 1][::-1]])))
        region = in_chart(stencil, shapely.intersection(spots.form, strip))
        on = shapely.contains_xy(region, *spots.flat.T)
        if on.sum() < LEAST:
            return None
        rims.append(spots.rim(region))
        paper = band_paper(limb, np.concatenate([us[on], rims[-1]]))
        left[on] = spots.stretch(paper, on)
        cells.append(Cell(region, paper))
        papers.append(paper)
    return Draft("split", tuple((c,) for c in cells), left, lambda: line_error(stencil.limb, papers, rims),
                 lambda: Seams((), (), _ticks(stencil, ways, cells, upright)),
                 lambda: sum(crossed_mm(w, stencil.art.lines) for w in ways))


def _ticks(stencil: Stencil, ways: list[np.ndarray], cells: list[Cell], upright: bool) -> tuple[tuple[Tick, ...], ...]:
    marks: list[list[Tick]] = [[] for _ in cells]
    for k, way in enumerate(ways):
        # a way up has the lower turns on its left side, a way to the right the upper levels
        left_of, right_of = (k, k + 1) if upright else (k + 1, k)
        one, two = tick_pairs(stencil, way, cells[left_of], cells[right_of], 1 + 20 * k, True)
        marks[left_of] += one
        marks[right_of] += two
    return tuple(map(tuple, marks))


def quiet_ways(stencil: Stencil, field: Field, lines: tuple[float, ...], us: np.ndarray, upright: bool,
               aside: float = ASIDE) -> list[np.ndarray] | None:
    """The quietest ways (n, 2) in the stencil's chart near so many levels, running right, or near lines of
    equal u, running up; None where there is none for one of them."""
    axis = 0 if upright else 1
    edges = np.array([us[:, axis].min(), *lines, us[:, axis].max()])
    skin = field.places(stencil.chart.to_skin)
    place, along = skin[..., axis], skin[..., 1 - axis]
    half = aside * float(np.diff(edges).min())
    near = 1.0 if upright else 1.0 / float(stencil.limb.girth(stencil.chart.s0_mm))
    ways = []
    for line in lines:
        across = (place - line) / half
        on = along[field.paper & (np.abs(across) <= 1)]
        if not len(on):
            return None
        way = quiet_way(field, across, np.abs(along - on.min()) < near, np.abs(along - on.max()) < near,
                        "up" if upright else "right")
        if way is None:
            return None
        end = 1 if upright else 0
        ways.append(way if way[0, end] <= way[-1, end] else way[::-1])
    return ways


def tracks_of(stencil: Stencil, ways: list[np.ndarray], axis: int) -> list[np.ndarray]:
    """The ways on skin, run on to beyond everything, between one track before and one behind them all."""
    low, high = (-1e5, 1e5) if axis == 0 else (-FAR, FAR)
    out = []
    for t in (stencil.chart.to_skin(w) for w in ways):
        ends = np.array([t[0], t[-1]])
        ends[:, 1 - axis] = low, high
        out.append(np.vstack([ends[:1], t, ends[1:]]))
    first, last = (np.array([[v, low], [v, high]])[:, ::-1 if axis else 1] for v in
                   ((-FAR, FAR) if axis == 0 else (-1e5, 1e5)))
    return [first, *out, last]
