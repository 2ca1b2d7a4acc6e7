"""Feathers on the gap shapes: the kit, their form, black tips and bars, sizes, the flow, whole and apart."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Polygon, box

from benchmarks.gap_shapes import shapes
from composer.filler.cloud import pen_of
from composer.filler.feather_forms import breast, flight
from composer.filler.feather_shaft import NARROW, QUILL, SLANT, Shaft
from composer.filler.feathers import STYLES, draw, fans, strewn
from composer.filler.ground import Ground, Wish
from composer.filler.masses import own_stage
from composer.filler.testkit import faults
from composer.plan.model import Hand

GROUNDS = shapes()
PEN = pen_of(Hand(), Wish(), 2.0)
STRAIGHT = np.column_stack([np.linspace(0, 50, 120), np.zeros(120)])


@pytest.mark.parametrize("way", list(STYLES))
def test_every_way_passes_the_kit_on_all_gap_shapes(way: str) -> None:
    assert faults("feathers", GROUNDS, ways=(way,)) == []


def test_one_vane_is_narrow_the_quill_is_bare_and_the_tip_closes() -> None:
    shaft = Shaft(STRAIGHT, 15.0, 1.0)
    x = np.linspace(0, 50, 200)
    left, right = shaft.half(x, 1.0), shaft.half(x, -1.0)
    assert left.max() == pytest.approx(15 * NARROW, rel=0.02)
    assert right.max() == pytest.approx(15 * (1 - NARROW), rel=0.02)
    assert np.all(left[x < QUILL * 50] == 0) and left[-1] == right[-1] == 0
    assert x[np.argmax(right)] > 25, "fullest beyond the middle"


def test_feather_coordinates_follow_a_bent_shaft() -> None:
    """Against the closed form: places beside an arc of a circle lie on its parallel circles."""
    a = np.linspace(0, 1.2, 400)
    arc = 40 * np.column_stack([np.cos(a), np.sin(a)])
    shaft = Shaft(arc, 10.0, 1.0)
    for q in (-4.0, 3.0):
        p = shaft.at(np.linspace(4, 40, 9), np.full(9, q))
        assert np.abs(np.hypot(p[:, 0], p[:, 1]) - (40 - q)).max() < 0.01


def test_barbs_slant_forward_by_one_angle() -> None:
    shaft = Shaft(STRAIGHT, 15.0, 1.0)
    for side in (1.0, -1.0):
        p = shaft.barb(20.0, side, np.linspace(0, 4, 9))
        assert np.all(np.diff(p[:, 0]) > 0) and np.all(np.diff(p[:, 1]) * side > 0)
        assert (p[-1, 0] - 20) / 4 == pytest.approx(SLANT, rel=0.06)


def test_a_dark_hand_blackens_the_tip_and_splits_part_the_broad_vane() -> None:
    shaft = Shaft(STRAIGHT, 16.0, 1.0)
    tip, beside = [], []
    for dark in (0.0, 0.3, 0.9):
        (mass,) = flight(shaft, PEN, dark, np.random.default_rng(1))
        black = shapely.intersection(shapely.union_all(mass.black), mass.body)
        tip.append(black.intersection(box(38, -20, 60, 20)).area)
        beside.append(black.intersection(box(0, -20, 38, 20)).area)
    for area in (tip, beside):
        assert area[0] == 0 and area[0] < area[1] < area[2]
    assert beside[2] < 0.5 * mass.body.intersection(box(0, -20, 38, 20)).area, "most of the vanes stays skin"
    vane = shaft.vane()
    assert vane.area - mass.body.area > 4.0 and vane.buffer(0.1).covers(mass.body)
    assert shapely.difference(vane, mass.body).centroid.y < 0, "splits lie in the broad vane, right of the shaft"


def test_bars_cross_the_feather_and_keep_the_line_gap() -> None:
    (mass,) = flight(Shaft(STRAIGHT, 16.0, 1.0), PEN, 0.5, np.random.default_rng(1), True)
    bars = [b for b in mass.black if b.area > 1]
    assert len(bars) >= 3
    for a, b in pairwise(bars):
        assert a.distance(b) > 2.0 and b.centroid.x > a.centroid.x


def test_a_breast_feather_has_a_black_rim() -> None:
    (mass,) = breast(Shaft(STRAIGHT * 0.6, 12.0, 1.0), PEN, 0.5, np.random.default_rng(1))
    assert 0.1 < shapely.union_all(mass.black).area / mass.body.area < 0.5
    black = mass.black[0]
    assert black.area > 0.1 * mass.body.area and black.centroid.x > mass.body.centroid.x + 4


def test_fans_lie_behind_their_feather_apart_from_other_fans() -> None:
    ground, look = GROUNDS["big_field"], STYLES["flight"]
    _, home = own_stage(ground, Wish())
    whole = shapely.union(home, shapely.buffer(ground.front, 2.0))
    many = []
    for density in (0.1, 1.0):
        laid = fans(ground, Wish(density=density), look, np.random.default_rng(1), whole, 2.5)
        for fan in laid:
            front = fan[-1]
            assert ground.free.covers(front.vane()) or len(fan) == 1
            assert whole.covers(front.vane())
            assert all(one.long < front.long for one in fan[:-1])
            assert all(np.hypot(*(one.path[0] - front.path[0])) < 0.2 * front.long for one in fan)
        areas = [shapely.union_all([s.vane() for s in fan]) for fan in laid]
        above = [a for fan, a in zip(laid, areas, strict=True) if ground.free.buffer(-1).covers(fan[-1].vane())]
        assert len(above) >= 2 and all(a.intersection(b).area < 0.4 * min(a.area, b.area)
                                       for i, a in enumerate(areas) for b in areas[:i])
        many.append(sum(len(fan) for fan in laid))
    assert many[0] < 0.6 * many[1]
    assert max(len(fan) for fan in laid) >= 3


@pytest.mark.parametrize("way", list(STYLES))
def test_sizes_differ_and_the_largest_are_few(way: str) -> None:
    made = strewn(GROUNDS["big_field"], Wish(), STYLES[way], np.random.default_rng(1))
    long = np.sort([s.long for s in made])[::-1]
    assert len(made) >= 5 and long[0] > 1.6 * long[-1] and (long > 0.85 * long[0]).sum() <= 0.6 * len(long)


@pytest.mark.parametrize("name", ["tall_leaf", "crescent", "cuff_strip", "channel"])
def test_feathers_lie_in_the_flow_whole_and_apart(name: str) -> None:
    ground = GROUNDS[name]
    made = strewn(ground, Wish(), STYLES["flight"], np.random.default_rng(2))
    assert len(made) >= 2
    off = []
    for s in made:
        d, mid = s.path[-1] - s.path[0], s.path[len(s.path) // 2]
        off.append((np.arctan2(d[1], d[0]) - ground.flow(mid[None])[0] + np.pi / 2) % np.pi - np.pi / 2)
        assert ground.free.covers(s.vane().union(LineString(s.path)))
    assert np.degrees(np.abs(off)).mean() < 30 and np.degrees(np.abs(off)).max() < 75
    vanes = [s.vane() for s in made]
    assert all(a.distance(b) > 2.0 for i, a in enumerate(vanes) for b in vanes[:i])


def test_wishes_are_heeded() -> None:
    ground = GROUNDS["big_field"]
    n = [len(strewn(ground, Wish(density=d), STYLES["flight"], np.random.default_rng(1))) for d in (0.1, 1.0)]
    assert n[0] < n[1]
    long = [max(s.long for s in strewn(ground, Wish(size=z), STYLES["barred"], np.random.default_rng(1)))
            for z in (0.6, 1.0)]
    assert long[0] < 0.75 * long[1]
    wall = box(-90, -60, 90, 90).difference(box(-62, -60, 62, 62))
    free = box(-60, -60, 60, 60)
    cuff = Ground(free, free.buffer(20), wall, 2.0, 2.0, lambda xy: np.zeros(len(xy)), edge=box(-80, -61, 80, -60))
    low = []
    for ground, wish in ((cuff, Wish(fade_mm=70)), (replace(cuff, edge=Polygon()), Wish())):
        made = strewn(ground, wish, STYLES["flight"], np.random.default_rng(1))
        low.append(max((s.long for s in made if s.path[:, 1].mean() < -25), default=0.0))
    assert low[0] < 0.8 * low[1], "next to the cuff only small ones lie"


def test_a_ground_too_small_gets_none() -> None:
    free = box(-4, -4, 4, 4)
    tiny = Ground(free, free.buffer(20), Polygon(), 2.0, 2.0, lambda xy: np.zeros(len(xy)))
    assert draw(tiny, Hand(), Wish(), np.random.default_rng(1)) is None


@pytest.mark.parametrize("long", [19.0, 22.0, 26.0])
def test_a_small_flight_feather_is_solid_and_pointed(long: float) -> None:
    """An outline alone reads as a pod."""
    shaft = Shaft(np.column_stack([np.linspace(0, long, 60), np.zeros(60)]), 0.31 * long, 1.0)
    (mass,) = flight(shaft, PEN, 0.5, np.random.default_rng(1))
    black = shapely.union_all(mass.black)
    assert black.area > 0.95 * mass.body.area > 0.5 * shaft.vane().area
    near_tip = shapely.clip_by_rect(mass.body, long - 1.0, -9, long + 1, 9).bounds
    assert near_tip[3] - near_tip[1] < 0.55 * shaft.wide
