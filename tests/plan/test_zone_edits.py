"""A client's own figures for zones are kept with the part and can be taken back."""

from __future__ import annotations

import json

import pytest

from composer.body.measures import TYPICAL_MM
from composer.plan.errors import StepError
from composer.plan.form import plan_from_json, plan_to_json
from composer.plan.model import Plan
from composer.plan.steps import apply, label
from composer.plan.zone_edits import zones_on


@pytest.fixture
def plan() -> Plan:
    return apply(Plan("p", "Arm"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})


def pain(plan: Plan, zone: str) -> float:
    zones = zones_on(plan, "left_arm")
    return zones.zones[zones.named(zone)].pain


def test_set_merge_and_take_back(plan: Plan) -> None:
    step = {"do": "zones", "part": "left_arm", "set": {"ditch": {"pain": 5}, "elbow": {"pain": 6, "movement": 7}}}
    once = apply(plan, step)
    assert (pain(plan, "ditch"), pain(once, "ditch"), pain(once, "elbow")) == (8, 5, 6)
    again = apply(once, {"do": "zones", "part": "left_arm",
                         "set": {"elbow": {"pain": None}, "ditch": {"visibility": 2}}})
    assert again.part("left_arm").extra["zones"] == {"ditch": {"pain": 5, "visibility": 2}, "elbow": {"movement": 7}}
    bare = apply(again, {"do": "zones", "part": "left_arm", "set": {"elbow": None, "ditch": None}})
    assert bare == plan
    assert plan_from_json(json.loads(json.dumps(plan_to_json(again)))) == again
    # taping anew keeps them
    longer = {**TYPICAL_MM, "forearm": TYPICAL_MM["forearm"] + 5}
    assert pain(apply(once, {"do": "measure", "part": "left_arm", "measures": longer}), "ditch") == 5
    assert label(plan, step) == "change zones"


@pytest.mark.parametrize(("change", "says"), [
    ({"tail": {"pain": 1}}, "no zone of the left arm"), ({"ditch": {"pain": 12}}, "runs from 0 to 10"),
    ({"ditch": 4}, "by zone and scale"), (3, "by zone and scale")])
def test_what_cannot_be_is_refused(plan: Plan, change: object, says: str) -> None:
    with pytest.raises(StepError, match=says):
        apply(plan, {"do": "zones", "part": "left_arm", "set": change})
