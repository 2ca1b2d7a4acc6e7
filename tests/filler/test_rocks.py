"""Rocks on the gap shapes: the kit, one light, black flanks, planes in the lit face, whole and upright forms."""

import numpy as np
import pytest
import shapely

from benchmarks.gap_shapes import shapes
from composer.filler import rocks
from composer.filler.cloud import pen_of
from composer.filler.ground import Wish
from composer.filler.masses import own_stage
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


def test_the_lit_face_is_parted_by_an_edge_with_strokes_under_it_that_thin_out() -> None:
    made, mass = rock(1.0, 3)
    edge, *strokes = made._planes(PEN)
    assert edge.path[-1, 0] > edge.path[0, 0] and edge.width[-1] < 0.3 * edge.width[0]
    assert strokes
    for w in strokes:
        assert w.path.mean(axis=0)[1] < edge.path.mean(axis=0)[1] and w.start == w.end == "tip"
        assert mass.body.covers(shapely.linestrings(w.path))


def test_rocks_are_whole_where_no_piece_hides_their_rest() -> None:
    """The corners of every rock lie where centre lines may run, clear of its edge, so that none is cut off there."""
    ground = GROUNDS["cuff_strip"]
    kept: list[Rock] = []
    with pytest.MonkeyPatch.context() as patch:
        real = Rock.mass
        patch.setattr(Rock, "mass", lambda self, pen, hand: (kept.append(self), real(self, pen, hand))[1])
        for seed in range(1, 4):
            rocks.draw(ground, Hand(), Wish(), np.random.default_rng(seed))
    clear = shapely.buffer(own_stage(ground, Wish())[1], -0.9)
    corners = np.concatenate([r.place(r.corners) for r in kept])
    assert len(kept) > 12 and shapely.contains_xy(clear, *corners.T).all()




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
        heads += [r.place(r.corners[:1])[0] - r.at for r in kept]
    heads = np.array(heads)
    assert np.all(heads[:, 1] > 0.6 * np.hypot(heads[:, 0], heads[:, 1]))
