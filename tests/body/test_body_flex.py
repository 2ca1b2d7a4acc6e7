"""Poses: invariants of the strain fields, flexed girths, the bent limb in space, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from limb_cases import FEW, arms, legs

from composer.body.bend_view import BentLimb
from composer.body.bends import JOINTS
from composer.body.correspond import carry_points, landmarks
from composer.body.flex import FACTORS, POSES, FlexError, folding, posed_limb, strain, worst
from composer.body.kinds import KINDS, kind_of
from composer.body.limb import Limb
from composer.body.measures import build_limb
from composer.body.panel_motion import BACK_FOLD, FRONT_FOLD, TOP, UNDER_UP

SOME = settings(FEW, max_examples=16)
EITHER = st.one_of(st.tuples(st.just("arm"), arms()), st.tuples(st.just("leg"), legs()))
ARM = build_limb("left_arm", kind_of("arm").typical_mm)
LEG = build_limb("left_leg", kind_of("leg").typical_mm)


def grid(limb: Limb, n: int = 24, m: int = 60) -> np.ndarray:
    u, s = np.meshgrid((np.arange(n) + 0.5) / n, np.linspace(limb.s_min, limb.s_max, m))
    return np.column_stack([u.ravel(), s.ravel()])


@SOME
@given(which=EITHER, k=st.integers(-2, 2))
def test_fields_are_sound_on_any_limb(which: tuple[str, Limb], k: int) -> None:
    kind, limb = which
    us = grid(limb, 12, 30)
    assert not strain(limb, kind, us, "relaxed").any() and not folding(limb, kind, us, "flexed").any()
    for pose in POSES[kind]:
        told, folds = strain(limb, kind, us, pose), folding(limb, kind, us, pose)
        assert told.shape == (len(us), 2)
        assert np.array_equal(np.isnan(told).any(axis=1), folds if kind == "arm" else np.zeros(len(us), bool))
        assert np.nanmin(told) >= -0.61 and np.nanmax(told) <= 1.01
        assert strain(limb, kind, us + (k, 0.0), pose) == pytest.approx(told, abs=1e-9, nan_ok=True)    # noqa: RUF005
        other = strain(limb, f"right_{kind}", carry_points(limb, limb, us), pose)       # left and right alike
        assert other == pytest.approx(told, abs=1e-9, nan_ok=True)
    for joint in JOINTS[kind]:      # nothing far from a joint
        us = us[np.abs(us[:, 1] - joint.place(limb)) > 3.2 * float(limb.girth(joint.place(limb))) / 6.28 + 136]
    assert len(us) == 0 or not strain(limb, kind, us, "bent").any()


@SOME
@given(which=EITHER)
def test_worst_is_the_furthest_from_nothing(which: tuple[str, Limb]) -> None:
    kind, limb = which
    us = grid(limb, 12, 30)
    told = worst(limb, kind, us)
    assert np.isfinite(told.strain).all() and np.array_equal(told.folds, folding(limb, kind, us, "bent"))
    every = np.stack([strain(limb, kind, us, p) for p in POSES[kind]])
    assert np.all(np.abs(told.strain) >= np.nanmax(np.abs(every), axis=0) - 1e-12)
    named = np.take_along_axis(every, told.pose[None], axis=0)[0]
    assert np.array_equal(named, told.strain)


def test_more_bend_is_more_strain_and_none_is_none() -> None:
    elbow = np.array([[0.5, landmarks(ARM)["elbow"]]])
    steps = [strain(ARM, "arm", elbow, "bent", bend_deg={"elbow": d})[0] for d in (0, 30, 60, 90, 120, 150)]
    assert np.all(np.diff(steps, axis=0) > 0) and not steps[0].any()
    knee = np.array([[0.0, landmarks(LEG)["knee"]]])
    steps = [strain(LEG, "leg", knee, "bent", bend_deg={"knee": d})[0, 0] for d in (0, 45, 90, 120)]
    assert steps[0] == 0 and steps[1] == pytest.approx(steps[2] / 2) and steps[3] == steps[2]


def test_wrist_bends_both_ways() -> None:
    us = np.array([[0.5, 0.0], [0.0, 0.0]])
    palm, back = (strain(ARM, "arm", us, "bent", bend_deg={"wrist": d}) for d in (60, -60))
    assert palm[0] == pytest.approx(back[1]) and np.isnan(palm[1]).all() and np.isnan(back[0]).all()
    assert palm[0, 0] == pytest.approx(np.radians(60) * 0.65 * 42.2 / 180)


def test_a_raised_arm_moves_the_skin_at_the_armpit_and_the_cap_alone() -> None:
    """What arm and trunk share at the armhole has the trunk's own peaks (`composer.body.panel_motion`)."""
    marks = landmarks(ARM)
    back, front, inner, cap = strain(ARM, "left_arm", np.array([
        (0.625, marks["armpit"]), (0.875, marks["armpit"]), (0.75, marks["armpit"]), (0.25, marks["cap"])]),
        "arm raised")
    assert back[1] == pytest.approx(BACK_FOLD) and front[1] == pytest.approx(FRONT_FOLD)
    assert inner[0] == pytest.approx(UNDER_UP) and cap == pytest.approx((TOP, 0.0))
    us = grid(ARM)
    told = strain(ARM, "left_arm", us, "arm raised")
    low = us[:, 1] < marks["armpit"] - 0.3 * float(ARM.girth(marks["armpit"]))
    assert low.any() and not told[low].any() and not folding(ARM, "left_arm", us, "arm raised").any()
    half = strain(ARM, "left_arm", us, "arm raised", bend_deg={"shoulder": 90})
    assert half == pytest.approx(told / 2)
    with pytest.raises(ValueError, match="can't be raised by 200"):
        strain(ARM, "left_arm", us, "arm raised", bend_deg={"shoulder": 200})
    with pytest.raises(FlexError, match="no pose of a leg"):
        strain(LEG, "left_leg", us, "arm raised")


