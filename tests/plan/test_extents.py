"""Where a sleeve starts and ends: chosen by preset, level or mm, kept with the part, refused in words."""

from __future__ import annotations

import pytest

from composer.body.measures import TYPICAL_MM
from composer.plan.extents import PRESETS, extent_of
from composer.plan.form import plan_from_json, plan_to_json
from composer.plan.model import Plan
from composer.plan.steps import StepError, apply, label
from composer.plan.twins import limb_of


@pytest.fixture
def plan() -> Plan:
    plan = apply(Plan("p", "Estuary"), {"do": "measure", "part": "left_arm", "measures": dict(TYPICAL_MM)})
    return apply(plan, {"do": "measure", "part": "chest", "measures": _chest()})


def _chest() -> dict[str, float]:
    from composer.body.kinds import fields_of
    return {f.name: (f.usual_low_mm + f.usual_high_mm) / 2 for f in fields_of("chest")}


def test_a_part_is_planned_from_end_to_end_until_told_otherwise(plan: Plan) -> None:
    limb = limb_of(plan, "left_arm")
    assert extent_of(plan.part("left_arm")).span(limb) == (limb.s_min, limb.s_max)


@pytest.mark.parametrize("name", sorted(PRESETS["arm"]))
def test_every_preset_fits_a_usual_arm_and_comes_back_from_what_is_kept(plan: Plan, name: str) -> None:
    step = {"do": "extent", "part": "left_arm", "set": {"preset": name, "to": {"form": "fading"}}}
    after = apply(plan, step)
    found = extent_of(after.part("left_arm"))
    assert (found.name, found.near.form, found.near.depth_mm, found.far.form) == (name, "fading", 40.0, "straight")
    assert label(plan, step) == "change sleeve edges"
    form_only = apply(after, {"do": "extent", "part": "left_arm", "set": {"from": {"form": "wavy", "depth_mm": 9}}})
    kept = extent_of(form_only.part("left_arm"))
    assert (kept.name, kept.far.form, kept.far.depth_mm, kept.near.form) == (name, "wavy", 9.0, "fading")
    gone = apply(after, {"do": "extent", "part": "left_arm", "set": None})
    assert gone.part("left_arm").extra == plan.part("left_arm").extra


def test_edges_follow_the_landmarks_when_the_limb_is_taped_again(plan: Plan) -> None:
    after = apply(plan, {"do": "extent", "part": "left_arm", "set": {"from": {"at": "elbow", "plus_mm": 30}}})
    longer = apply(after, {"do": "measure", "part": "left_arm",
                           "measures": {**TYPICAL_MM, "forearm_to_elbow": TYPICAL_MM["forearm_to_elbow"] + 12}})
    low = [extent_of(p.part("left_arm")).span(limb_of(p, "left_arm"))[0] for p in (after, longer)]
    assert low[1] - low[0] == pytest.approx(12)
    fixed = apply(plan, {"do": "extent", "part": "left_arm", "set": {"from": {"s_mm": 61.5}}})
    assert extent_of(fixed.part("left_arm")).span(limb_of(fixed, "left_arm"))[0] == 61.5
    assert extent_of(fixed.part("left_arm")).name == ""


@pytest.mark.parametrize(("value", "words"), [
    ({"preset": "cape"}, "no sleeve called 'cape'"), ({"from": {"at": "thumb"}}, "no level 'thumb'"),
    ({"from": {"s_mm": 450}, "to": {"s_mm": 460}}, "10 mm long"), ({"from": {"s_mm": -90}}, "lower edge .* -90 mm"),
    ({"to": {"s_mm": float("nan")}}, "place of the upper edge is not a number"),
    ({"to": {"s_mm": True}}, "not a number"),
    ({"to": {"form": "jagged"}}, "can't be 'jagged'"), ({"to": {"form": "wavy", "depth_mm": 400}}, "wavy over 400 mm"),
    ({"colour": 1}, "'colour' says nothing"), ("half", "preset or as its two edges"),
    ({"from": {"s_mm": 60, "form": "fading", "depth_mm": 90}, "to": {"s_mm": 160}}, "takes 130 mm"),
])
def test_what_cannot_be_is_refused_in_words(plan: Plan, value: object, words: str) -> None:
    with pytest.raises(StepError, match=words):
        apply(plan, {"do": "extent", "part": "left_arm", "set": value})


def test_chest_has_no_sleeve_edge(plan: Plan) -> None:
    with pytest.raises(StepError, match="chest has no sleeve edge"):
        apply(plan, {"do": "extent", "part": "chest", "set": {"preset": "full"}})


def test_a_sleeve_may_run_on_into_the_chest(plan: Plan) -> None:
    into = apply(plan, {"do": "extent", "part": "left_arm", "set": {"preset": "into_chest"}})
    found = extent_of(into.part("left_arm"))
    assert (found.name, found.near.at) == ("into_chest", "cap") and found.chest_mm > 0
    further = apply(into, {"do": "extent", "part": "left_arm", "set": {"chest_mm": 150.0}})
    assert extent_of(further.part("left_arm")).chest_mm == 150.0
    assert extent_of(further.part("left_arm")).name == "into_chest"
    kept = plan_from_json(plan_to_json(further))
    assert extent_of(kept.part("left_arm")) == extent_of(further.part("left_arm"))
    ends = apply(further, {"do": "extent", "part": "left_arm", "set": {"chest_mm": 0.0}})
    assert extent_of(ends.part("left_arm")).chest_mm == 0.0 and extent_of(ends.part("left_arm")).name != "into_chest"
    for wrong in (-5.0, 4.0, 900.0):
        with pytest.raises(StepError, match="into the chest"):
            apply(plan, {"do": "extent", "part": "left_arm", "set": {"chest_mm": wrong}})
