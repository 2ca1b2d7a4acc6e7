"""Leaves on the gap shapes: the kit, alternate leaves, their form and inks, twigs into what is empty."""

import numpy as np
import pytest
import shapely

from benchmarks.gap_shapes import shapes
from composer.filler.check import measures
from composer.filler.cloud import pen_of
from composer.filler.ground import Wish
from composer.filler.kinds import kind
from composer.filler.leaves import STYLES, Leaf, Open, branch, twig_to
from composer.filler.testkit import drawn, faults
from composer.plan.model import Hand

GROUNDS = shapes()
PEN = pen_of(Hand(), Wish(), 2.0)
LINE = np.column_stack([np.arange(0.0, 100.0), np.zeros(100)])


@pytest.mark.parametrize("way", list(STYLES))
def test_every_way_passes_the_kit_on_the_gap_shapes(way: str) -> None:
    some = {k: GROUNDS[k] for k in ("wide_pocket", "crescent", "tall_leaf", "cuff_strip")}
    assert faults("leaves", some, ways=(way,)) == []


def test_leaves_stand_alternately_and_lean_forwards() -> None:
    field = shapely.box(-50, -50, 150, 50)
    room = Open(field, field.boundary)
    parts = branch(LINE, 18.0, STYLES["branch"], PEN, Wish(), room, np.random.default_rng(1))[:-2]
    middle = np.array([m.body.centroid.coords[0] for m in parts])
    side = np.sign(middle[:, 1])
    assert len(parts) >= 6 and np.all(side[1:] == -side[:-1])
    foot = np.array([m.lines[0].path[0] for m in parts])
    assert np.all(middle[:, 0] > foot[:, 0])


def test_a_leaf_is_pointed_and_its_tip_curls() -> None:
    leaf = Leaf(np.zeros(2), 0.0, 20.0, 8.0, 0.8)
    assert leaf.half[0] == 0 and leaf.half[-1] < 0.05 and leaf.half.max() == pytest.approx(4.0, abs=0.1)
    assert 0.3 < leaf.t[np.argmax(leaf.half)] < 0.6
    d = np.diff(leaf.mid, axis=0)
    turn = np.diff(np.arctan2(d[:, 1], d[:, 0]))
    assert turn[-4:].mean() > 2 * turn[:8].mean() > 0


def test_inks_grow_darker_from_veined_to_black() -> None:
    leaf = Leaf(np.zeros(2), 0.0, 24.0, 11.0, 0.8)
    seen = shapely.box(-50, -50, 50, 50)
    area = [leaf.mass(k, PEN).ink(PEN, seen).area for k in ("open", "veined", "half", "black")]
    assert area == sorted(area) and area[-1] > 2 * area[0]


def test_a_side_twig_leaves_its_branch_forwards_and_reaches_the_place() -> None:
    twig = twig_to([LINE], np.array([50.0, 20.0]), 2.0)
    assert abs(twig[0, 1]) < 1e-9 and twig[0, 0] < 50
    first = twig[1] - twig[0]
    assert first[0] > abs(first[1])
    assert np.hypot(*(twig[-1] - (50, 20))) < 4


def test_twigs_fill_what_the_branches_leave_empty() -> None:
    reach = [measures(drawn(kind("leaves"), "branch", GROUNDS[k], 1), GROUNDS[k])["reach"]
             for k in ("hourglass", "channel", "wide_pocket")]
    assert min(reach) > 0.85


def test_a_twig_grows_from_the_shortest_branch_too() -> None:
    short = np.array([[0.0, 0.0], [1.0, 0.0]])
    twig = twig_to([short], np.array([3.0, 8.0]), 2.0)
    assert np.isfinite(twig).all() and len(twig) > 3


@pytest.mark.parametrize("way", list(STYLES))
def test_no_leaf_lies_over_another_and_none_on_a_foreign_stem(way: str) -> None:
    """Leaves that cut one another off leave shards; each of them keeps its outline whole."""
    field = shapely.box(-20, -60, 120, 60)
    room = Open(field, field.boundary)
    stems = [LINE, LINE + np.array([0.0, 24.0])]
    room.stems.extend(shapely.linestrings(s) for s in stems)
    for k, stem in enumerate(stems):
        branch(stem, 18.0, STYLES[way], PEN, Wish(), room, np.random.default_rng(k))
    assert len(room.leaves) > 12
    tree = shapely.STRtree(room.leaves)
    near = tree.query(room.leaves, "dwithin", PEN.pitch_mm)
    assert (near[0] == near[1]).all()
    assert not any(shapely.intersects(s, leaf) for s in room.stems for leaf in room.leaves)
