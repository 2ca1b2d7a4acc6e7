"""Banks of cloud as an artist first sets them down: outlines with their hooks and curls, the one before hiding the
next, and the shade behind each crest. What `cloud_ink.compose` makes of the same banks is the finished drawing.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, Layer
from composer.filler.closing import in_one, sound, thinned, united
from composer.filler.cloud_ink import PALE, Bank, ribbon_rings
from composer.filler.cloud_lines import Line, Pen, contour, runs
from composer.filler.cloud_stage import Stage
from composer.plan.model import Hand

ROUGH_MM = 0.12
"""How roughly a sketch tells what lies before what."""
SHADE = ("mid", 0.13)
"""The wash of a sketch and how far it reaches behind a crest, in the thickness of the bank that lies in it."""


def sketched(banks: Sequence[Bank], stage: Stage, pen: Pen, hand: Hand) -> Drawing | None:
    """Banks back to front as a sketch; None when nothing of them is seen."""
    outlines = np.array([*(b.outline for b in banks), None], dtype=object)[:-1]
    if not len(outlines):
        return None
    light = thinned(outlines, ROUGH_MM)
    shapely.prepare(light)
    shapely.prepare(stage.room)
    tree = shapely.STRtree(outlines)
    lines: list[Line] = []
    shades: list[BaseGeometry] = []
    shown = np.zeros(len(banks), bool)
    for i, bank in enumerate(banks):
        over = np.sort(tree.query(outlines[i], predicate="intersects"))
        over = over[over > i]
        strokes = bank.laid(contour(bank.crest, pen))
        kept = in_view(strokes, light[over], stage.room)
        shown[i] = bool(kept)
        lines += kept
        if kept and len(over) and hand.dark > PALE:
            shades.append(shade(bank, light[i], light[over], SHADE[1] * (0.5 + hand.dark)))
    if not lines:
        return None
    ink = stage.kept(shapely.buffer(in_one(ribbon_rings(lines, 1.12 * pen.least_mm)), 0.0))
    layers = [Layer.of(SHADE[0], stage.kept(united(shades)))] if shades else []
    layers.append(Layer.of("line", ink))
    body = shapely.buffer(in_one(light[shown]), pen.outline_mm / 2, quad_segs=2)
    return Drawing.of(stage.kept(body), tuple(la for la in layers if la.rings))


def in_view(lines: Sequence[Line], before: np.ndarray, room: BaseGeometry) -> list[Line]:
    """The stretches of strokes that lie in the room (prepared) and behind nothing of what stands `before` them (n,),
    prepared areas."""
    xy = np.concatenate([line.path for line in lines])
    x, y = xy.T
    hidden = ~shapely.contains_xy(room, x, y)
    for area in before:
        hidden |= shapely.contains_xy(area, x, y)
    out: list[Line] = []
    cut = np.cumsum([len(line.path) for line in lines])[:-1]
    for line, gone in zip(lines, np.split(hidden, cut), strict=True):
        if not gone.all():
            out += runs(line.path, line.width, gone, line.row, line.start, line.end)
    return out


def shade(bank: Bank, body: BaseGeometry, before: np.ndarray, share: float) -> BaseGeometry:
    """What of a bank lies in the shade of those before it."""
    x0, y0, x1, y1 = body.bounds
    far = share * bank.shape.thick_mm
    near = shapely.clip_by_rect(before, x0 - far, y0 - far, x1 + far, y1 + far)
    cover = in_one(near)
    wide = shapely.buffer(cover, far, quad_segs=2)
    lit = shapely.difference(shapely.intersection(wide, sound(body)), shapely.buffer(cover, 0.0))
    return in_one(lit) if not lit.is_empty else Polygon()
