"""Rays on the gap shapes: the kit, straight and from one point, long and short, even spacing."""

import numpy as np
import pytest
import shapely

from benchmarks.gap_shapes import shapes
from composer.filler import rays
from composer.filler.cloud import pen_of
from composer.filler.ground import Wish
from composer.filler.rays import fan
from composer.filler.testkit import faults
from composer.plan.model import Hand

GROUNDS = shapes()
PEN = pen_of(Hand(), Wish(), 2.0)
FIELD = shapely.box(-50, -10, 50, 70)


@pytest.mark.parametrize("way", list(rays.STYLES))
def test_every_way_passes_the_kit_on_the_gap_shapes(way: str) -> None:
    assert faults("rays", {k: GROUNDS[k] for k in ("wide_pocket", "tall_leaf", "cuff_strip", "big_field")},
                  ways=(way,)) == []


def test_all_rays_point_at_their_source() -> None:
    lines, _ = fan(FIELD, -30j, 1.6, PEN, Wish(), "point", np.random.default_rng(1))
    assert len(lines) > 12
    for line in lines:
        a, b = (complex(*p) + 30j for p in line.path[[0, -1]])
        assert abs(np.angle(b / a)) < 1e-6 and abs(b) > abs(a)


def test_long_and_short_take_turns_and_the_spacing_stays_even() -> None:
    lines, spots = fan(FIELD, -30j, 1.6, PEN, Wish(), "point", np.random.default_rng(1))
    long = np.array([np.hypot(*(x.path[-1] - x.path[0])) for x in lines])
    assert long.max() > 2.5 * long.min() and len(spots)
    shapes_ = [shapely.linestrings(x.path) for x in lines]
    near = [min(a.distance(b) for b in shapes_ if b is not a) for a in shapes_]
    assert min(near) > PEN.pitch_mm
    assert np.percentile(near, 90) < 4 * min(near)


def test_a_ray_tapers() -> None:
    lines, _ = fan(FIELD, -30j, 1.6, PEN, Wish(), "point", np.random.default_rng(2))
    assert all(x.width[-1] < 0.35 * x.width.max() for x in lines)
