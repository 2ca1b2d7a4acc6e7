"""Rocks on the gap shapes: the kit, one light, black flanks, whips into the lit face, upright forms."""

import numpy as np
import pytest
import shapely

from benchmarks.gap_shapes import shapes
from composer.filler import rocks
from composer.filler.cloud import pen_of
from composer.filler.ground import Wish
from composer.filler.rocks import STYLES, Rock
from composer.filler.testkit import faults
from composer.plan.model import Hand

GROUNDS = shapes()
PEN = pen_of(Hand(), Wish(), 2.0)


def rock(light: float, seed: int = 1, dark: float = 0.5, size: float = 20.0) -> tuple[Rock, object]:
    made = Rock(np.zeros(2), size, 0.0, STYLES["crag"], light, np.random.default_rng(seed))
    return made, made.mass(PEN, Hand(dark=dark))


@pytest.mark.parametrize("way", list(STYLES))
def test_every_way_passes_the_kit_on_the_gap_shapes(way: str) -> None:
    some = {k: GROUNDS[k] for k in ("wide_pocket", "crescent", "tall_leaf", "cuff_strip")}
    assert faults("rocks", some, ways=(way,)) == []


@pytest.mark.parametrize("light", [1.0, -1.0])
def test_the_flank_away_from_the_light_is_black(light: float) -> None:
    for seed in range(1, 6):
        _, mass = rock(light, seed)
        black = shapely.union_all(mass.black)
        assert black.area > 0.02 * mass.body.area
        assert (black.centroid.x - mass.body.centroid.x) * light < 0


def test_a_darker_hand_has_more_black_and_none_without_darkness() -> None:
    area = [shapely.union_all(rock(1.0, 2, d)[1].black).area for d in (0.0, 0.3, 0.9)]
    assert area[0] == 0 and area[1] < area[2]


def test_whips_run_down_into_the_light_and_thin_out() -> None:
    made, mass = rock(1.0, 3)
    whips = made._whips(PEN)
    assert len(whips) >= 4
    for w in whips:
        d = w.path[-1] - w.path[0]
        assert d[0] > 0 > d[1] and w.width[-1] < 0.3 * w.width[0]
    long = [np.hypot(*(w.path[-1] - w.path[0])) for w in whips]
    assert max(long) > 1.8 * min(long)
    assert mass.body.buffer(3).covers(shapely.multilinestrings([w.path for w in whips[:3]]))


def test_rocks_stand_upright_on_a_limb_with_steep_flow() -> None:
    heads = []
    for name in ("tall_leaf", "hourglass"):
        kept: list[Rock] = []

        def keep(self: Rock, pen: object, hand: object, kept: list[Rock] = kept, real: object = Rock.mass) -> object:
            kept.append(self)
            return real(self, pen, hand)

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(Rock, "mass", keep)
            assert rocks.draw(GROUNDS[name], Hand(), Wish(), np.random.default_rng(1)) is not None
        heads += [r.place(r.peak[None])[0] - r.at for r in kept]
    heads = np.array(heads)
    assert np.all(heads[:, 1] > 0.6 * np.hypot(heads[:, 0], heads[:, 1]))
