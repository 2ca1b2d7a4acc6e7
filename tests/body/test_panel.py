"""Panels: tapes are kept, charts invert, both sides are alike, and what can't be made is said."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from panel_cases import SOME, UNEVEN, disc, places, trunks, typical

from composer.body.correspond import Pose
from composer.body.distort import stretches_in_space, worst
from composer.body.metric import area, distance
from composer.body.panel_mirror import mirror_on_panel, mirror_panel_points, panel_deviation
from composer.body.patch import lay_patch
from composer.body.sheet import unroll
from composer.body.yoke import build_panel, check_panel
from composer.body.yoke_fields import PANEL_FIELDS, PANEL_TYPICAL_MM, PANELS
from composer.body.yoke_fit import fit_trunk
from composer.body.yoke_tape import tape


@SOME
@given(measures=trunks("chest"))
def test_the_trunk_keeps_every_tape_of_a_chest(measures: dict[str, float]) -> None:
    trunk, v_top, sides = fit_trunk("chest", measures)
    up = trunk.embed(np.column_stack([np.zeros(400), np.linspace(0, v_top, 400)]))
    assert np.linalg.norm(np.diff(up, axis=0), axis=1).sum() == pytest.approx(measures["notch_to_armpit"], abs=0.02)
    for side, at in sides.items():
        assert tape(trunk, np.array([0.0, v_top]), at.acromion) == pytest.approx(
            measures[f"notch_to_acromion_{side}"], abs=1e-4)
        assert tape(trunk, at.acromion, at.crease) == pytest.approx(measures[f"acromion_to_crease_{side}"], abs=1e-4)
    half = np.linspace(-trunk.girth_mm / 4, trunk.girth_mm / 4, 900)
    around = trunk.embed(np.column_stack([half, np.zeros(900)]))
    assert 2 * np.linalg.norm(np.diff(around, axis=0), axis=1).sum() == pytest.approx(measures["chest_girth"], abs=0.2)


@SOME
@given(measures=trunks("upper_back"))
def test_a_back_is_one_simple_piece_within_its_levels(measures: dict[str, float]) -> None:
    panel = build_panel("upper_back", measures)
    assert panel.form.is_valid and shapely.Polygon(panel.outline).exterior.is_ccw
    assert panel.s_min == pytest.approx(panel.outline[:, 1].min())
    assert panel.s_max == pytest.approx(panel.outline[:, 1].max())
    assert panel.skin_area_mm2() == pytest.approx(panel.area_mm2(), rel=0.03)
    stretch = panel.sheet_stretch(places(panel, 200))
    assert np.percentile(np.abs(stretch - 1).max(axis=1), 90) < 0.11


@pytest.mark.parametrize("part", PANELS)
@pytest.mark.parametrize("reach", [20.0, 60.0, 100.0])
def test_patch_and_inverse_are_the_identity(part: str, reach: float) -> None:
    panel = typical(part)
    for u, s in places(panel, 12):
        patch = lay_patch(panel, u, s, reach, reach, reach)
        xy = np.random.default_rng(1).uniform(-1.3, 1.3, (200, 2)) * reach
        assert np.abs(patch.to_flat(patch.to_skin(xy)) - xy).max() < 1e-9
        assert patch.to_flat(np.array([[u, s]]))[0] == pytest.approx([0, 0], abs=1e-12)


@pytest.mark.parametrize("part", PANELS)
def test_paper_is_strained_little_and_the_meter_tells_it(part: str) -> None:
    """Measured on the typical body, clear of the edges: 60 mm across within 2.5%, 120 mm within 6%."""
    panel = typical(part)
    for reach, most in ((30.0, 0.025), (60.0, 0.06)):
        for u, s in places(panel, 15, reach):
            patch = lay_patch(panel, u, s, reach, reach, reach)
            xy = disc(0.98 * reach, 40)
            told = patch.stretches(panel, xy)
            assert np.abs(told - 1).max() < most
            assert told == pytest.approx(stretches_in_space(panel, patch, xy, 0.2), abs=3e-4)
            assert abs(worst(panel, patch, xy).stretch) == pytest.approx(np.abs(told - 1).max(), abs=1e-12)


def test_a_panel_is_read_like_a_limb() -> None:
    panel = typical("chest")
    assert not panel.closed and hash(panel) == hash(build_panel("chest", dict(PANEL_TYPICAL_MM["chest"])))
    sheet = unroll(panel)
    us = places(panel, 50)
    assert sheet.to_skin(sheet.to_flat(us)) == pytest.approx(us, abs=1e-12)
    assert np.array_equal(sheet.border(), sheet.to_flat(panel.outline))
    assert sheet.copies(panel.outline) != [] and len(sheet.copies(panel.outline)) == 1
    assert area(panel, shapely.Polygon(panel.outline)) == pytest.approx(panel.area_mm2(), rel=1e-9)
    assert distance(panel, us[0], us[1])[0] == pytest.approx(np.hypot(*np.diff(panel.to_mm(us[:2]), axis=0)[0]))
    whole = panel.turn_mm * (panel.s_max - panel.s_min)
    assert area(panel, panel.outside) + panel.area_mm2() == pytest.approx(whole, rel=1e-9)
    with pytest.raises(KeyError, match="no edge 'hem'"):
        panel.edge("hem")
    with pytest.raises(ValueError, match="finite place"):
        lay_patch(panel, float("nan"), 100, 20, 20)


@pytest.mark.parametrize("part", PANELS)
def test_equal_sides_make_an_exactly_even_panel(part: str) -> None:
    panel = typical(part)
    left, right = (np.array(panel.landmarks[f"crease {s}"]) for s in ("left", "right"))
    assert left == pytest.approx(right * (-1, 1), abs=1e-9)
    us = places(panel, 40)
    assert panel.embed(us * (-1, 1)) == pytest.approx(panel.embed(us) * (-1, 1, 1), abs=1e-8)
    assert mirror_panel_points(panel, us) == pytest.approx(us * (-1, 1), abs=1e-6)
    told = panel_deviation(panel, Pose(0.1, 200, 30), disc(50))
    assert told.largest_mm < 1e-3 and "exact mirror image" in told.sentence


def test_left_of_the_client_is_right_on_the_chest_and_left_on_the_back() -> None:
    assert typical("chest").landmarks["shoulder point left"][0] > 0
    assert typical("upper_back").landmarks["shoulder point left"][0] < 0


@SOME
@given(u=st.floats(-0.24, 0.24), s=st.floats(0, 340), turn=st.floats(-180, 180), flip=st.booleans())
def test_mirroring_an_uneven_chest_twice_is_the_identity(u: float, s: float, turn: float, flip: bool) -> None:
    panel = build_panel("chest", UNEVEN)
    pose = Pose(u, s, turn, flip)
    back = mirror_on_panel(panel, mirror_on_panel(panel, pose))
    assert (back.turn_deg, back.flip) == (turn, flip)
    assert [back.u, back.s_mm] == pytest.approx([u, s], abs=1e-9)


def test_landmarks_mirror_to_landmarks_and_the_cause_is_told() -> None:
    panel = build_panel("chest", UNEVEN)
    for name in ("shoulder point", "crease", "side", "lower side"):
        there = mirror_panel_points(panel, np.array([panel.landmarks[f"{name} left"]]))[0]
        assert there == pytest.approx(panel.landmarks[f"{name} right"], abs=1e-9)
    assert mirror_panel_points(panel, np.array([[0.0, 50.0], [0.0, 220.0]]))[:, 0] == pytest.approx([0, 0], abs=1e-12)
    told = panel_deviation(panel, Pose(0.13, 250, 20), disc(50))
    assert 0.3 < told.largest_mm < 12
    assert "the shoulder point of that side lies" in told.sentence and "further in" in told.sentence
    assert told.largest_mm <= 1.1 * (told.from_girth_mm + told.from_length_mm + told.from_taper_mm) + 0.2
    with pytest.raises(ValueError, match="finite place"):
        mirror_on_panel(panel, Pose(float("inf"), 0))


def test_bad_measures_are_told_in_sentences() -> None:
    m = dict(PANEL_TYPICAL_MM["chest"])
    del m["fullness"]
    clean, problems = check_panel("chest", {**m, "chest_girth": "300 cm", "elbow": 200}, "cm")
    said = {p.field: p for p in problems}
    assert "must lie within" in said["chest_girth"].sentence and "Fullness" in said["fullness"].sentence
    assert said["elbow"].severity == "warning" and "chest_girth" not in clean
    with pytest.raises(ValueError, match="Chest: .*Fullness"):
        build_panel("chest", m)
    with pytest.raises(ValueError, match="can't\\s+all be right|don't meet"):
        build_panel("chest", {**PANEL_TYPICAL_MM["chest"], "notch_to_acromion_left": 330,
                              "notch_to_acromion_right": 100, "acromion_to_crease_left": 60,
                              "acromion_to_crease_right": 60})
    for share in (0.62, 1.4):   # no place on the shoulder line is so far out as the tapes would have it
        narrow = {**PANEL_TYPICAL_MM["chest"], "chest_girth": share * PANEL_TYPICAL_MM["chest"]["chest_girth"]}
        with pytest.raises(ValueError, match="can't all be right together; .* and the chest girth"):
            build_panel("chest", narrow)
    with pytest.raises(ValueError, match="no panel"):
        build_panel("left_arm", {})


def test_every_measure_says_where_its_range_comes_from() -> None:
    for part in PANELS:
        for f in PANEL_FIELDS[part]:
            assert f.low_mm < f.usual_low_mm < f.usual_high_mm < f.high_mm
            assert "ANSUR" in f.source or "memory" in f.source
            assert f.usual_low_mm <= PANEL_TYPICAL_MM[part][f.name] <= f.usual_high_mm, f.name
