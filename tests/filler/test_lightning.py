"""Lightning in the twelve gap shapes: hard rules, wedges, branches, tips, determinism."""

import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import box

from benchmarks.gap_shapes import shapes
from composer.art.drawing import Drawing
from composer.filler import lightning
from composer.filler.check import findings, measures
from composer.filler.ground import Ground, Port, Wish
from composer.filler.kinds import KINDS
from composer.filler.lightning import Storm
from composer.filler.lightning_bolt import Bolt, hollow, zigzag
from composer.plan.model import Hand

GROUNDS = shapes()


def drawn(ground: Ground, seed: int = 1, hand: Hand | None = None) -> Drawing:
    made = lightning.propose(ground, hand or Hand(), Wish(), np.random.default_rng(seed))
    assert made is not None
    return made


@pytest.mark.parametrize("name", list(GROUNDS))
def test_every_shape_keeps_the_hard_rules(name: str) -> None:
    ground = GROUNDS[name]
    for seed in (1, 2, 3):
        made = drawn(ground, seed)
        assert findings(made, ground, Hand()) == []
        assert made.notes["form"] == ("bolt" if made.notes["length_mm"] >= 80 else "twig")
        m = measures(made, ground)
        assert m["ends"]["bare"] == 0 and m["ends"]["tip"] >= 1
        assert m["loose_parts"] <= 6


def test_long_gaps_get_bolts_and_small_ones_twigs() -> None:
    assert drawn(GROUNDS["cuff_strip"], 2).notes["form"] == "bolt"
    assert drawn(GROUNDS["diamond"], 2).notes["form"] == "twig"


def test_the_same_seed_gives_the_same_bytes_in_another_process() -> None:
    code = ("import numpy as np; from benchmarks.gap_shapes import shapes; from composer.filler import lightning;"
            "from composer.filler.ground import Wish; from composer.plan.model import Hand;"
            "print(lightning.propose(shapes()['ell'], Hand(), Wish(), np.random.default_rng(5)).digest)")
    other = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert other.stdout.strip() == drawn(GROUNDS["ell"], 5).digest
    assert drawn(GROUNDS["ell"], 6).digest != drawn(GROUNDS["ell"], 5).digest


def test_legs_are_long_and_short_and_get_finer() -> None:
    way = np.arange(0, 120.5, 0.5) + 0j
    rng = np.random.default_rng(1)
    bolt = zigzag(way, np.full(len(way), 9.0), 3.0, 0.2, rng, 20.0, 25.0)
    legs = np.abs(np.diff(bolt.z))
    assert legs.max() > 1.8 * legs.min()
    assert bolt.half[0] > 8 * bolt.half[-1]
    third = len(legs) // 3
    assert legs[:third].mean() > legs[-third:].mean()
    # corners are sharp, and travel never turns back
    turn = np.abs(np.degrees(np.angle(np.diff(bolt.z)[1:] / np.diff(bolt.z)[:-1])))
    assert np.median(turn) > 30
    assert np.all(np.diff(bolt.z.real) > 0)
    assert np.abs(bolt.z.imag).max() <= 9.0


def test_branches_stay_within_45_degrees_of_the_travel() -> None:
    for seed in range(4):
        storm = Storm(GROUNDS["big_field"], Hand(), Wish(), np.random.default_rng(seed))
        assert storm.main()
        main = storm.bolts[0]
        storm.branches(main, 5, 1.0, 0)
        assert len(storm.bolts) > 1
        for twig in storm.bolts[1:]:
            k = int(np.argmin(np.abs(main.z - twig.z[0])))
            if abs(main.z[k] - twig.z[0]) > 1e-6:
                continue  # a twig of a twig
            lo, hi = max(0, k - 2), min(len(main.z) - 1, k + 2)
            travel = main.z[hi] - main.z[lo]
            assert abs(np.degrees(np.angle((twig.z[-1] - twig.z[0]) / travel))) <= 46
            assert twig.half[0] <= max(main.half[k], storm.tip) + 1e-9
            assert twig.half[-1] < 0.25


def test_a_bolt_is_one_blade_with_sharp_corners_and_loses_no_leg() -> None:
    """Every corner of the centre line lies in the ink, all of it is one part, and outer corners are points."""
    for seed in range(6):
        storm = Storm(GROUNDS["hourglass"], Hand(), Wish(), np.random.default_rng(seed))
        assert storm.main()
        bolt = storm.bolts[0]
        body = bolt.body()
        assert body.geom_type == "Polygon"
        assert shapely.distance(body, shapely.points(bolt.z.real, bolt.z.imag)).max() < 0.01
        # as long as the centre line: a leg that is lost would be missed here
        line = shapely.LineString(np.column_stack([bolt.z.real, bolt.z.imag]))
        assert line.difference(body.buffer(0.05)).length < 0.01 * line.length
        ring = np.asarray(body.exterior.coords)[:-1] @ (1, 1j)
        assert np.abs(bolt.corners[:, None] - ring).min(axis=1).max() < 0.3


