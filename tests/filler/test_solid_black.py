"""Solid black beside a dark and a pale piece: opened, kept, closed; the hard rules hold."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from benchmarks.gap_shapes import shapes
from composer.art.drawing import Drawing
from composer.filler.finish import finished
from composer.filler.ground import Ground, Wish
from composer.filler.handed import in_hand
from composer.filler.kinds import KINDS
from composer.filler.solid_black import may_hold, moved, weighed
from composer.filler.tone_grid import STEP_MM, ToneGrid
from composer.plan.model import Hand

HAND = Hand()
GROUND = shapes()["big_field"]
LEFT, RIGHT = shapely.box(-90, -90, -25, 90), shapely.box(15, -90, 90, 90)


def grid(ground: Ground, left: float, base: float = 0.5, falls: float = 1.0) -> ToneGrid:
    """Of tone `left` at the left of the ground, the base from its middle on."""
    x0, y0, x1, y1 = ground.region.bounds
    x, y = np.arange(x0 - STEP_MM, x1 + 2 * STEP_MM, STEP_MM), np.arange(y0 - STEP_MM, y1 + 2 * STEP_MM, STEP_MM)
    gx, _ = np.meshgrid(x, y)
    tone = base + (left - base) * np.clip(-gx / 40, 0, 1)
    one = np.ones(tone.shape)
    return ToneGrid(float(x[0]), float(y[0]), falls * tone, one, falls * one, 0 * one, max(left, base) * falls, base)


def drawn(kind: str, left: float) -> Drawing:
    """As it will be kept: every hard rule holds."""
    ground = replace(GROUND, tone=grid(GROUND, left))
    made = in_hand(KINDS[kind].ways[0].draw, kind, ground, HAND, Wish(), np.random.default_rng(2))
    assert made is not None
    made, bad = finished(made, KINDS[kind], ground, HAND, Wish())
    assert bad == []
    return made


def solid(made: Drawing, where: shapely.Geometry) -> float:
    """Black of which a disc of 2.4 mm holds some, mm2."""
    ink = shapely.intersection(made.ink("line", "black"), shapely.intersection(where, GROUND.free))
    return float(shapely.buffer(shapely.buffer(ink, -1.2), 1.2).area)


@pytest.mark.parametrize("kind", ["rocks", "waves"])
def test_there_is_less_black_beside_a_dark_piece_and_more_beside_a_pale_one(kind: str) -> None:
    even, dark, pale = (drawn(kind, v) for v in (0.5, 0.15, 0.8))
    assert solid(dark, LEFT) < 0.75 * solid(even, LEFT) and solid(pale, LEFT) > 1.1 * solid(even, LEFT)
    assert solid(dark, RIGHT) == pytest.approx(solid(even, RIGHT), rel=0.02), "far from it nothing changes"
    assert shapely.equals(dark.outline, even.outline), "what lies behind stays hidden"


def test_black_keeps_its_outline_and_only_what_is_wide_is_opened() -> None:
    block, bar = shapely.box(-60, -10, -40, 10), shapely.box(-60, 20, -30, 23)
    got = weighed(shapely.union_all([block, bar]), grid(GROUND, 0.1), HAND, 2.0)
    left, kept = (shapely.intersection(got, a.buffer(0.5)) for a in (block, bar))
    assert left.area < 0.6 * block.area and shapely.equals_exact(kept.normalize(), bar.normalize(), 1e-6)
    assert shapely.covers(left.buffer(1e-6), block.difference(block.buffer(-0.98 * HAND.line_mm, join_style="mitre")))


def test_falls_alone_and_an_even_field_ask_for_nothing() -> None:
    assert not moved(grid(GROUND, 0.5)) and not moved(grid(GROUND, 0.5, falls=0.4)) and moved(grid(GROUND, 0.2))
    ink = shapely.box(-60, -10, -40, 10)
    assert weighed(ink, grid(GROUND, 0.5, falls=0.5), HAND, 2.0) is ink
    assert not moved(replace(grid(GROUND, 0.2), base=0.0)), "of a field that does not say its base"


def test_black_too_narrow_for_a_disc_is_told_without_shrinking_it() -> None:
    rng = np.random.default_rng(4)
    for _ in range(60):
        (x, y), r = rng.uniform(-9, 9, 2), float(rng.uniform(0.9, 3.0))
        lines = shapely.union_all([shapely.LineString(rng.uniform(-20, 20, (4, 2))).buffer(0.3) for _ in range(4)])
        disc = shapely.union(lines, shapely.Point(x, y).buffer(1.02 * r))
        assert may_hold(disc, r)
        assert may_hold(shapely.difference(shapely.box(-20, -20, 20, 20), disc), 0.1)
    assert not may_hold(shapely.LineString([(0, 0), (50, 3), (20, 40)]).buffer(0.5), 1.5)
    assert not may_hold(shapely.Polygon(), 1.0)
