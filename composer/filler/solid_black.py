"""How much solid black a filler carries beside a piece: less beside a dark one, more beside a pale one.

The field of tone says how far contrast moves background away from its base beside a piece (`compose.tone_contrast`).
Where it asks for paler background than the base, black that is wider than a form needs is opened: its outline stays,
skin shows inside, the wider the paler it has to be. Where it asks for darker, small spots of skin within the black
close. Falls at cuffs and shade lines have no say: they thin lines out (`graded`).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.filler.closing import in_one
from composer.filler.lightning_bolt import hollow
from composer.filler.tone_grid import ToneGrid
from composer.plan.model import Hand

OPENED = ((0.86, 4.5), (0.55, 1.5))
"""Below these shares of the base, black wider inside than the line gap and so many mm more is opened."""
FILLED, SPOT_MM2 = 1.14, 16.0
"""Above this share of the base, spots of skin in the black smaller than this close."""
ROUND_MM = 1.2
"""Skin that is opened ends as round as this where the black may stay."""
LEAST_MM2 = 14.0
"""Smaller openings are left black."""
LEAST_FALL = 0.3


def moved(grid: ToneGrid) -> bool:
    """Whether contrast asks for paler or darker background anywhere on a ground."""
    if grid.base <= 0:
        return False
    share = _share(grid)
    return bool(share.min() < OPENED[0][0] or share.max() > FILLED)


def weighed(ink: BaseGeometry, grid: ToneGrid, hand: Hand, line_gap_mm: float) -> BaseGeometry:
    """Line work and black with as much solid black as contrast beside pieces asks for; the same object where it asks
    for nothing."""
    share = _share(grid)
    for level, wider in OPENED:
        if share.min() >= level:
            continue
        pale = in_one(shapely.difference(grid.area(share, -1.0), grid.area(share, level)))
        white = shapely.intersection(_within(ink, hand.line_mm, line_gap_mm, line_gap_mm + wider), pale)
        white = shapely.buffer(shapely.buffer(white, -ROUND_MM, quad_segs=4), ROUND_MM, quad_segs=4)
        parts = shapely.get_parts(white)
        parts = parts[shapely.area(parts) > LEAST_MM2]
        if len(parts):
            ink = shapely.difference(ink, shapely.union_all(parts))
    if share.max() > FILLED:
        spots = _spots(ink, grid.area(share, FILLED))
        if spots:
            ink = shapely.union_all([ink, *spots])
    return ink


def _share(grid: ToneGrid) -> np.ndarray:
    """The tone at the nodes before it falls off, as a share of the base; 1 where little is left of it."""
    return np.where(grid.falls > LEAST_FALL, grid.tone / np.maximum(grid.falls, LEAST_FALL) / grid.base, 1.0)


def _within(ink: BaseGeometry, line_mm: float, gap_mm: float, wide_mm: float) -> BaseGeometry:
    """What lies within the outline of black that is so wide inside, as far as a line gap stays open."""
    r = line_mm + 0.5 * wide_mm
    core = shapely.buffer(ink, -r, quad_segs=2) if may_hold(ink, 0.92 * r) else Polygon()   # chords fall short
    if core.is_empty:
        return core
    about = shapely.buffer(core, 1.1 * wide_mm, quad_segs=4)
    near = shapely.intersection(ink, shapely.buffer(about, 2.0 * line_mm + gap_mm, quad_segs=2))
    return shapely.intersection(hollow(near, line_mm, gap_mm + 0.2), about)


CROSS = ((0, 1), (0, 2), (1, 0), (2, 0), (1, 1), (1, -1))
"""Steps on the raster to nodes that a disc holds besides the one nearest to its middle, to either side."""


def may_hold(ink: BaseGeometry, r_mm: float) -> bool:
    """Whether a disc of this radius may lie within an area; told on a raster, a tenth of the time that shrinking takes.

    Steps of 0.35 radii: the node nearest to the disc's middle is at most 0.25 off it, so the disc holds all nodes
    within 0.75 of that one."""
    rings = shapely.get_rings(shapely.get_parts(ink))
    at, ring = shapely.get_coordinates(rings, return_index=True)
    if not len(at):
        return False
    z = (at - at.min(axis=0)) / (0.35 * r_mm) + 1.5
    (x, y), (dx, dy) = z[:-1].T, np.diff(z, axis=0).T
    low, high = np.ceil(np.minimum(y, y + dy)).astype(int), np.ceil(np.maximum(y, y + dy)).astype(int)
    count = np.where(ring[1:] == ring[:-1], high - low, 0)      # nodes' rows that each edge crosses
    edge = np.repeat(np.arange(len(count)), count)
    row = low[edge] + np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    column = np.ceil(x[edge] + (row - y[edge]) / dy[edge] * dx[edge]).astype(int)
    rows, columns = (int(v) + 3 for v in z.max(axis=0)[::-1])
    odd = np.bincount(row * columns + column, minlength=rows * columns).reshape(rows, columns) % 2
    inside = np.logical_xor.accumulate(odd.astype(bool), axis=1)
    held = inside.copy()
    for i, j in CROSS:
        for a, b in ((i, j), (-i, -j)):
            held &= np.roll(inside, (a, b), (0, 1))
    return bool(held.any())


def _spots(ink: BaseGeometry, where: BaseGeometry) -> Sequence[BaseGeometry]:
    """Small holes of the ink whose middle lies in an area."""
    holes = [Polygon(h) for p in shapely.get_parts(ink) if p.geom_type == "Polygon" for h in p.interiors]
    small = [h for h in holes if h.area < SPOT_MM2]
    if not small:
        return []
    hit = shapely.intersects(where, shapely.centroid(small))
    return [h for h, ok in zip(small, hit, strict=True) if ok]
