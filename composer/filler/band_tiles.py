"""Tiles of a geometric band, drawn in mm: x across the tile from 0 to its width, q from its middle up.

Black with skin reserved in it, every open place wider than the line gap. Tiles fit edge to edge.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import shapely
from shapely import affinity
from shapely.geometry import Point, Polygon, box
from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True)
class Tile:
    """`ink(wide, size, gap)`: the black of one tile that is `wide` mm across at a `size` (1 is as drawn) and
    keeps the line gap; `wash(wide, size)`: what is toned in it; `wide_mm`, `tall_mm` at size 1."""

    title: str
    wide_mm: float
    tall_mm: float
    ink: Callable[[float, float, float], BaseGeometry]
    wash: Callable[[float, float], BaseGeometry]


def _lozenge(wide: float, size: float, grow: float = 1.0) -> Polygon:
    a, b = grow * (wide / 2 - 0.85 * size), grow * 5.1 * size
    return Polygon([(wide / 2 - a, 0), (wide / 2, b), (wide / 2 + a, 0), (wide / 2, -b)])


def lozenge_ink(wide: float, size: float, gap: float) -> BaseGeometry:
    """Lozenges of skin in black, in each a smaller black one."""
    black = shapely.difference(box(0, -6 * size, wide, 6 * size), _lozenge(wide, size))
    inner = _lozenge(wide, size, 0.33)
    clear = inner.distance(_lozenge(wide, size).exterior)
    return shapely.union(black, inner) if clear > gap + 0.1 else black


def lozenge_wash(wide: float, size: float) -> BaseGeometry:
    """The lower half of each lozenge."""
    return shapely.intersection(_lozenge(wide, size), box(0, -6 * size, wide, 0))


def _arch(wide: float, size: float, a: float, b: float) -> BaseGeometry:
    """Half an ellipse on the tile's lower edge: `a` mm to either side of the middle, `b` mm tall, at size 1."""
    low = -4.0 * size
    disc = affinity.scale(Point(wide / 2, low).buffer(1.0, quad_segs=20), a * wide / 11.0, b * size)
    return shapely.intersection(disc, box(0, low, wide, 9 * size))


def scallop_ink(wide: float, size: float, gap: float) -> BaseGeometry:
    """Shells of skin, black between them, in each a black heart."""
    black = shapely.difference(box(0, -4.0 * size, wide, 4.0 * size), _arch(wide, size, 4.95, 7.1))
    heart = _arch(wide, size, 2.2 if size > 0.9 else 1.6, 3.9)
    return shapely.union(black, heart)


def scallop_wash(wide: float, size: float) -> BaseGeometry:
    """The shells' outer rim."""
    return shapely.difference(_arch(wide, size, 4.95, 7.1), _arch(wide, size, 3.9, 5.6))


def stepped_ink(wide: float, size: float, gap: float) -> BaseGeometry:
    """Stepped teeth from below and from above, a stepped channel of skin between them that runs on from tile to
    tile."""
    share = wide / 17.0
    parts = []
    for k in range(3):
        half, y0, y1 = (8.5, 4.5, 2.0)[k] * share, (-6 + 2.1 * k) * size, (-6 + 2.1 * (k + 1)) * size
        parts.append(box(wide / 2 - half, y0, wide / 2 + half, y1))
        parts += [box(0, -y1, half, -y0), box(wide - half, -y1, wide, -y0)]
    return shapely.union_all(parts)


TILES = {
    "lozenge": Tile("Band of lozenges", 11.0, 12.0, lozenge_ink, lozenge_wash),
    "scallop": Tile("Band of scallops", 11.0, 8.0, scallop_ink, scallop_wash),
    "stepped": Tile("Band of steps", 17.0, 12.0, stepped_ink, lambda wide, size: Polygon()),
}
