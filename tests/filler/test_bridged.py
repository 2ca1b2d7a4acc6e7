"""Strokes that all but touch are joined, and nothing else is changed."""

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from composer.art.drawing import Drawing, Layer, geometry_to_rings
from composer.filler.bridged import bridged, facing
from composer.filler.cloud_lines import Pen

PEN = Pen(0.84, 0.6, 0.5, 2.75, 0.38)


def inked(shape: shapely.Geometry) -> Drawing:
    rings = tuple(geometry_to_rings(shape))
    return Drawing(rings, (Layer("line", rings),), (), {})


def two(apart: float) -> shapely.Geometry:
    """A stroke with a cusp on its side, and below it another whose end splays towards that."""
    upper = LineString([(-12, 0), (12, 0)]).buffer(0.45).union(Polygon([(-0.6, -0.3), (0.6, -0.3), (0.0, -1.1)]))
    y = -1.1 - apart
    lower = LineString([(0, y - 9), (0, y - 0.8)]).buffer(0.45, cap_style="flat")
    return upper.union(lower.union(Polygon([(-0.45, y - 1.0), (0.45, y - 1.0), (0.0, y)])))


def test_cusps_that_face_one_another_are_joined_and_far_ones_are_left() -> None:
    for apart in (0.5, 1.0, 1.4):
        ink = two(apart)
        assert len(shapely.get_parts(ink)) == 2 and len(facing(tuple(geometry_to_rings(ink)), 1.6)) == 1
        made = bridged(inked(ink), PEN, 2.0).ink("line")
        assert len(shapely.get_parts(made)) == 1
        added = made.difference(ink.buffer(0.01))
        assert added.area < 4.0 and added.distance(shapely.Point(0, -1.1 - apart / 2)) < 0.1
        assert shapely.difference(ink, made.buffer(0.02)).is_empty
        neck = shapely.intersection(made, LineString([(-2, -1.1 - apart / 2), (2, -1.1 - apart / 2)])).length
        assert neck >= PEN.least_mm
    apart = inked(two(2.2))
    assert bridged(apart, PEN, 2.0) is apart


def test_the_corners_of_one_end_do_not_face_one_another() -> None:
    cut = inked(LineString([(0, 0), (20, 0)]).buffer(0.45, cap_style="flat"))
    assert bridged(cut, PEN, 2.0) is cut
    assert facing((), 1.6).shape == (0, 2, 2) and facing((np.array([(0.0, 0), (4, 0), (0, 4)]),), 1.6).shape[0] == 0
