"""What of a ground is worth drawing on: the skin in view, and how far art runs on out of view."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.filler.ground import Ground, Wish

NARROW_MM = 2.2
"""Half the width of a channel between pieces that is left as skin."""

SPILL_MM = 30.0
"""How far a shape may run out over open skin beside the ground rather than be cut off."""


@dataclass(frozen=True)
class Stage:
    """`target`: what is to be covered, the open skin and a little behind what lies in front.
    `seen`: wherever art of this filler can come into view or lies tucked; strokes clear of it are
    not drawn. `barred`: skin on the far side of a piece, that belongs to another gap."""

    target: BaseGeometry
    seen: BaseGeometry
    barred: BaseGeometry


def stage_of(ground: Ground, wish: Wish) -> Stage:
    """The stage of a ground. Where pieces bound the open skin, art goes `wish.tuck_mm` on behind
    them; where the skin is open, shapes may run out whole."""
    tuck = ground.skin_break_mm + wish.tuck_mm
    near = shapely.buffer(ground.free, tuck, quad_segs=3)
    target = shapely.intersection(near, ground.region)
    if target.is_empty:
        target = ground.free
    if ground.front.is_empty:
        return Stage(target, shapely.intersection(shapely.buffer(target, SPILL_MM), ground.region), Polygon())
    wide = shapely.intersection(shapely.buffer(ground.free, SPILL_MM, quad_segs=4), ground.region)
    skin = shapely.difference(wide, shapely.buffer(ground.front, ground.skin_break_mm, quad_segs=4))
    roomy = shapely.buffer(shapely.buffer(skin, -NARROW_MM, quad_segs=3), NARROW_MM + 0.4, quad_segs=3)
    parts = shapely.get_parts(roomy)
    reached = shapely.dwithin(parts, ground.free, 0.5) if len(parts) else np.zeros(0, bool)
    open_skin = shapely.union_all([*parts[reached], target])
    barred = shapely.difference(shapely.buffer(shapely.difference(skin, open_skin), 3.0, quad_segs=3),
                                shapely.buffer(open_skin, 0.01, quad_segs=2))
    return Stage(target, open_skin, barred)


def widened(ground: Ground, stage: Stage) -> Ground:
    """The ground with the open skin that shapes may run out over counted as free."""
    hidden = shapely.buffer(ground.front, ground.skin_break_mm, quad_segs=8)
    return replace(ground, free=shapely.union(ground.free, shapely.difference(stage.seen, hidden)))
