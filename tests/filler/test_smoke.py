"""Smoke on the twelve gap shapes: the kit, ribbons that taper and roll up, heads in view, fullness."""

import numpy as np
import pytest

from benchmarks.gap_shapes import shapes
from composer.art.brush import arc_length
from composer.filler import smoke
from composer.filler.check import measures
from composer.filler.filigree_room import Room
from composer.filler.kinds import kind
from composer.filler.smoke import STYLES, Ribbon, in_view
from composer.filler.testkit import drawn, faults
from composer.plan.model import Hand

GROUNDS = shapes()


@pytest.mark.parametrize("way", list(STYLES))
def test_every_way_passes_the_kit_on_the_gap_shapes(way: str) -> None:
    some = {k: GROUNDS[k] for k in ("wide_pocket", "crescent", "hourglass", "cuff_strip")}
    assert faults("smoke", some, ways=(way,)) == []


def test_a_ribbon_tapers_to_both_ends_and_rolls_up() -> None:
    path = np.column_stack([np.arange(0, 90, 3.0), np.zeros(30)])
    ribbon = Ribbon(path, 16.0, STYLES["curling"], 1.0, np.random.default_rng(1))
    assert ribbon.width[0] < 0.15 * ribbon.width.max() > ribbon.width[-1]
    d = np.diff(ribbon.spine[ribbon.foot - 1 :], axis=0)
    z = d[:, 0] + 1j * d[:, 1]
    turned = np.angle(z[1:] / z[:-1]).sum() / (2 * np.pi)
    assert turned == pytest.approx(STYLES["curling"].turns, abs=0.25)
    # reference: the radius of an Archimedean spiral falls evenly with the angle
    p = ribbon.spine[ribbon.foot :] - ribbon.centre
    rho = np.hypot(p[:, 0], p[:, 1])
    assert np.abs(np.diff(rho, 2)).max() < 1e-9
    assert arc_length(ribbon.spine)[-1] > 60


def test_heads_stay_in_view() -> None:
    ground = GROUNDS["wide_pocket"]
    path = np.column_stack([np.arange(-60, 60, 3.0), np.zeros(40)])
    cut = in_view(path, Room(ground.free, 0.8), 6.0)
    assert len(cut) < len(path)
    assert ground.free.buffer(-5.5).contains(__import__("shapely").Point(cut[-1]))


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
    from composer.filler.ground import Wish

    made = smoke.draw(GROUNDS["ell"], Hand(dark=0.0), Wish(), np.random.default_rng(1))
    assert {la.role for la in made.layers} == {"line"}
