"""The half of a gap that a symmetric filigree is drawn in: the skin that has its mirror image
in the gap, turned so that the mirror axis is the y axis, to the right of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, box

from composer.filler.filigree_room import Room, skin_to_draw
from composer.filler.ground import Ground

LEAST_AXIS_MM = 9.0


@dataclass(frozen=True)
class HalfGap:
    """`room` of the half (a little of the other half included: the axis is no wall), `root` and
    `top` of the stem on the axis (y in mm), `low` and `high` of the whole axis in the room,
    `tucked` whether the root goes behind something in front, `turn_deg` by which the gap was
    turned about the origin."""

    room: Room
    root: float
    top: float
    low: float
    high: float
    tucked: bool
    turn_deg: float


@lru_cache(maxsize=32)
def half_of(ground: Ground) -> HalfGap | None:
    """The right half, or None if the mirror axis does not run through the gap for 9 mm. Of the
    two ways up, the one in which the root can go behind a neighbour."""
    turn = 90.0 - float(ground.symmetry_deg or 0.0)
    up = _half(ground, turn)
    if up is None or up.tucked:
        return up
    down = _half(ground, turn + 180.0)
    return down if down is not None and down.tucked else up


def _half(ground: Ground, turn: float) -> HalfGap | None:
    free = affinity.rotate(skin_to_draw(ground), turn, origin=(0, 0))
    both = free.intersection(affinity.scale(free, -1.0, 1.0, origin=(0, 0)))
    if both.is_empty:
        return None
    _, y0, x1, y1 = both.bounds
    axis = both.buffer(-0.8).intersection(LineString([(0, y0 - 5), (0, y1 + 5)]))
    runs = [g for g in getattr(axis, "geoms", [axis]) if g.length >= LEAST_AXIS_MM]
    if not runs:
        return None
    run = max(runs, key=lambda g: g.length)
    low, high = run.bounds[1], run.bounds[3]
    middle = Point(0, (low + high) / 2)
    parts = [p for p in getattr(both, "geoms", [both]) if p.distance(middle) < 0.1]
    kept = shapely.union_all(parts).intersection(box(-9.0, y0 - 1, x1 + 1, y1 + 1))
    front = affinity.rotate(ground.front, turn, origin=(0, 0))
    tucked = shapely.contains_xy(front, 0.0, low - ground.skin_break_mm - 2.0)
    return HalfGap(Room(kept), low, high, y0 - 2, y1 + 2, bool(tucked), turn)
