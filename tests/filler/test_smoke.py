"""Smoke on the twelve gap shapes: the kit, plumes that taper and billow to one side, heads in view, fullness."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from benchmarks.gap_shapes import shapes
from composer.filler import smoke
from composer.filler.check import measures
from composer.filler.cloud import pen_of
from composer.filler.filigree_room import Room
from composer.filler.ground import Wish
from composer.filler.kinds import kind
from composer.filler.smoke import STYLES, in_view, plume, swayed
from composer.filler.testkit import drawn, faults
from composer.plan.model import Hand

GROUNDS = shapes()
PEN = pen_of(Hand(), Wish(), 2.0)


@pytest.mark.parametrize("way", list(STYLES))
def test_every_way_passes_the_kit_on_the_gap_shapes(way: str) -> None:
    some = {k: GROUNDS[k] for k in ("wide_pocket", "crescent", "hourglass", "cuff_strip")}
    assert faults("smoke", some, ways=(way,)) == []


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_plume_billows_at_its_head_to_its_side_and_tapers_to_its_foot(side: float) -> None:
    path = np.column_stack([np.arange(0, 120, 3.0), np.zeros(40)])
    look = replace(STYLES["curling"], sway=0.0)
    body = plume(path, 18.0, look, side, PEN, np.random.default_rng(1)).outline
    assert body.is_valid and body.bounds[2] - body.bounds[0] > 100
    wide = [shapely.intersection(body, shapely.LineString([(x, -40), (x, 40)])).length for x in (6.0, 30.0, 90.0)]
    assert wide[0] < 0.4 * wide[2] and wide[1] < wide[2]
    rough = [shapely.clip_by_rect(body.exterior, 70, low, 105, high).length for low, high in ((1, 40), (-40, -1))]
    lobed, smooth = rough if side > 0 else rough[::-1]
    assert lobed > 1.1 * smooth


def test_sway_is_none_at_the_foot_and_keeps_within_its_share() -> None:
    path = np.column_stack([np.arange(0, 120, 3.0), np.zeros(40)])
    look = STYLES["plume"]
    line = swayed(path, 20.0, look, np.random.default_rng(3))
    assert np.hypot(*(line[0] - path[0])) < 1e-9
    assert 0.3 * look.sway * 20.0 < np.abs(line[:, 1]).max() <= 1.3 * look.sway * 20.0


def test_heads_stay_in_view() -> None:
    ground = GROUNDS["wide_pocket"]
    path = np.column_stack([np.arange(-60, 60, 3.0), np.zeros(40)])
    cut = in_view(path, Room(ground.free, 0.8), 6.0)
    assert len(cut) < len(path)
    assert ground.free.buffer(-5.5).contains(shapely.Point(cut[-1]))


def test_open_skin_is_reached_and_no_candidate_is_like_another() -> None:
    seen = set()
    for name in ("wide_pocket", "ell", "big_field"):
        for seed in (1, 2):
            made = drawn(kind("smoke"), "curling", GROUNDS[name], seed)
            m = measures(made, GROUNDS[name])
            assert m["reach"] > 0.85 and m["ends"]["bare"] == 0
            seen.add(made.digest)
    assert len(seen) == 6


def test_without_darkness_there_is_no_wash() -> None:
    made = smoke.draw(GROUNDS["ell"], Hand(dark=0.0), Wish(), np.random.default_rng(1))
    assert {la.role for la in made.layers} == {"line"}
