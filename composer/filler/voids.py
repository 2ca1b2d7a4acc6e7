"""The empty places that are left in a ground once the main forms lie in it."""

from __future__ import annotations

import numpy as np
from shapely.geometry.base import BaseGeometry

from composer.filler.filigree_room import Room


def voids(free: BaseGeometry, taken: BaseGeometry, least_mm: float, most_mm: float, apart_mm: float,
          cell_mm: float = 0.8, count: int = 400) -> np.ndarray:
    """Empty circles (m, 3), x, y and radius in mm, the largest first: each touches what is `taken`, the
    edge of `free` or lies `apart_mm` from a circle before it. None is larger than `most_mm`, the
    search ends where none of `least_mm` is left."""
    room = Room(free, cell_mm)
    left = room.wall.copy()
    if not taken.is_empty:
        left = np.minimum(left, -Room(taken, cell_mm, free.bounds).wall)
    out: list[tuple[float, float, float]] = []
    while len(out) < count:
        k = int(np.argmax(left))
        r = float(left.flat[k])
        if r < least_mm:
            break
        z = room.grid.flat[k]
        r = min(r, most_mm)
        out.append((float(z.real), float(z.imag), r))
        left = np.minimum(left, np.abs(room.grid - z) - r - apart_mm)
    return np.array(out).reshape(-1, 3)
