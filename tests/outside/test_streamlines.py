"""Streamlines against fields whose streamlines are known.

References: H. Lamb, 'Hydrodynamics' (1932), plane potential flow: of a vortex they are circles, of a source with a
vortex logarithmic spirals (the angle to the radius stays), near a stagnation point hyperbolas x y = c. Even spacing:
B. Jobard and W. Lefer, 'Creating evenly-spaced streamlines of arbitrary density' (1997): lines keep their
distance.
"""

from collections.abc import Callable

import numpy as np
import pytest
import shapely

from composer.filler.cloud_lay import Field
from composer.filler.cloud_stage import stage_of
from composer.filler.ground import Ground, Wish
from composer.filler.wind import streamlines

APART_MM, LONG_MM = 8.0, 70.0
AREA = shapely.box(-30, -30, 30, 30)
MIDDLE = np.array([-70.0, -80.0])
"""Where the vortex, the source and the stagnation point lie, outside the area."""


def vortex(xy: np.ndarray) -> np.ndarray:
    d = np.asarray(xy, float) - MIDDLE
    return np.arctan2(d[:, 1], d[:, 0]) + np.pi / 2


def spiral(xy: np.ndarray) -> np.ndarray:
    d = np.asarray(xy, float) - MIDDLE
    return np.arctan2(d[:, 1], d[:, 0]) + np.radians(55.0)


def stagnation(xy: np.ndarray) -> np.ndarray:
    d = np.asarray(xy, float) - MIDDLE
    return np.arctan2(-d[:, 1], d[:, 0])


def lines_of(flow: Callable[[np.ndarray], np.ndarray]) -> list[np.ndarray]:
    ground = Ground(AREA, AREA, shapely.Polygon(), 2.0, 2.0, flow)
    field = Field(ground, AREA)
    return streamlines(field, stage_of(ground, Wish()), ground, APART_MM, LONG_MM, np.random.default_rng(0))


def strayed(flow: Callable[[np.ndarray], np.ndarray], line: np.ndarray) -> float:
    """How far, across it, a line strays from one line of the known field, mm."""
    x, y = (line - MIDDLE).T
    r = np.hypot(x, y)
    if flow is vortex:
        return float(np.ptp(r))
    if flow is spiral:      # r = r0 exp(theta / tan a): what r is off lies aslant to the line by a
        a = np.radians(55.0)
        return float(np.ptp(np.log(r) - np.unwrap(np.arctan2(y, x)) / np.tan(a)) * r.mean() * np.sin(a))
    return float(np.ptp(x * y) / r.mean())      # the gradient of x y is as long as r


@pytest.mark.parametrize("flow", [vortex, spiral, stagnation])
def test_lines_are_those_of_the_known_field_and_evenly_apart(flow: Callable[[np.ndarray], np.ndarray]) -> None:
    lines = lines_of(flow)
    assert len(lines) >= 5
    assert max(strayed(flow, line) for line in lines) < 0.1
    drawn = [shapely.LineString(line) for line in lines]
    assert min(a.distance(b) for i, a in enumerate(drawn) for b in drawn[:i]) > APART_MM - 0.5
