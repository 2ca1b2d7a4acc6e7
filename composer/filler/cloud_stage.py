"""What of a ground is worth drawing on: the skin in view, and how far art runs on out of view."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.filler.clip_memo import by_identity
from composer.filler.ground import Ground, Wish

NARROW_MM = 2.2
"""Half the width of a channel between pieces that is left as skin."""

SPILL_MM = 30.0
"""How far a shape may run out over open skin beside the ground rather than be cut off."""


@dataclass(frozen=True)
class Stage:
    """`target`: what is to be covered, the open skin and a little behind what lies in front.
    `seen`: wherever art of this filler comes into view; strokes clear of it are not drawn. `room`:
    `seen` and what lies hidden next to it; the art is cut to it, behind pieces, so that nothing comes
    out on the far side of one, in a gap that is not this filler's."""

    target: BaseGeometry
    seen: BaseGeometry
    room: BaseGeometry

    def kept(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape cut to the room."""
        return shape if shapely.covers(self.room, shape) else shapely.intersection(shape, self.room)


def stage_of(ground: Ground, wish: Wish) -> Stage:
    """The stage of a ground. Where pieces bound the open skin, art goes `wish.tuck_mm` on behind
    them; where the skin is open, shapes may run out whole."""
    return _stage(ground.free, ground.region, ground.front, ground.skin_break_mm, wish.tuck_mm)


@by_identity
def _stage(free: BaseGeometry, region: BaseGeometry, front: BaseGeometry, skin_break_mm: float, tuck_mm: float) -> Stage:
    tuck = skin_break_mm + tuck_mm
    near = shapely.buffer(free, tuck, quad_segs=3)
    target = shapely.intersection(near, region)
    if target.is_empty:
        target = free
    if front.is_empty:
        open_ = shapely.intersection(shapely.buffer(target, SPILL_MM), region)
        return Stage(target, open_, open_)
    wide = shapely.intersection(shapely.buffer(free, SPILL_MM, quad_segs=4), region)
    front = shapely.simplify(shapely.intersection(front, shapely.buffer(wide, 12.0, quad_segs=2)), 0.25)
    skin = shapely.difference(wide, shapely.buffer(front, skin_break_mm, quad_segs=4))
    roomy = shapely.buffer(shapely.buffer(skin, -NARROW_MM, quad_segs=3), NARROW_MM + 0.4, quad_segs=3)
    parts = shapely.get_parts(roomy)
    reached = shapely.dwithin(parts, free, 0.5) if len(parts) else np.zeros(0, bool)
    seen = shapely.union_all([*parts[reached], free])
    hidden = shapely.buffer(front, skin_break_mm - 0.7, quad_segs=3)
    room = shapely.union_all([seen, target, shapely.intersection(hidden, shapely.buffer(seen, 60.0, quad_segs=3))])
    return Stage(target, shapely.union(seen, target), shapely.difference(room, shapely.difference(skin, seen)))


@by_identity
def _widened(free: BaseGeometry, seen: BaseGeometry, room: BaseGeometry) -> BaseGeometry:
    return shapely.buffer(shapely.union(free, shapely.intersection(seen, room)), 0.4, quad_segs=3)


def widened(ground: Ground, stage: Stage) -> Ground:
    """The ground with the open skin that shapes may run out over counted as free."""
    return replace(ground, free=_widened(ground.free, stage.seen, stage.room))
