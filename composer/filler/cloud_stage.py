"""What of a ground is worth drawing on: the skin in view, and how far art runs on out of view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.filler.clip_memo import by_identity
from composer.filler.ground import Ground, Wish

NARROW_MM = 2.2
"""Half the width of a channel between pieces that is left as skin."""

SPILL_MM = 46.0
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

    def each_kept(self, shapes: Sequence[BaseGeometry] | np.ndarray) -> np.ndarray:
        """Shapes, each cut to the room."""
        out = np.array([*shapes, Polygon()], dtype=object)[:-1]
        shapely.prepare(self.room)
        over = ~shapely.covers(self.room, out)
        out[over] = shapely.intersection(out[over], self.room)
        return out


def stage_of(ground: Ground, wish: Wish) -> Stage:
    """The stage of a ground. Where pieces bound the open skin, art goes `wish.tuck_mm` on behind
    them; where the skin is open, shapes may run out whole."""
    return _stage(ground.free, ground.region, ground.front, ground.skin_break_mm, wish.tuck_mm)


@by_identity
def _stage(free: BaseGeometry, region: BaseGeometry, front: BaseGeometry, skin_break_mm: float,
           tuck_mm: float) -> Stage:
    tuck = skin_break_mm + tuck_mm
    rough = shapely.simplify(free, 0.3)
    target = shapely.intersection(shapely.buffer(rough, tuck, quad_segs=2), region)
    if target.is_empty:
        target = free
    wide = shapely.intersection(shapely.buffer(rough, SPILL_MM, quad_segs=2), region)
    if front.is_empty:
        return Stage(target, wide, wide)
    about = shapely.buffer(wide, 12.0, quad_segs=1)
    ahead = shapely.simplify(shapely.intersection(front, about), 0.4)
    off = shapely.simplify(shapely.buffer(ahead, skin_break_mm, quad_segs=2), 0.15)
    skin = shapely.difference(wide, off)
    parts = shapely.get_parts(shapely.buffer(skin, -NARROW_MM, quad_segs=1))
    parts = parts[shapely.dwithin(parts, rough, NARROW_MM + 0.7)] if len(parts) else parts
    seen = shapely.union_all([*shapely.buffer(parts, NARROW_MM + 0.4, quad_segs=2), rough])
    seen = shapely.simplify(seen, 0.1)
    room = shapely.union(shapely.difference(shapely.union(seen, wide), shapely.difference(skin, seen)), free)
    return Stage(target, shapely.union(seen, target), room)


def rim_of(ground: Ground) -> BaseGeometry:
    """The line at which the ground's open skin ends, beside pieces in front and along cuffs; where it is only parted
    from the next gap's there is none."""
    return _rim(ground.free, ground.front, ground.edge, ground.skin_break_mm)


@by_identity
def _rim(free: BaseGeometry, front: BaseGeometry, edge: BaseGeometry, skin_break_mm: float) -> BaseGeometry:
    near = [shapely.buffer(front, skin_break_mm + 0.3, quad_segs=4), shapely.buffer(edge, 0.8, quad_segs=2)]
    return shapely.intersection(free.boundary, shapely.union_all(near))


@by_identity
def _widened(free: BaseGeometry, seen: BaseGeometry, room: BaseGeometry) -> BaseGeometry:
    return shapely.buffer(shapely.union(free, shapely.intersection(seen, room)), 0.4, quad_segs=3)


def widened(ground: Ground, stage: Stage) -> Ground:
    """The ground with the open skin that shapes may run out over counted as free."""
    return replace(ground, free=_widened(ground.free, stage.seen, stage.room))
