"""Waves on the twelve gap shapes: the kit, crests that overhang, swell that follows the flow, cuffs."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon, box

from benchmarks.gap_shapes import shapes
from composer.filler import waves
from composer.filler.cloud_lines import Line, Pen
from composer.filler.ground import Ground, Wish
from composer.filler.kinds import kind
from composer.filler.masses import Mass
from composer.filler.proposals import generator
from composer.filler.quality import quality
from composer.filler.testkit import drawn, faults
from composer.filler.waves_border import combed, staggered
from composer.filler.waves_row import CHORD, FACE, LIP, UNDER, Crest, Look, heave, row_lines
from composer.plan.model import Hand

GROUNDS = shapes()
PEN = Pen(0.84, 0.6, 0.4, 2.75, 0.38)


@pytest.mark.parametrize("way", list(waves.STYLES))
def test_every_way_passes_the_kit_on_the_gap_shapes(way: str) -> None:
    some = {k: GROUNDS[k] for k in ("wide_pocket", "crescent", "tall_leaf", "cuff_strip")}
    assert faults("waves", some, ways=(way,)) == []


def test_the_lip_overhangs_its_hollow() -> None:
    tip, hollow = LIP[-1], min(FACE, key=lambda p: p[0])
    assert tip[0] > hollow[0] + 0.2 and tip[1] > hollow[1]
    # the curves of one wave meet end to end
    assert LIP[-1] == UNDER[0] and UNDER[-1] == FACE[0] and CHORD[0] == LIP[-1]


def test_swell_lines_keep_their_distance_and_sink_in_the_troughs() -> None:
    crests = [Crest(x, 40.0, 18.0, True) for x in (0, 40, 80, 120)]
    at = np.array([0.78 * 40 + 40, 0.78 * 40 + 60])
    high, low = heave(crests, at)
    assert high > 0 > low
    lines = row_lines(crests, 160.0, Look(PEN, 16.0, 0.5, 0.6), np.random.default_rng(1))
    gaps = shapely.distance(*np.meshgrid(*[[shapely.linestrings(x.path) for x in lines]] * 2))
    gaps = gaps[~np.eye(len(lines), dtype=bool)]
    assert gaps.min() > PEN.pitch_mm - 0.2
    assert all(x.width[0] < 0.5 * x.width.max() and x.width[-1] < 0.5 * x.width.max() for x in lines)


def test_water_follows_the_flow_and_stays_clear_of_the_cuff() -> None:
    ground = GROUNDS["cuff_strip"]
    made = drawn(kind("waves"), "swell", ground, 1)
    assert made is not None
    assert made.ink("line").intersection(shapely.buffer(ground.edge, 0.4)).area < 0.5
    level = replace(GROUNDS["wide_pocket"], flow=lambda xy: np.zeros(len(xy)))
    tilted = replace(level, flow=lambda xy: np.full(len(xy), 0.5))
    def lean(d: object) -> float:
        ring = np.concatenate([np.diff(np.vstack([r, r[:1]]), axis=0) for r in d.layers[-1].rings])  # type: ignore
        z = (ring[:, 0] + 1j * ring[:, 1]) ** 2
        return float(np.angle((z / np.maximum(np.abs(z), 1e-12) * np.abs(z) ** 0.5).sum()) / 2)
    a, b = (drawn(kind("waves"), "swell", g, 3) for g in (level, tilted))
    assert lean(b) - lean(a) == pytest.approx(0.5, abs=0.2)


def test_a_larger_wish_gives_higher_crests_and_a_dark_hand_more_black() -> None:
    ground = GROUNDS["big_field"]
    few = waves.draw(ground, Hand(), Wish(size=1.6), np.random.default_rng(2))
    many = waves.draw(ground, Hand(), Wish(size=0.7), np.random.default_rng(2))
    assert len(many.layers[-1].rings) > 1.3 * len(few.layers[-1].rings)
    pale, dark = (waves.draw(ground, Hand(dark=d), Wish(), np.random.default_rng(2)) for d in (0.0, 1.0))
    assert dark.ink("line").area > 1.05 * pale.ink("line").area


@pytest.mark.parametrize(("way", "name"), [("breaking", "ring_remnant"), ("swell", "ell")])
def test_black_between_fingers_of_foam_ends_in_tips_and_nothing_unseen_cuts_a_crest(way: str, name: str) -> None:
    ground = GROUNDS[name]
    q = quality(waves.draw(ground, Hand(), Wish(), generator(1, "waves", way, 0), way), ground, Hand())
    assert q is not None and q.ends["bare"] == 0 and sum(q.ends.values()) > 15


def test_only_drops_in_the_open_are_drawn() -> None:
    def drop(x: float, y: float) -> waves.Drop:
        dot = Point(x, y).buffer(0.8)
        return waves.Drop(dot.buffer(2.2), black=[dot])

    behind = Mass(box(0, 0, 40, 20), white=box(2, 2, 12, 18))
    free, over_foam, before_crest, hidden = drop(25, 10), drop(12, 10), drop(34.5, 10), drop(50, 10)
    crest = Mass(box(38, -10, 60, 30))
    kept = waves.in_the_open([behind, free, over_foam, before_crest, hidden, crest], PEN)
    assert [id(m) for m in kept] == [id(m) for m in (behind, free, crest)]


def test_water_that_may_go_on_ends_line_by_line_and_nowhere_along_a_straight_edge() -> None:
    """Open skin parted from the next gap's by lines: what hides the water behind it runs along no stretch of them."""
    ground = Ground(box(0, 0, 120, 80), box(-70, -70, 190, 150), Polygon(), 2.0, 2.0, lambda xy: np.full(len(xy), 0.2))
    made = waves.draw(ground, Hand(), Wish(), np.random.default_rng(3), "swell")
    assert made is not None
    tuck = ground.skin_break_mm + Wish().tuck_mm
    sides = shapely.union_all([LineString([(x, 5), (x, 75)]) for x in (-tuck, 120 + tuck)])
    straight = shapely.length(shapely.intersection(sides.buffer(0.2), made.outline.boundary))
    assert straight < 0.3 * sides.length
    assert shapely.area(shapely.intersection(made.outline, ground.free)) > 0.9 * ground.free.area


def test_neighbouring_swell_lines_end_apart_at_an_open_border() -> None:
    rows = [Line(np.column_stack([np.linspace(0, 100, 101), np.full(101, 3.0 * k)]), np.full(101, 0.8), "tip", "tip", 0)
            for k in range(8)]
    border = LineString([(100.5, -10), (100.5, 40)])
    got = staggered(rows, border, np.random.default_rng(2))
    last = np.array([line.path[-1, 0] for line in got])
    assert len(got) == 8 and all(line.path[0, 0] == 0.0 for line in got), "the other ends stay"
    assert np.abs(np.diff(last)).min() > 2.0 and last.min() > 88.0 and last.max() <= 100.0
    assert all(line.width[-1] < 0.3 * line.width.max() for line in got)
    hides = combed(box(0, -3, 100.5, 24), got, border, PEN)
    assert hides is not None and 0.2 < shapely.length(shapely.intersection(hides.boundary, border)) < 15.0
    assert staggered(rows, Polygon(), np.random.default_rng(2)) == rows
