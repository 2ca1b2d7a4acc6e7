"""A stencil split across the limb into several papers, each on the cone that fits its own stretch."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon

from composer.body.distort import stretches
from composer.body.patch import lay_patch
from composer.sheets.cut_model import ASIDE, FAR, Draft, in_chart, line_error, on_skin, signed
from composer.sheets.leaf import Cell, Tick, tick_pairs
from composer.sheets.quiet import Field, crossed_mm, quiet_way
from composer.sheets.stencil import Stencil


def split_draft(stencil: Stencil, field: Field, lines: tuple[float, ...], us: np.ndarray) -> Draft | None:
    limb, s0, s1 = stencil.limb, float(us[:, 1].min()), float(us[:, 1].max())
    edges = np.array([s0, *lines, s1])
    skin = stencil.chart.to_skin(field.middles)
    shape = field.cost.shape
    u, s = skin[:, 0].reshape(shape), skin[:, 1].reshape(shape)
    half = ASIDE * float(np.diff(edges).min())
    near = 1.0 / float(limb.girth(stencil.chart.s0_mm))
    ways = []
    for line in lines:
        across = (s - line) / half
        on = u[field.paper & (np.abs(across) <= 1)]
        if not len(on):
            return None
        way = quiet_way(field, across, np.abs(u - on.min()) < near, np.abs(u - on.max()) < near, "right")
        if way is None:
            return None
        ways.append(way if way[0, 0] <= way[-1, 0] else way[::-1])
    form = on_skin(stencil, stencil.outline)
    tracks = [np.array([[-FAR, -1e5], [FAR, -1e5]])]
    for way in ways:
        t = stencil.chart.to_skin(way)
        tracks.append(np.vstack([[-FAR, t[0, 1]], t, [FAR, t[-1, 1]]]))
    tracks.append(np.array([[-FAR, 1e5], [FAR, 1e5]]))
    cells, papers, groups, left = [], [], [], np.zeros(len(us))
    flat = stencil.chart.to_flat(us)
    for k in range(len(tracks) - 1):
        strip = shapely.make_valid(Polygon(np.vstack([tracks[k], tracks[k + 1][::-1]])))
        region = in_chart(stencil, shapely.intersection(form, strip))
        on = shapely.contains_xy(region, flat[:, 0], flat[:, 1])
        if not on.any():
            return None
        (a0, b0), (a1, b1) = us[on].min(axis=0), us[on].max(axis=0)
        paper = lay_patch(limb, (a0 + a1) / 2, (b0 + b1) / 2, (b1 - b0) / 2, (b1 - b0) / 2)
        left[on] = signed(stretches(limb, paper, paper.to_flat(us[on])))
        cells.append(Cell(region, paper))
        papers.append(paper)
        groups.append(us[on])
    marks: list[list[Tick]] = [[] for _ in cells]
    for k, way in enumerate(ways):
        above, below = tick_pairs(stencil, way, cells[k + 1], cells[k], 1 + 20 * k, True)
        marks[k] += below
        marks[k + 1] += above
    return Draft("split", tuple((c,) for c in cells), (), (), tuple(map(tuple, marks)), left,
                  lambda: line_error(stencil, papers, groups), sum(crossed_mm(w, stencil.art.lines) for w in ways))
