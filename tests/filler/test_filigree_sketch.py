"""The ink of a sketch of scrollwork against that of its drawing, and what is spared in beginning one."""

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from benchmarks.gap_shapes import shapes
from composer.filler import filigree_ink as ink
from composer.filler.filigree_arms import BENDS_MM, TIGHTEST_MM, Tried, course, goals_of, sharpest
from composer.filler.filigree_curves import scroll
from composer.filler.filigree_fill import Growth
from composer.filler.filigree_grow import Nib, Stroke
from composer.filler.filigree_mirror import axes_of, half_of, rooted
from composer.filler.filigree_roots import axis
from composer.filler.filigree_sketch import in_ink
from composer.filler.filigree_stem import lattice
from composer.filler.filigree_stock import ball_mm
from composer.filler.ground import Wish
from composer.plan.model import Hand

NIB = Nib(0.05, 0.2, 0.15, 1.4)


def wound(r: float, side: int, ball: float, eye: int = 0) -> Stroke:
    """A scroll of size r that turns to a side and ends in a ball, or in none."""
    form = scroll(430, 0.46, 0.7)
    z, t = form.cut(max(24, int(form.length * r / 0.4)))
    z = r * (z if side > 0 else z.conj())
    return Stroke(z, NIB.profile(np.array(0.05 * r), np.array(r), t), "scroll", side, 1, ball=ball, eye=eye)


def same(a: BaseGeometry, b: BaseGeometry, within_mm: float) -> bool:
    """Whether no place of either lies further from the other."""
    return all(shapely.difference(x, shapely.buffer(y, within_mm)).is_empty for x, y in ((a, b), (b, a)))


@pytest.mark.parametrize("r", [3.0, 6.0, 15.0])
@pytest.mark.parametrize("side", [1, -1])
def test_a_sketched_stroke_is_the_drawn_one(r: float, side: int) -> None:
    """To a twelfth of a millimetre, but for the notch between a ball and its neck, which is blunter."""
    for ball, eye in ((0.0, 0), (ball_mm(r, 1.0), 0), (ball_mm(r, 1.0), -side)):
        s = wound(r, side, ball, eye)
        drawn = shapely.union_all([ink.body(s.z, s.half), *(ink.ball(s) if ball else ())])
        got = in_ink([s])
        assert shapely.is_valid(got) and got.geom_type == "Polygon"
        notch = shapely.Point(s.ball_at.real, s.ball_at.imag).buffer(1.25 * ball)
        assert same(shapely.difference(drawn, notch), shapely.difference(got, notch), 0.08)
        assert same(drawn, got, 0.35)
        assert shapely.get_num_coordinates(got) < 0.95 * shapely.get_num_coordinates(drawn)


def test_strokes_sketched_together_are_those_sketched_alone() -> None:
    some = [wound(9.0, 1, 1.2), wound(4.0, -1, 0.0), wound(12.0, -1, 1.7)]
    assert same(in_ink(some), shapely.union_all([in_ink([s]) for s in some]), 0.08)


def test_a_strip_along_an_axis_tells_whether_its_stem_comes_from_behind_a_neighbour() -> None:
    told = set()
    for ground in shapes().values():
        for a in axes_of(ground):
            half = half_of(ground, a)
            assert rooted(ground, a) == (None if half is None else half.tucked)
            told.add(rooted(ground, a))
    assert {True, False} <= told


def test_an_arm_that_leaves_too_sharply_is_too_sharp() -> None:
    """Why no such course is tried: where an arm begins nothing is softened."""
    seen = 0
    for name in ("big_field", "wide_pocket"):
        ground = shapes()[name]
        half = half_of(ground, axes_of(ground)[0])
        assert half is not None
        g = Growth(ground, Hand(), Wish(), np.random.default_rng(1), half)
        axis(g, half)
        stem, places = g.strokes[0], lattice(g.room, None)
        for goal in goals_of(g, half)[::12]:
            before = Tried(places.ways_to(goal.at))
            for k in range(20, len(stem.z) - 20, 30):
                way = before.way(k, complex(stem.z[k] + 5.0))
                for side in (0, 1) if len(way) > 4 else ():
                    z = course(g, stem, k, goal, BENDS_MM[-1], way, side)
                    if z is not None:
                        assert sharpest(z) >= 1 / TIGHTEST_MM[0]
                        seen += 1
    assert seen > 20
