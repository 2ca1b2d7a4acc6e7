"""A gap is tied in by what lies over much of it, not by what crosses its middle."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from composer.art.drawing import Drawing, geometry_to_rings
from composer.body.limb import Level, Limb
from composer.compose.gaps import Gap
from composer.filler.held import REACH_MM, holds, share_reached
from composer.plan.model import Piece, Recipe
from composer.plan.scene import Laid, lay

GIRTH = 300.0
LIMB = Limb((Level("far", 0.0, GIRTH), Level("near", 400.0, GIRTH)))
BOX = np.array([(-30.0, 170.0), (30.0, 170.0), (30.0, 230.0), (-30.0, 230.0)]) / (GIRTH, 1.0)

HALF_TURN = np.array([0.5, 0.0])


def gap(ring: np.ndarray = BOX) -> Gap:
    return Gap("g", 1, (ring,), 3600.0, 60.0, tuple(ring.mean(axis=0)), (), 90.0, 85.0)


def filler(form: shapely.Geometry, u: float = 0.0) -> Laid:
    drawing = Drawing(geometry_to_rings(form), ())
    return lay(LIMB, Piece("f", "left_arm", drawing.digest, "Bars", u, 200.0, recipe=Recipe("wind", 1)), drawing)


def test_bars_beside_the_middle_tie_a_gap_in() -> None:
    """Wind with its middle left open: no ink at the gap's centre, most of the gap within reach."""
    bars = shapely.union_all([shapely.box(x - 1, -30, x + 1, 30) for x in (-24, -12, 12, 24)])
    assert not shapely.intersects_xy(bars, 0, 0)
    assert holds([filler(bars)], gap())


def test_a_dot_in_the_middle_does_not() -> None:
    assert not holds([filler(shapely.Point(0, 0).buffer(3))], gap())
    assert share_reached([], gap()) == 0.0


def test_share_against_the_area_that_shapely_finds() -> None:
    half = shapely.box(-30, -30, 0, 30)
    true = shapely.box(-30, -30, 30, 30).intersection(half.buffer(REACH_MM)).area / 3600
    assert share_reached([filler(half)], gap()) == pytest.approx(true, abs=0.05)


def test_two_halves_hold_together_and_the_seam_is_no_matter() -> None:
    left, right = filler(shapely.box(-30, -30, -16, 30)), filler(shapely.box(16, -30, 30, 30))
    assert not holds([left], gap()) and holds([left, right], gap())
    there = filler(shapely.box(-30, -30, 30, 30), u=0.5)
    assert holds([there], gap(BOX - HALF_TURN)) and holds([there], gap(BOX + HALF_TURN))
