"""From arm to arm and across an axis: identities, exact twins, and what a rigid twin loses."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from limb_cases import FEW, arm_measures, arms, cylinder, oval

from composer.body.correspond import Pose, carry, carry_s, landmarks, mirror, mirror_points
from composer.body.deviation import deviation
from composer.body.limb import Level, Limb
from composer.body.measures import TYPICAL_MM, build_limb, extra_name
from composer.body.patch import lay_patch_under

poses = st.builds(Pose, st.floats(-2, 2), st.floats(10, 300), st.floats(-180, 180), st.booleans())


@FEW
@given(source=arms(), target=arms(), pose=poses)
def test_carrying_there_and_back_is_the_identity(source: Limb, target: Limb, pose: Pose) -> None:
    back = carry(target, source, carry(source, target, pose))
    assert (back.u, back.turn_deg, back.flip) == (pose.u, pose.turn_deg, pose.flip)
    assert back.s_mm == pytest.approx(pose.s_mm, abs=1e-9)


@FEW
@given(source=arms(), target=arms())
def test_landmarks_go_to_landmarks_and_order_is_kept(source: Limb, target: Limb) -> None:
    a, b = landmarks(source), landmarks(target)
    assert carry_s(source, target, np.array(list(a.values()))) == pytest.approx(list(b.values()), abs=1e-9)
    s = np.linspace(-20, source.s_max + 20, 300)
    there = carry_s(source, target, s)
    assert np.all(np.diff(there) > 0)
    assert carry_s(target, source, there) == pytest.approx(s, abs=1e-9)


@FEW
@given(pose=poses, axis=st.floats(-1, 1))
def test_mirroring_twice_about_an_axis_is_the_identity(pose: Pose, axis: float) -> None:
    back = mirror(mirror(pose, axis), axis)
    assert back.u == pytest.approx(pose.u, abs=1e-12)
    assert (back.s_mm, back.turn_deg, back.flip) == (pose.s_mm, pose.turn_deg, pose.flip)
    us = np.array([[0.2, 5.0], [-1.3, 80.0]])
    assert mirror_points(mirror_points(us, axis), axis) == pytest.approx(us, abs=1e-12)


@FEW
@given(measures=arm_measures(), u=st.floats(-1, 1), at=st.floats(0.2, 0.8))
def test_a_twin_on_equal_measures_is_exactly_equal(measures: dict[str, float], u: float, at: float) -> None:
    left, right = build_limb("left_arm", measures), build_limb("right_arm", dict(measures))
    pose = Pose(u, at * left.s_max, 33.0)
    twin = carry(left, right, pose)
    assert (twin.u, twin.s_mm, twin.turn_deg, twin.flip) == (-pose.u, pose.s_mm, -33.0, True)
    flat = oval(30, 45) @ np.array([[1, 0.2], [0, 1.0]])
    for paper in (flat, 1.8 * flat + np.array([4.0, -9.0])):
        here = lay_patch_under(left, pose.u, pose.s_mm, [paper]).to_skin(paper)
        there = lay_patch_under(right, twin.u, twin.s_mm, [paper * (-1.0, 1.0)]).to_skin(paper * (-1.0, 1.0))
        assert np.array_equal(there, here * (-1.0, 1.0))
    told = deviation(left, right, pose, [flat])
    assert told.largest_mm == 0 and "exact mirror image" in told.sentence


def test_lettering_is_carried_without_being_turned_round() -> None:
    limb = build_limb("left_arm", TYPICAL_MM)
    assert carry(limb, limb, Pose(0.2, 100, 10), flip_art=False) == Pose(-0.2, 100, -10, False)
    assert mirror(Pose(0.2, 100, 10, True), 0.0, flip_art=False).flip is True


def test_further_girths_are_no_landmarks() -> None:
    left = build_limb("left_arm", TYPICAL_MM)
    right = build_limb("right_arm", {**TYPICAL_MM, extra_name(80): 200})
    s = np.linspace(0, 490, 50)
    assert np.array_equal(carry_s(left, right, s), s)


def test_deviation_by_hand_on_cylinders() -> None:
    # 330 against 300 mm round: a point 60 mm from the anchor should lie at 66, the rigid twin has 60.
    flat = np.array([[60.0, 0.0], [-60.0, 0.0], [0.0, 40.0], [30.0, -40.0]])
    told = deviation(cylinder(300), cylinder(330), Pose(0.3, 200), [flat])
    assert told.per_vertex_mm == pytest.approx([6, 6, 0, 3], abs=1e-6)
    assert (told.from_girth_mm, told.from_length_mm) == pytest.approx((6, 0), abs=1e-6)
    assert told.from_taper_mm == pytest.approx(0, abs=1e-6) and told.girth_ratio == pytest.approx(1.1)
    assert "30.0 mm more round" in told.sentence and told.sentence.startswith("The twin lies up to 6.0 mm off")
    # 10% longer: 40 mm along should be 44.
    told = deviation(cylinder(300, 400), cylinder(300, 440), Pose(0.3, 200), [flat])
    assert told.per_vertex_mm == pytest.approx([0, 0, 4, 4], abs=1e-6)
    assert told.from_length_mm == pytest.approx(4, abs=1e-6) and told.length_ratio == pytest.approx(1.1)


def test_taper_is_told_apart_from_girth() -> None:
    cone = Limb((Level("a", 0, 240, 1.0), Level("b", 400, 360, 1.0)))
    told = deviation(cylinder(300), cone, Pose(0.0, 200), [np.array([[60.0, 0.0], [60.0, 50.0], [-60.0, -50.0]])])
    assert told.girth_ratio == pytest.approx(1) and told.from_girth_mm == pytest.approx(0, abs=1e-9)
    assert told.from_taper_mm > 2 and "tapers differently" in told.sentence


@FEW
@given(source=arms(), target=arms(), pose=poses)
def test_deviation_is_explained_by_its_causes(source: Limb, target: Limb, pose: Pose) -> None:
    told = deviation(source, target, pose, [oval(30, 30)])
    causes = told.from_girth_mm + told.from_length_mm + told.from_taper_mm
    assert told.largest_mm <= 1.1 * causes + 0.1
    assert np.isfinite(told.per_vertex_mm).all() and told.mean_mm <= told.largest_mm


def test_what_cannot_be_carried_is_refused() -> None:
    arm = build_limb("left_arm", TYPICAL_MM)
    with pytest.raises(ValueError, match="same levels"):
        carry(arm, cylinder(), Pose(0, 100))
    with pytest.raises(ValueError, match="finite place"):
        carry(arm, arm, Pose(float("nan"), 100))
    with pytest.raises(ValueError, match="finite place"):
        mirror(Pose(0, 100), float("inf"))
