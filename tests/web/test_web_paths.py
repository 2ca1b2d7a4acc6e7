"""Rings as path strings: what a browser draws of them has the area of what was meant."""

from __future__ import annotations

import re

import numpy as np
import pytest
from shapely.geometry import Polygon

from composer.filler.dots import dot_rings
from web.paint.paths import MANY, parted, path_data


def drawn(d: str) -> list[Polygon]:
    """Polygons of a path of M, l and z, in mm, y up."""
    out = []
    for part in d.split("M")[1:]:
        head, moves = part.rstrip("z").split("l")
        at = np.array(re.findall(r"-?\d+", head), float)
        step = np.array(re.findall(r"-?\d+", moves), float).reshape(-1, 2)
        out.append(Polygon(np.vstack([at, at + np.cumsum(step, axis=0)]) / (100, -100)))
    return out


def test_dots_keep_place_and_area() -> None:
    rng = np.random.default_rng(3)
    at, r = rng.uniform(-60, 60, (1000, 2)), rng.uniform(0.12, 0.5, 1000)
    shapes = drawn(path_data(dot_rings(at, r)))
    assert len(shapes) == 1000
    middle = np.array([s.centroid.coords[0] for s in shapes])
    assert np.abs(middle - at).max() < 0.012
    area = np.array([s.area for s in shapes])
    assert area.sum() == pytest.approx(np.pi * (r**2).sum(), rel=0.02)
    assert np.abs(np.sqrt(area / np.pi) - r).max() < 0.02


def test_other_rings_among_dots_are_drawn_as_they_are() -> None:
    rng = np.random.default_rng(4)
    dots = dot_rings(rng.uniform(-60, 60, (MANY, 2)), np.full(MANY, 0.25))
    bar = np.array([[0, 0], [0.9, 0], [0.9, 0.1], [0.45, 0.12], [0, 0.1]])
    big = dot_rings(np.zeros((1, 2)), np.array([5.0]))[0]
    strings, rest = parted([*dots, bar, big])
    assert len(strings) == MANY and {len(r) for r in rest} == {5, 9} and len(rest) == 2
    shapes = drawn(path_data([*dots, bar, big]))
    assert sum(s.area for s in shapes if s.area > 1) == pytest.approx(np.pi * 25, rel=0.01)
    long = [s.area for s in shapes if s.bounds[2] - s.bounds[0] == pytest.approx(0.9)]
    assert long == pytest.approx([0.1], abs=0.011)


def test_few_rings_keep_every_corner() -> None:
    ring = dot_rings(np.zeros((1, 2)), np.array([0.4]))[0]
    assert len(drawn(path_data([ring], 0.0))[0].exterior.coords) == 10
