"""What hides: a piece in another one's chart, grown by the skin break, and what of it the cut needs.

The chart is looked at in square tiles, so that a cut can be worked out tile by tile and only where
something changed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.filler.clip import GIVE_MM, SLIVER_MM

TILE_MM = 30.0
Tile = tuple[int, int]


@dataclass(frozen=True, eq=False)
class Front:
    """Something that hides in a chart: the area `hidden`, mm. Ink within `near_mm` of the cut is tidied."""

    hidden: BaseGeometry
    near_mm: float

    @cached_property
    def _light(self) -> BaseGeometry:
        return shapely.simplify(self.hidden, 0.05)

    @cached_property
    def give(self) -> BaseGeometry:
        """What line work of a filler is kept clear of."""
        return shapely.buffer(self._light, GIVE_MM + 0.05, quad_segs=4)

    @cached_property
    def near(self) -> BaseGeometry:
        return shapely.buffer(self._light, self.near_mm + 0.05, quad_segs=4)

    @cached_property
    def strip(self) -> BaseGeometry:
        """`near` and as much more as it takes to tell what is too thin there."""
        return shapely.buffer(self._light, self.near_mm + 1.1 * SLIVER_MM, quad_segs=4)

    @cached_property
    def tiles(self) -> frozenset[Tile]:
        """Tiles through which the cut along this runs."""
        x0, y0, x1, y1 = np.floor((np.array(self.hidden.bounds) + np.array([-1, -1, 1, 1]) * self.near_mm) / TILE_MM)
        ij = np.stack(np.meshgrid(np.arange(x0, x1 + 1), np.arange(y0, y1 + 1)), -1).reshape(-1, 2).astype(int)
        rim = self.hidden.boundary
        shapely.prepare(rim)
        return frozenset(map(tuple, ij[shapely.dwithin(rim, boxes(ij), self.near_mm + 0.1)].tolist()))


def boxes(tiles: np.ndarray, grown_mm: float = 0.0) -> np.ndarray:
    """Tiles (n, 2) as polygons, grown on all sides."""
    low = np.asarray(tiles, float).reshape(-1, 2) * TILE_MM
    return shapely.box(*(low - grown_mm).T, *(low + TILE_MM + grown_mm).T)
