"""Measures that were estimated stay marked until they are taped, through the plan file too."""

from __future__ import annotations

import json

import pytest

from composer.body.estimate import estimate, filled
from composer.body.kinds import LEG
from composer.plan.errors import PlanError, StepError
from composer.plan.estimated import estimated_of
from composer.plan.form import plan_from_json, plan_to_json
from composer.plan.model import Part, Plan
from composer.plan.steps import Step, apply

TAPED = {"ankle": 220.0, "calf": 375.0, "upper_thigh": 600.0}


@pytest.fixture
def step() -> Step:
    told = estimate("leg", TAPED, 1700)
    return {"do": "measure", "part": "right_leg", "measures": filled("leg", TAPED, told),
            "estimated": {n: e.range_mm for n, e in told.items()}}


def test_marks_are_kept_in_the_file(step: Step) -> None:
    plan = apply(Plan("p", "Leg"), step)
    again = plan_from_json(json.loads(json.dumps(plan_to_json(plan))))
    part = again.part("right_leg")
    assert set(estimated_of(part)) == set(LEG.by_name) - set(TAPED)
    for name, (low, high) in estimated_of(part).items():
        assert low < part.measures[name] < high
    assert again == plan


def test_taping_a_measure_removes_its_mark(step: Step) -> None:
    plan = apply(Plan("p", "Leg"), step)
    taped = {**step["measures"], "knee": step["measures"]["knee"] + 4}
    after = apply(plan, {"do": "measure", "part": "right_leg", "measures": taped})
    assert set(estimated_of(plan.part("right_leg"))) - set(estimated_of(after.part("right_leg"))) == {"knee"}
    # told that everything is taped, even where the value stood: no mark is left, nor an empty shell of one
    done = apply(after, {"do": "measure", "part": "right_leg", "measures": taped, "estimated": {}})
    assert done.part("right_leg").extra == {} and "estimated" not in plan_to_json(done)["parts"][0]


def test_other_things_kept_with_a_part_stay(step: Step) -> None:
    plan = Plan("p", "Leg", (Part("right_leg", step["measures"], extra={"note": "left knee scarred"}),))
    assert apply(plan, step).part("right_leg").extra["note"] == "left knee scarred"


@pytest.mark.parametrize(("marks", "says"), [
    ({"tail": [1, 2]}, "no value"), ({"knee": [1, 2]}, "must hold its value"), ({"knee": [1]}, "two lengths"),
    ({"knee": ["a", "b"]}, "two lengths"), ({"knee": [float("nan"), 900]}, "must hold"), (["knee"], "by name"),
    ({"knee": None}, "two lengths")])
def test_marks_that_cannot_be_are_refused(step: Step, marks: object, says: str) -> None:
    with pytest.raises(StepError, match=says):
        apply(Plan("p", "Leg"), {**step, "estimated": marks})


def test_a_damaged_mark_in_a_file_is_named(step: Step) -> None:
    data = plan_to_json(apply(Plan("p", "Leg"), step))
    data["parts"][0]["estimated"]["knee"] = ["wide"]
    with pytest.raises(PlanError, match="parts > 1 > estimated > knee"):
        plan_from_json(data)
