"""Measures of an arm: ranges, swaps, all problems at once, and the limb they make."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from limb_cases import FEW, MUSCULAR, THIN, arm_measures

from composer.body.measures import (
    BY_NAME,
    FIELDS,
    GIRTHS,
    LENGTHS,
    LEVELS,
    TYPICAL_MM,
    MeasureError,
    build_limb,
    check,
    extra_name,
    refused,
)


def test_fields_are_complete_and_in_order() -> None:
    assert [f.name for f in FIELDS] == [*GIRTHS, *LENGTHS]
    for f in FIELDS:
        assert f.low_mm < f.usual_low_mm < f.usual_high_mm < f.high_mm
        assert f.level in LEVELS and f.where.endswith(".") and "ANSUR II" in f.source
        assert (f.kind == "length") == bool(f.from_level)
        if f.from_level:
            assert LEVELS.index(f.level) == LEVELS.index(f.from_level) + 1


def test_typical_arm_has_no_remark() -> None:
    clean, problems = check(TYPICAL_MM, "mm")
    assert clean == TYPICAL_MM and problems == []


@pytest.mark.parametrize("measures", [THIN, MUSCULAR])
def test_thin_and_muscular_arms_are_taken_with_warnings(measures: dict[str, float]) -> None:
    clean, problems = check(measures, "mm")
    assert clean == measures and problems and not refused(problems)
    assert all("unusual" in p.sentence for p in problems)


@FEW
@given(measures=arm_measures())
def test_every_plausible_arm_makes_a_limb_with_its_girths(measures: dict[str, float]) -> None:
    limb = build_limb("left_arm", measures)
    at = np.concatenate([[0.0], np.cumsum([measures[n] for n in LENGTHS])])
    assert limb.girth(at) == pytest.approx([measures[g] for g in GIRTHS], abs=1e-9)
    assert [lv.name for lv in limb.levels] == list(LEVELS)


def test_everything_wrong_is_said_at_once() -> None:
    bad = dict(zip((f.name for f in FIELDS), ["", None, "x", "nan", "-3", "inf", "0", "3000 mm", "0.5 mm", True, "1/0"],
                   strict=True))
    clean, problems = check(bad, "cm")
    assert clean == {} and refused(problems)
    assert {p.field for p in problems if p.severity == "refuse"} == set(bad)
    for p in problems:
        f = BY_NAME[p.field]
        assert f.label in p.sentence and "ANSUR II (US Army, 2012)" in p.sentence and " to " in p.sentence


def test_sentence_names_value_range_and_source_in_the_unit_asked() -> None:
    _, problems = check({**TYPICAL_MM, "wrist": 400}, "mm")
    f = BY_NAME["wrist"]
    first = problems[0]
    assert first.field == "wrist" and first.severity == "refuse"
    assert f"is 400 mm; it must lie within {f.low_mm:.0f} to {f.high_mm:.0f} mm" in first.sentence
    inches = {k: f"{v / 25.4}" for k, v in TYPICAL_MM.items()} | {"wrist": "15.75"}
    said = check(inches, "in")[1][0].sentence
    assert "is 15.75 in; it must lie within 2.99 to 11.69 in" in said


def test_wrong_unit_is_guessed() -> None:
    _, problems = check({**TYPICAL_MM, "elbow": "26.8"}, "mm")
    assert "would fit if it was taped in cm" in problems[0].sentence


@pytest.mark.parametrize(("a", "b", "severity"), [
    ("wrist", "forearm", "refuse"), ("wrist", "upper_arm", "refuse"), ("forearm", "upper_arm", "warning"),
    ("elbow", "upper_arm", "warning"), ("forearm_to_elbow", "wrist_to_forearm", "warning"),
    ("upper_arm_to_armpit", "elbow_to_upper_arm", "warning"), ("upper_arm", "deltoid", "warning"),
])
def test_swapped_measures_get_their_own_sentence(a: str, b: str, severity: str) -> None:
    swapped = {**TYPICAL_MM, a: TYPICAL_MM[b], b: TYPICAL_MM[a]}
    said = [p for p in check(swapped, "mm")[1] if "swapped" in p.sentence]
    both = [p for p in said if BY_NAME[a].label.lower() in p.sentence and BY_NAME[b].label.lower() in p.sentence]
    assert both and both[0].severity == severity


def test_unknown_names_are_told_and_left_out() -> None:
    clean, problems = check({**TYPICAL_MM, "tail": 30}, "mm")
    assert "tail" not in clean and [(p.field, p.severity) for p in problems] == [("tail", "warning")]


def test_too_steep_for_skin_is_refused() -> None:
    _, problems = check({**MUSCULAR, "armpit_to_deltoid": 13, "armpit": 480, "deltoid": 800}, "mm")
    assert refused(problems) and any("which no limb can" in p.sentence for p in problems)


def test_further_girths_become_levels() -> None:
    limb = build_limb("left_arm", {**TYPICAL_MM, extra_name(60): 190})
    assert limb.girth(60.0) == pytest.approx(190)
    assert [lv.name for lv in limb.levels if not lv.landmark] == ["60 mm up"]
    assert limb.levels[1].s_mm == 60 and 1.2 < limb.levels[1].aspect < 1.4


@pytest.mark.parametrize(("name", "value", "says"), [
    ("girth@0", 180, "more than 0|between the"), ("girth@195", 280, "at least 10 mm"),
    ("girth@900", 180, "between the"),
    ("girth@here", 180, "place in mm"), ("girth@100", 900, "Range: 0.6 to 1.6"), ("girth@100", "x", "can't be read"),
])
def test_bad_further_girths_get_a_sentence(name: str, value: str | float, says: str) -> None:
    clean, problems = check({**TYPICAL_MM, name: value}, "mm")
    assert name not in clean and refused(problems)
    assert any(word in problems[0].sentence for word in says.split("|")) or "must name" in problems[0].sentence


def test_two_further_girths_in_one_place() -> None:
    clean, problems = check({**TYPICAL_MM, "girth@60": 190, "girth@64": 191}, "mm")
    assert "girth@60" in clean and "girth@64" not in clean and "keep one" in problems[0].sentence


def test_limb_is_kept_and_refused_with_every_sentence() -> None:
    assert build_limb("left_arm", TYPICAL_MM) is build_limb("right_arm", dict(TYPICAL_MM))
    with pytest.raises(MeasureError) as e:
        build_limb("left_arm", {"wrist": 170})
    assert len(e.value.problems) == 10 and "Left arm: Forearm (girth) is missing" in str(e.value)
