"""Lengths and areas by the local metric; the sections of a limb; a piece that meets itself."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from limb_cases import FEW, arms, cones, cylinder, oval
from shapely.geometry import Polygon

from composer.body.limb import Level, Limb
from composer.body.metric import area, distance, length, perimeter, ring_area
from composer.body.patch import lay_patch
from composer.body.selfmeet import self_meeting


def circle_at(s: float, n: int = 2000, turns: float = 1.0) -> np.ndarray:
    return np.column_stack([np.linspace(0, turns, n + 1), np.full(n + 1, s)])


@FEW
@given(limb=arms(), at=st.floats(0, 1))
def test_every_section_is_as_long_as_its_taped_girth(limb: Limb, at: float) -> None:
    for s in (at * limb.s_max, *(lv.s_mm for lv in limb.levels)):
        ring = limb.embed(circle_at(s))
        in_space = np.hypot(*np.diff(ring[:, :2], axis=0).T).sum()
        assert in_space == pytest.approx(float(limb.girth(s)), abs=0.002)
        assert np.ptp(ring[:, 2]) == 0
        assert length(limb, circle_at(s)) == pytest.approx(float(limb.girth(s)), rel=1e-4)


@FEW
@given(limb=arms(), a=st.floats(0, 1), b=st.floats(0, 1))
def test_band_area_is_the_integral_of_girth(limb: Limb, a: float, b: float) -> None:
    lo, hi = sorted((a * limb.s_max, b * limb.s_max))
    ring = np.array([[0, lo], [1, lo], [1, hi], [0, hi]], float)
    steps = np.linspace(lo, hi, 200)[:, None]
    ring = np.concatenate([ring[:2], np.insert(steps, 0, 1, axis=1), np.insert(steps[::-1], 0, 0, axis=1)])
    assert ring_area(limb, ring) == pytest.approx(limb.area_mm2(lo, hi), rel=1e-6, abs=1e-6)
    assert float(limb.area_below(hi) - limb.area_below(lo)) == pytest.approx(limb.area_mm2(lo, hi), abs=1e-6)


def test_area_beyond_the_ends_goes_on_with_the_end_girth() -> None:
    limb = cylinder(300, 400)
    assert limb.area_below(np.array([450, -10])) == pytest.approx([300 * 450, -3000])


@FEW
@given(limb=cones(), u=st.floats(-1, 1))
def test_a_paper_shape_keeps_its_area_and_edge_on_a_cone(limb: Limb, u: float) -> None:
    patch = lay_patch(limb, u, limb.s_max / 2, 25, 25)
    flat = Polygon(oval(35, 25, 400), [oval(12, 9, 200)])
    skin = Polygon(patch.to_skin(oval(35, 25, 400)), [patch.to_skin(oval(12, 9, 200))])
    assert area(limb, skin) == pytest.approx(flat.area, rel=2e-4)
    assert perimeter(limb, skin) == pytest.approx(flat.length, rel=1e-6)
    assert ring_area(limb, np.asarray(skin.exterior.coords)[:-1][::-1]) == pytest.approx(
        -ring_area(limb, np.asarray(skin.exterior.coords)[:-1]))


@FEW
@given(limb=arms(), k=st.integers(-3, 3), seed=st.integers(0, 99))
def test_distance_knows_no_seam(limb: Limb, k: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    a, b = (np.column_stack([rng.uniform(0, 1, 30), rng.uniform(0, limb.s_max, 30)]) for _ in range(2))
    plain = distance(limb, a, b)
    assert distance(limb, a + np.array([k, 0]), b) == pytest.approx(plain, abs=1e-9)
    assert distance(limb, b, a) == pytest.approx(plain, abs=1e-9)
    assert np.all(plain >= np.abs(a[:, 1] - b[:, 1]) - 1e-9)


def test_distance_on_a_cylinder_is_flat() -> None:
    limb = cylinder(300)
    assert distance(limb, np.array([0.9, 100]), np.array([0.1, 145]))[0] == pytest.approx(75.0)
    assert length(limb, np.array([[0, 0], [0.1, 40], [0.1, 0]]), closed=True) == pytest.approx(50 + 40 + 30)
    assert length(limb, np.zeros((1, 2))) == 0 and area(limb, Polygon()) == 0 and perimeter(limb, Polygon()) == 0


@pytest.mark.parametrize(("levels", "says"), [
    ((Level("a", 0, 100),), "at least two"), ((Level("a", 0, 100), Level("b", 0, 100)), "follow each other"),
    ((Level("a", 0, 100), Level("b", 50, -1)), "more than 0"), ((Level("a", 0, 100), Level("b", 50, np.nan)), "0 mm"),
    ((Level("a", 0, 100), Level("b", 10, 200)), "no limb can"),
])
def test_impossible_limbs_are_refused(levels: tuple[Level, ...], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        Limb(levels)


def box(width: float, height: float) -> np.ndarray:
    return np.array([[-width, -height], [width, -height], [width, height], [-width, height]]) / 2


def test_a_piece_meets_itself_on_a_cylinder() -> None:
    limb = cylinder(300)
    patch = lay_patch(limb, 0.7, 200, 20, 20)
    free = self_meeting(limb, patch, [box(280, 20)])
    assert not free.meets and free.space_mm == pytest.approx(20, abs=1e-6) and free.sentence == ""
    close = self_meeting(limb, patch, [box(299, 20)])
    assert not close.meets and close.space_mm == pytest.approx(1, abs=1e-6) and "skin break 2.0 mm" in close.sentence
    over = self_meeting(limb, patch, [box(310, 20)])
    assert over.meets and over.overlap_mm2 == pytest.approx(200, rel=1e-6) and "covers itself" in over.sentence
    twice = self_meeting(limb, patch, [box(620, 20)])
    assert twice.overlap_mm2 == pytest.approx((320 + 20) * 20, rel=1e-6)
    windowed = self_meeting(limb, patch, [box(310, 20), box(305, 10)])
    assert windowed.overlap_mm2 == pytest.approx(10 * 20 - 10 * 10, rel=1e-6)
    assert self_meeting(limb, patch, []).sentence == ""


@FEW
@given(limb=arms(), at=st.floats(0.3, 0.7), turn=st.floats(0, 360))
def test_self_meeting_does_not_depend_on_where_round_the_limb(limb: Limb, at: float, turn: float) -> None:
    a = np.radians(turn)
    rotation = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    shape = oval(0.56 * float(limb.girth(at * limb.s_max)), 18, 80) @ rotation
    reach = float(np.abs(shape[:, 1]).max())
    told = [self_meeting(limb, lay_patch(limb, u, at * limb.s_max, reach, reach), [shape]) for u in (0.0, 0.37)]
    assert told[0].overlap_mm2 == pytest.approx(told[1].overlap_mm2, rel=1e-6, abs=1e-6)
    assert told[0].meets == told[1].meets