def test_a_bolt_from_behind_nothing_begins_in_a_point_and_a_long_gap_gets_a_bolt() -> None:
    free = box(-70, -16, 70, 16).buffer(-4).buffer(4)
    ground = Ground(free, free.buffer(18), shapely.Polygon(), 2.0, 2.0, lambda xy: np.zeros(len(xy)))
    for seed in (1, 2):
        storm = Storm(ground, Hand(), Wish(), np.random.default_rng(seed))
        assert storm.main()
        assert storm.bolts[0].half[0] == storm.bolts[0].half[-1] == storm.tip
        made = drawn(ground, seed)
        assert made.notes["form"] == "bolt" and {e.how for e in made.ends} == {"tip"}


def test_a_doubled_outline_stays_open() -> None:
    body = Bolt(np.array([0, 60 + 4j, 70 - 6j, 130 + 0j]), np.array([6.0, 4.5, 3.5, 0.2])).body()
    white = hollow(body, 0.7, 2.0)
    assert white.area > 50
    # nowhere narrower than the line gap: an opening by nearly its half loses next to nothing
    opened = white.buffer(-0.95, join_style="mitre").buffer(0.95, join_style="mitre")
    assert white.difference(opened.buffer(0.05)).area < 0.02 * white.area
    assert body.buffer(-0.69, join_style="mitre").contains(white.buffer(-0.02))
    thin = Bolt(np.array([0, 60 + 4j, 130 + 0j]), np.array([1.2, 0.9, 0.2])).body()
    assert hollow(thin, 0.7, 2.0).is_empty


def test_a_gap_too_small_gives_nothing() -> None:
    free = box(0, 0, 9, 5)
    ground = Ground(free, free, shapely.Polygon(), 2.0, 2.0, lambda xy: np.zeros(len(xy)))
    assert lightning.propose(ground, Hand(), Wish(), np.random.default_rng(1)) is None


def test_a_dark_hand_draws_solid() -> None:
    wide = box(-80, -35, 80, 35).buffer(-6).buffer(6)
    front = wide.buffer(20).difference(wide.buffer(2.03, quad_segs=24))
    ports = (Port(-82.05, 4, 0, "a"), Port(82.05, -6, 180, "b"))
    ground = Ground(wide, wide.buffer(20), front, 2.0, 2.0, lambda xy: np.zeros(len(xy)), ports)
    solid = [drawn(ground, s, Hand(dark=1.0)) for s in range(4)]
    assert all(d.layers[0].role == "black" for d in solid)
    open_ = [drawn(ground, s, Hand(dark=0.2)) for s in range(4)]
    assert any(d.layers[0].role == "line" for d in open_)
    assert all(findings(d, ground, Hand()) == [] for d in (*solid, *open_))
    assert min(d.ink().area for d in open_) < min(d.ink().area for d in solid)


@pytest.mark.parametrize("way", ["bolt", "forked", "heavy"])
def test_every_tip_ends_clear_of_the_edge(way: str) -> None:
    for ground in shapes().values():
        made = KINDS["lightning"].way(way).draw(ground, Hand(), Wish(), np.random.default_rng(1))
        if made is None:
            continue
        tips = shapely.points([(e.x, e.y) for e in made.ends if e.how == "tip"])
        assert shapely.distance(ground.free.boundary, tips).min() > 1.2


def test_a_root_is_not_tucked_where_it_shows_between_fingers() -> None:
    """Two fingers of a piece with a cleft between them that the open skin does not run into."""
    fingers = shapely.union(shapely.box(-20, -3, 0, -1), shapely.box(-20, 3.6, 0, 5.6))
    free = shapely.box(2.0, -20, 60, 20)
    ground = replace(next(iter(shapes().values())), free=free, front=fingers, region=shapely.box(-30, -30, 60, 30))
    storm = Storm(ground, Hand(), Wish(), np.random.default_rng(1))
    wide = Bolt(np.array([-4 + 1.3j, 6 + 1.3j, 30 + 1.3j]), np.array([2.5, 2.5, 0.3]))
    slim = Bolt(np.array([-4 - 2j, 6 - 2j, 30 - 2j]), np.array([1.0, 1.0, 0.3]))
    assert storm.peeps_out(wide) and not storm.peeps_out(slim)