def test_fields_are_smooth_off_the_folds() -> None:
    for kind, limb in (("arm", ARM), ("leg", LEG)):
        line = np.column_stack([np.full(4000, 0.47 if kind == "arm" else 0.03), np.linspace(0, limb.s_max, 4000)])
        for pose in POSES[kind]:
            told = strain(limb, kind, line, pose)
            assert np.abs(np.diff(told, axis=0)).max() < 0.008         # a fifth of a mm apart


@pytest.mark.parametrize("kind", KINDS)
def test_flexed_girths_are_the_limbs_and_the_strains(kind: str) -> None:
    limb, of = (ARM, kind_of("arm")) if kind == "arm" else (LEG, kind_of("leg"))
    at = np.array([lv.s_mm for lv in limb.levels])
    flexed = posed_limb(limb, "flexed", kind)
    assert isinstance(flexed, Limb)
    assert flexed.girth(at) / limb.girth(at) == pytest.approx([FACTORS[g] for g in of.girths])
    told = strain(limb, kind, np.column_stack([np.zeros(len(at)), at]), "flexed")
    assert 1 + told[:, 1] == pytest.approx([FACTORS[g] for g in of.girths])
    us = grid(limb, 4)
    assert np.abs(strain(limb, kind, us, "flexed")[:, 0]).max() < 0.03
    assert set(of.girths) <= set(FACTORS)


def test_a_girth_taped_flexed_counts() -> None:
    level = landmarks(ARM)["fullest upper arm"]
    mine = {"upper_arm": 363.0}
    assert float(posed_limb(ARM, "flexed", "arm", mine).girth(level)) == pytest.approx(363)
    told = strain(ARM, "left_arm", np.array([[0.3, level]]), "flexed", mine)
    assert told[0, 1] == pytest.approx(363 / 330 - 1)
    further = build_limb("left_arm", {**kind_of("arm").typical_mm, "girth@300": 300})
    assert isinstance(posed_limb(further, "flexed", "arm", mine), Limb)


def test_flexed_stretch_along_is_that_of_the_profile() -> None:
    """Measured on circles: the line up the limb on the flexed skin at the height of the relaxed one."""
    s = np.linspace(0, ARM.s_max, 20001)
    flexed = posed_limb(ARM, "flexed", "arm")
    height, radius = ARM.height(s), flexed.girth(s) / (2 * np.pi)
    # the flexed limb keeps PCHIP through grown girths, the field multiplies two PCHIPs: alike to a mm
    measured = np.hypot(np.diff(height), np.diff(radius)).sum() / ARM.s_max - 1
    told = strain(ARM, "arm", np.column_stack([np.zeros(len(s)), s]), "flexed")[:, 0].mean()
    assert told == pytest.approx(measured, abs=4e-4)


