"""Measures of a leg: ranges, swaps, the limb they make, and the parts that are not planned here."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from limb_cases import FEW, leg_measures

from composer.body.correspond import Pose, carry
from composer.body.kinds import ARM, KINDS, LEG, LIMB_PARTS, UNPLANNED, fields_of, kind_of, side_of
from composer.body.measures import TYPICAL_MM, MeasureError, build_limb, check, refused

THIN = {"ankle": 150, "calf": 230, "below_knee": 215, "knee": 240, "mid_thigh": 290, "upper_thigh": 330, "hip": 350,
        "ankle_to_calf": 150, "calf_to_below_knee": 45, "below_knee_to_knee": 32, "knee_to_mid_thigh": 110,
        "mid_thigh_to_upper_thigh": 95, "upper_thigh_to_hip": 40}
HEAVY = {"ankle": 300, "calf": 560, "below_knee": 540, "knee": 560, "mid_thigh": 820, "upper_thigh": 930, "hip": 980,
         "ankle_to_calf": 250, "calf_to_below_knee": 90, "below_knee_to_knee": 60, "knee_to_mid_thigh": 190,
         "mid_thigh_to_upper_thigh": 170, "upper_thigh_to_hip": 100}


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda k: k.name)
def test_every_kind_is_complete_and_in_order(kind) -> None:
    assert [f.name for f in kind.fields] == [*kind.girths, *kind.lengths]
    assert len(kind.levels) == len(kind.girths) == len(kind.aspects) == len(kind.lengths) + 1
    for f in kind.fields:
        assert f.low_mm < f.usual_low_mm < f.usual_high_mm < f.high_mm
        assert f.level in kind.levels and f.where.endswith(".") and "ANSUR II" in f.source
        if f.kind == "length":
            assert kind.levels.index(f.level) == kind.levels.index(f.from_level) + 1
    assert check(kind.typical_mm, "mm", kind.name) == (kind.typical_mm, [])
    assert not set(ARM.by_name) & set(LEG.by_name)      # a name says which limb it belongs to


@pytest.mark.parametrize("measures", [THIN, HEAVY])
def test_thin_and_heavy_legs_are_taken_with_warnings(measures: dict[str, float]) -> None:
    clean, problems = check(measures, "mm", "leg")
    assert clean == measures and problems and not refused(problems)
    assert all("unusual" in p.sentence for p in problems)


@FEW
@given(measures=leg_measures())
def test_every_plausible_leg_makes_a_limb_with_its_girths(measures: dict[str, float]) -> None:
    limb = build_limb("right_leg", measures)
    at = np.concatenate([[0.0], np.cumsum([measures[n] for n in LEG.lengths])])
    assert limb.girth(at) == pytest.approx([measures[g] for g in LEG.girths], abs=1e-9)
    assert [lv.name for lv in limb.levels] == list(LEG.levels)


def test_sentences_speak_of_the_leg() -> None:
    typical = LEG.typical_mm
    said = check({**typical, "ankle": 384, "calf": 224}, "mm", "leg")[1]
    assert refused(said) and any("which no leg is" in p.sentence and "calf" in p.sentence for p in said)
    said = check({**typical, "wrist": 170}, "mm", "left_leg")[1]
    assert [p.severity for p in said] == ["warning"] and "no measure of a leg" in said[0].sentence
    said = check({**typical, "girth@3000": 300}, "mm", "leg")[1]
    assert "between the ankle and the hip tape (770 mm)" in said[0].sentence
    with pytest.raises(MeasureError, match="Left leg: Calf"):
        build_limb("left_leg", {"ankle": 220})
    with pytest.raises(MeasureError, match="Left leg: Ankle"):
        build_limb("left_leg", TYPICAL_MM)


def test_further_girths_work_on_a_leg() -> None:
    limb = build_limb("left_leg", {**LEG.typical_mm, "girth@120": 300})
    assert limb.girth(120.0) == pytest.approx(300) and not limb.levels[1].landmark


def test_legs_mirror_onto_legs_only() -> None:
    left, right = build_limb("left_leg", LEG.typical_mm), build_limb("right_leg", {**LEG.typical_mm, "calf": 390})
    assert carry(left, right, Pose(0.2, 300.0)).u == -0.2
    with pytest.raises(ValueError, match="same kind"):
        carry(left, build_limb("left_arm", TYPICAL_MM), Pose(0.2, 300.0))


def test_parts_and_kinds_are_told_apart() -> None:
    assert fields_of("left_leg") == fields_of("leg") == LEG.fields and fields_of("arm") == ARM.fields
    assert {f.kind for f in fields_of("chest")} <= {"girth", "length"} and fields_of("chest") != fields_of("upper_back")
    assert {side_of(p) for p in LIMB_PARTS if p.startswith("left")} == {1} and side_of("right_leg") == -1
    for left_out in UNPLANNED:
        assert left_out.reason.endswith(".") and "law" in left_out.reason
        with pytest.raises(KeyError, match="not planned here"):
            kind_of(left_out.name)
    assert {u.name for u in UNPLANNED} == {"hand", "foot", "neck", "face"}
    with pytest.raises(KeyError, match="no limb"):
        kind_of("tail")
