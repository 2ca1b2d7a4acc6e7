"""How the strokes of a filler end, seen on the ink: a tip, a ball, tucked behind something, or bare."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing
from composer.filler.clip import visible
from composer.filler.ground import Ground
from composer.filler.one_turn import OVER_MM, goes_round, turned
from composer.filler.skeleton import StrokeEnd, ends_of
from composer.plan.model import Hand

LINES = ("line", "black")
"""Layers that strokes are read from."""
WALL_MM = 1.0
"""An end so near to the edge of the open skin lies at it."""
ON_MM = 1.4
"""The drawing goes on there if it has ink beyond the edge within so much."""
CUT_MM = 0.4
"""And one whose ink comes so near may be cut off by it; one that only passes by is not."""


def seen_of(drawing: Drawing, ground: Ground, hand: Hand) -> Drawing:
    """What is seen of the line work and black of an unclipped drawing; washes are left out."""
    lines = Drawing.of(drawing.outline, tuple(la for la in drawing.layers if la.role in LINES), drawing.ends,
                       drawing.notes)
    seen = visible(lines, ground.front, ground.skin_break_mm, 0.9 * hand.fine_mm, ground.line_gap_mm)
    return replace(seen, layers=tuple(la for la in seen.layers if la.role in LINES))


def ink_of(seen: Drawing, ground: Ground) -> BaseGeometry:
    """The ink (mm) of what is seen, on the open skin."""
    return shapely.intersection(*(shapely.make_valid(g) for g in (seen.ink(*LINES), ground.free)))


def classed(ends: Sequence[StrokeEnd], drawing: Drawing, ground: Ground) -> tuple[list[str], list[bool]]:
    """The class of each end, and whether it is a bare one that is cut off at the edge of the skin: its ink ends at it,
    or runs towards it. An end at the edge is tucked when the drawing goes on beyond it. It lies where its ink ends, or
    where its centre line does."""
    if not ends:
        return [], []
    xy = np.array([(e.x, e.y) for e in ends])
    a, ahead = np.radians([e.out_deg for e in ends]), np.array([[e.ahead_mm] for e in ends])
    way = np.column_stack([np.cos(a), np.sin(a)])
    at, last = shapely.points(xy), shapely.points(xy + ahead * way)
    rim, beyond = ground.free.boundary, _beyond(drawing, ground)
    edge = np.minimum(shapely.distance(rim, at), shapely.distance(rim, last)) < WALL_MM
    on = (np.minimum(shapely.distance(beyond, at), shapely.distance(beyond, last)) < ON_MM
          if not beyond.is_empty else np.zeros(len(at), bool))
    out_to = shapely.linestrings(np.stack([xy, xy + (ahead + WALL_MM) * way], axis=1))
    cut = edge & ((shapely.distance(rim, last) < CUT_MM) | shapely.intersects(rim, out_to))
    how = ["tucked" if near and goes_on else "bare" if e.how == "blunt" else e.how
           for e, near, goes_on in zip(ends, edge, on, strict=True)]
    return how, [h == "bare" and bool(off) for h, off in zip(how, cut, strict=True)]


def bare_ends(ink: BaseGeometry, drawing: Drawing, ground: Ground, hand: Hand,
              near: tuple[float, float, float] | None = None) -> list[StrokeEnd]:
    """The ends of seen ink that are bare; `near`: only those around (x, y) within so many mm."""
    rim, beyond = ground.free.boundary, _beyond(drawing, ground)

    def open_skin(xy: np.ndarray) -> np.ndarray:     # what lies at the edge and goes on is tucked, whatever its shape
        at = shapely.points(xy)
        out = ~(shapely.dwithin(rim, at, 0.99 * WALL_MM) & shapely.dwithin(beyond, at, 0.99 * ON_MM))
        return out if near is None else out & (np.hypot(*(xy - near[:2]).T) < near[2])

    blunt = [e for e in ends_of(ink, needle_mm=hand.fine_mm, of_note=open_skin) if e.how == "blunt"]
    bare = [e for e, how in zip(blunt, classed(blunt, drawing, ground)[0], strict=True) if how == "bare"]
    return _open_after_a_turn(bare, drawing, ground) if bare else []


def _open_after_a_turn(ends: list[StrokeEnd], drawing: Drawing, ground: Ground) -> list[StrokeEnd]:
    """The ends at which a drawing that goes right round the limb does not run into itself."""
    if ground.place is None or not goes_round(ground.free, ground.place.patch):
        return ends
    copies = [turned(drawing.ink(*LINES), ground.place.patch, k) for k in (-1, 1)]
    met = shapely.dwithin(np.array(copies)[:, None], shapely.points([(e.x, e.y) for e in ends]), OVER_MM).any(axis=0)
    return [e for e, off in zip(ends, ~met, strict=True) if off]


def _beyond(drawing: Drawing, ground: Ground) -> BaseGeometry:
    return shapely.difference(drawing.ink(*LINES), ground.free)