@SOME
@given(which=EITHER, share=st.floats(0.1, 0.9))
def test_a_bent_limb_is_two_rigid_halves_at_the_angle(which: tuple[str, Limb], share: float) -> None:
    kind, limb = which
    joint = JOINTS[kind][0]
    deg = share * joint.most_deg
    bent = posed_limb(limb, "bent", kind, bend_deg={joint.name: deg})
    assert isinstance(bent, BentLimb)
    us = grid(limb, 12, 40)
    flat, space = limb.embed(us), bent.embed(us)
    half = bent.radius_mm * bent.bend_rad / 2
    near, far = flat[:, 2] > bent.z_mm + half, flat[:, 2] < bent.z_mm - half
    assert np.abs(space[near] - flat[near]).max(initial=0) < 1e-9
    if far.sum() > 20:
        a, b = flat[far] - flat[far].mean(axis=0), space[far] - space[far].mean(axis=0)
        assert np.linalg.norm(b, axis=1) == pytest.approx(np.linalg.norm(a, axis=1), abs=1e-6)
        up = np.linalg.lstsq(a, b, rcond=None)[0].T @ [0, 0, 1]       # the turn that carries one onto the other
        assert np.degrees(np.arccos(np.clip(up[2], -1, 1))) == pytest.approx(deg, abs=1e-4)
        assert np.sign(up[1]) == (1 if kind == "arm" else -1)         # forearm swings to the front, shin to the back
    ring = bent.embed(np.column_stack([np.linspace(0, 1, 400), np.full(400, joint.place(limb))]))
    assert np.linalg.norm(np.diff(ring, axis=0), axis=1).sum() == pytest.approx(
        float(limb.girth(joint.place(limb))), rel=1e-3)               # sections keep their girth
    line = bent.embed(np.column_stack([np.full(2000, 0.2), np.linspace(0, limb.s_max, 2000)]))
    assert np.linalg.norm(np.diff(line, axis=0), axis=1).max() < 3 * limb.s_max / 2000    # in one piece


@SOME
@given(which=EITHER)
def test_the_crease_does_not_turn_inside_out(which: tuple[str, Limb]) -> None:
    """Seen from the middle of the arc, skin of the crease goes round one way, without turning back."""
    kind, limb = which
    joint = JOINTS[kind][0]
    bent = posed_limb(limb, "bent", kind, bend_deg={joint.name: 120})
    half = bent.radius_mm * bent.bend_rad / 2
    s = np.linspace(joint.place(limb) - 60, joint.place(limb) + 60, 600)
    s = s[np.abs(limb.height(s) - bent.z_mm) < half]
    line = bent.embed(np.column_stack([np.full(len(s), joint.stretch_u + 0.5), s]))
    towards, drop = bent.radius_mm - bent.towards * line[:, 1], bent.z_mm + half - line[:, 2]
    angle = np.arctan2(drop, towards)
    assert np.all(np.diff(angle) < 0) and angle.min() > -0.01 and angle.max() < bent.bend_rad + 0.01


def test_no_bend_is_the_limb_itself() -> None:
    assert posed_limb(ARM, "relaxed", "arm") is ARM and posed_limb(ARM, "bent", "arm", bend_deg={"elbow": 0}) is ARM


@pytest.mark.parametrize(("args", "more", "says"), [
    (("asleep",), {}, "no pose"), (("bent",), {"bend_deg": {"knee": 20}}, "no joint"),
    (("bent",), {"bend_deg": {"elbow": 200}}, "can't bend by 200"),
    (("bent",), {"bend_deg": {"elbow": -5}}, "can't bend"), (("bent",), {"bend_deg": {"elbow": "far"}}, "can't bend"),
    (("flexed",), {"flexed_mm": {"tail": 3}}, "no girth of an arm"),
    (("flexed",), {"flexed_mm": {"upper_arm": 900}}, "Tape both once more"),
    (("flexed",), {"flexed_mm": {"upper_arm": float("nan")}}, "not a number")])
def test_what_cannot_be_is_refused(args: tuple, more: dict, says: str) -> None:
    with pytest.raises(FlexError, match=says):
        strain(ARM, "arm", np.zeros((1, 2)), *args, **more)
