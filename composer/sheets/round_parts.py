"""A stencil that goes right round the limb, parted upright so that each paper can be put on."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import Polygon

from composer.sheets.cut_model import in_chart, on_skin, places
from composer.sheets.leaf import SEAM_MM, Cell, Tick, tick_pairs, with_art
from composer.sheets.quiet import field_of
from composer.sheets.split_draft import quiet_ways, tracks_of
from composer.sheets.stencil import Stencil, goes_round

WIDE = 0.6
"""Widest paper aimed at, in turns: a good half, so that two papers do where art goes round once."""
ASIDE = 0.2
"""How far the parting may stray to either side, in widths of a paper."""
MOST = 6


def round_parts(stencil: Stencil) -> tuple[Stencil, ...]:
    """The stencil alone where its paper goes round less than once; else so many stencils in the same chart, each
    narrower than the limb is round, parted along quiet lines with lettered ticks. The stencil itself also where
    no such line passes by what is to be kept whole (a note of the stencil says that it covers itself)."""
    if not goes_round(stencil.limb, stencil.chart, stencil.outline):
        return (stencil,)
    us = places(stencil)
    u0, u1 = float(us[:, 0].min()), float(us[:, 0].max())
    field = field_of(stencil.outline, stencil.art.lines, stencil.art.blacks, stencil.keep)
    for n in range(max(2, int(np.ceil((u1 - u0) / WIDE - 1e-9))), MOST + 1):
        ways = quiet_ways(stencil, field, tuple(np.linspace(u0, u1, n + 1)[1:-1]), us, True, ASIDE)
        parts = None if ways is None else _parted(stencil, ways)
        if parts and not any(goes_round(p.limb, p.chart, p.outline) for p in parts):
            return parts
    return (stencil,)


def _parted(stencil: Stencil, ways: list[np.ndarray]) -> tuple[Stencil, ...] | None:
    form, tracks = on_skin(stencil, stencil.outline), tracks_of(stencil, ways, 0)
    regions = []
    for a, b in pairwise(tracks):
        strip = shapely.make_valid(Polygon(np.vstack([a, b[::-1]])))
        regions.append(in_chart(stencil, shapely.intersection(form, strip)))
    if any(shapely.intersection(r, stencil.body).area < 1.0 for r in regions):
        return None
    ticks: list[list[Tick]] = [[] for _ in regions]
    for k, way in enumerate(ways):
        left, right = tick_pairs(stencil, way, Cell(regions[k], None), Cell(regions[k + 1], None), 1, True)
        for side, found in ((k, left), (k + 1, right)):
            ticks[side] += [replace(t, label="abcdef"[k] + t.label) for t in found]
    return tuple(part_of(stencil, r, tuple(t)) for r, t in zip(regions, ticks, strict=True))


def part_of(stencil: Stencil, region: shapely.Geometry, ticks: tuple[Tick, ...] = ()) -> Stencil:
    """What of a stencil lies in a region of its chart, as a stencil, with ticks along its new edges."""
    body = shapely.intersection(stencil.body, region)
    paper = with_art(shapely.intersection(stencil.outline, region), body)
    return replace(stencil, outline=paper, body=body,
                   keep=shapely.intersection(stencil.keep, region), ticks=(*stencil.ticks, *ticks),
                   art=stencil.art.mapped(lambda xy: xy, shapely.buffer(region, SEAM_MM, quad_segs=1)))
