"""Girths taped flexed: kept with the part, held against the girth at rest, used by the model of flexing."""

from __future__ import annotations

import numpy as np
import pytest

from composer.body.fields import TYPICAL_MM
from composer.body.flex import posed_limb, strain
from composer.body.flexed import check_flexed, flexed_fields
from composer.body.kinds import kind_of
from composer.body.measures import build_limb
from composer.plan.errors import StepError
from composer.plan.flexed import flexed_of, kept_flexed
from composer.plan.form import plan_from_json, plan_to_json
from composer.plan.model import Plan
from composer.plan.steps import apply


def taped() -> Plan:
    return apply(Plan("estuary", "Estuary"), {"do": "measure", "part": "left_arm", "measures": dict(TYPICAL_MM)})


def test_a_second_tape_takes_the_place_of_the_usual_share() -> None:
    plan = apply(taped(), {"do": "flexed", "part": "left_arm", "set": {"upper_arm": 372.9}})
    assert plan_from_json(plan_to_json(plan)) == plan
    part, limb = plan.part("left_arm"), build_limb("left_arm", TYPICAL_MM)
    s = next(lv.s_mm for lv in limb.levels if lv.name == "fullest upper arm")
    us = np.array([[0.1, s]])
    # 372.9 over 330 at rest is 1.13: skin round it stretches by 13 %, against 7 % by the usual share
    assert strain(limb, "arm", us, "flexed", flexed_of(part))[0, 1] == pytest.approx(0.13, abs=1e-6)
    assert strain(limb, "arm", us, "flexed")[0, 1] == pytest.approx(0.07, abs=1e-6)
    assert float(posed_limb(limb, "flexed", "left_arm", flexed_of(part)).girth(s)) == pytest.approx(372.9)  # type: ignore[union-attr]
    assert flexed_of(apply(plan, {"do": "flexed", "part": "left_arm", "set": {}}).part("left_arm")) == {}


def test_every_girth_that_can_be_flexed_is_one_of_its_limb() -> None:
    assert {p: [f.name for f in flexed_fields(p)] for p in ("left_arm", "right_leg", "chest")} == {
        "left_arm": ["forearm", "upper_arm"], "right_leg": ["calf"], "chest": []}
    for part in ("left_arm", "right_leg"):
        assert {f.name for f in flexed_fields(part)} <= set(kind_of(part).girths)


@pytest.mark.parametrize("given, words", [
    ({"upper_arm": 290.0}, r"must lie within 297 to 462 mm"),
    ({"upper_arm": 470.0}, r"470 mm against 330 mm at rest"),
    ({"wrist": 180.0}, "'wrist' can't be taped flexed on the left arm"),
    ({"upper_arm": "much"}, "Upper arm, flexed"),
    ([1], "by name, in mm"),
])
def test_what_can_not_be_is_refused_in_words(given: object, words: str) -> None:
    with pytest.raises(StepError, match=words):
        apply(taped(), {"do": "flexed", "part": "left_arm", "set": given})


def test_odd_figures_are_taken_with_a_remark_and_the_survey_is_named() -> None:
    clean, said = check_flexed({"upper_arm": "32.5", "forearm": "38 cm"}, TYPICAL_MM | {"forearm": 330.0}, "cm", "arm")
    assert clean == {"upper_arm": 325.0, "forearm": 380.0} and all(p.severity == "warning" for p in said)
    # 36.5 cm: flexed forearm girth, ANSUR II (2012), 99th percentile of men
    assert "less than the 33.0 cm at rest" in said[0].sentence and "22.5 to 36.5 cm is usual" in said[1].sentence
    assert check_flexed({"upper_arm": ""}, TYPICAL_MM, "cm", "arm") == ({}, [])


def test_a_tape_that_no_longer_goes_with_the_girth_at_rest_is_kept_and_not_used() -> None:
    plan = apply(taped(), {"do": "flexed", "part": "left_arm", "set": {"upper_arm": 372.0}})
    thin = apply(plan, {"do": "measure", "part": "left_arm", "measures": {**TYPICAL_MM, "upper_arm": 262.0,
                                                                         "armpit": 300.0}})
    assert kept_flexed(thin.part("left_arm")) == {"upper_arm": 372.0} and flexed_of(thin.part("left_arm")) == {}
