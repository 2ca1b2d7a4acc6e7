"""Banks of cloud as an artist first sets them down: outlines with their hooks and curls, the one before hiding the
next, and the shade behind each crest. What `cloud_ink.compose` makes of the same banks is the finished drawing.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, Layer
from composer.filler.closing import all_in_one, in_one, thinned
from composer.filler.cloud_ink import PALE, Bank, all_sound
from composer.filler.cloud_lay import bent
from composer.filler.cloud_lines import Pen
from composer.filler.cloud_stage import Stage
from composer.filler.cloud_strokes import contours, covered
from composer.plan.model import Hand

ROUGH_MM = 0.12
"""How roughly a sketch tells what lies before what."""
SHADE = ("mid", 0.13)
"""The wash of a sketch and how far it reaches behind a crest, in the thickness of the bank that lies in it."""


def sketched(banks: Sequence[Bank], stage: Stage, pen: Pen, hand: Hand) -> Drawing | None:
    """Banks back to front as a sketch; None when nothing of them is seen."""
    if not banks:
        return None
    light = thinned(np.array([*(b.outline for b in banks), None], dtype=object)[:-1], ROUGH_MM)
    shapely.prepare(light)
    shapely.prepare(stage.room)
    straight = contours([b.crest for b in banks], pen)
    strokes = straight.at(bent([b.spine for b in banks], straight.bank, straight.path))
    x, y = strokes.path.T
    seen = strokes.without(~shapely.contains_xy(stage.room, x, y) | covered(strokes.path, strokes.bank, light))
    if not len(seen.owner):
        return None
    shown = np.unique(seen.owner)
    ink = shapely.buffer(in_one(held(seen.ribbons(1.12 * pen.least_mm), stage.room)), 0.0)
    layers = [Layer.of("line", ink)]
    if hand.dark > PALE:
        far = SHADE[1] * (0.5 + hand.dark) * np.array([b.shape.thick_mm for b in banks])
        layers.insert(0, Layer.of(SHADE[0], in_one(stage.each_kept(shades(light, shown, far)))))
    body = shapely.buffer(in_one(light[shown]), pen.outline_mm / 2, quad_segs=2)
    return Drawing.of(stage.kept(body), tuple(la for la in layers if la.rings))


def held(ribbons: np.ndarray, room: BaseGeometry) -> np.ndarray:
    """Strokes as polygons (n,), each cut to the room (prepared) where it runs on beyond."""
    over = ~shapely.covers(room, ribbons)
    ribbons[over] = shapely.intersection(shapely.buffer(ribbons[over], 0.0), room)
    return ribbons


def shades(bodies: np.ndarray, shown: np.ndarray, far_mm: np.ndarray) -> np.ndarray:
    """What of bodies (n,) lies in the shade of those before them, which reaches `far_mm` (n,) into each: areas (k,) of
    those that are `shown` (numbers)."""
    i, j = shapely.STRtree(bodies).query(bodies[shown], predicate="intersects")
    i, j = shown[i][j > shown[i]], j[j > shown[i]]
    near: list[BaseGeometry] = []
    low, high = np.split(shapely.bounds(bodies) + np.array([-1, -1, 1, 1]) * far_mm[:, None], 2, axis=1)
    for k in range(len(i)):
        near.append(shapely.clip_by_rect(bodies[j[k]], *low[i[k]], *high[i[k]]))
    which, of = np.unique(i, return_inverse=True)
    cover = all_in_one(np.array([*near, None], dtype=object)[:-1], of, len(which))
    lit = shapely.intersection(shapely.buffer(cover, far_mm[which], quad_segs=2), all_sound(bodies[which]))
    lit = shapely.difference(lit, shapely.buffer(cover, 0.0))
    return all_in_one(lit, np.arange(len(lit)), len(lit))
