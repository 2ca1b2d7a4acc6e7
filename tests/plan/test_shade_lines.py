"""Shade lines as data of the plan: added, changed, deleted, kept in the file, refused in words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from composer.plan.errors import PlanError, StepError
from composer.plan.form import plan_from_json, plan_to_json
from composer.plan.model import Part, Plan
from composer.plan.shade_lines import CUFF_MM, FALL_MM, Shade, shade_of
from composer.plan.steps import apply, label

LINE = {"id": "a", "points": [[0.0, 120.0], [0.6, 126.0], [0.95, 121.0]]}


def plan() -> Plan:
    return Plan("estuary", "Estuary", (Part("left_arm", {"wrist": 170.0}), Part("chest", {"chest": 960.0})))


def step(**more: object) -> dict:
    return {"do": "shade", "part": "left_arm", **more}


def test_a_line_is_added_changed_deleted_and_leaves_nothing_behind() -> None:
    one = apply(plan(), step(add=LINE))
    (line,) = shade_of(one.part("left_arm")).lines
    assert (line.side, line.fall_mm, len(line.points)) == (1, FALL_MM, 3)
    two = apply(one, step(add={**LINE, "id": "b", "side": -1, "fall_mm": 25}))
    swapped = apply(two, step(change={"id": "a", "side": -1}))
    longer = apply(swapped, step(change={"id": "a", "fall_mm": 60}))
    assert [(x.id, x.side, x.fall_mm) for x in shade_of(longer.part("left_arm")).lines] == [
        ("a", -1, 60.0), ("b", -1, 25.0)]
    assert shade_of(longer.part("left_arm")).lines[0].points == line.points
    less = apply(apply(longer, step(remove="a")), step(remove="b"))
    assert less.part("left_arm").extra == {} and shade_of(less.part("left_arm")) == Shade()


def test_cuffs_and_contrast_are_kept_beside_the_lines() -> None:
    made = apply(apply(plan(), step(cuff_mm=0)), step(contrast=False))
    assert shade_of(made.part("left_arm")) == Shade((), 0.0, False)
    assert shade_of(apply(made, step(clear=True)).part("left_arm")) == Shade((), CUFF_MM, True)


def test_lines_come_back_from_the_file_as_they_were() -> None:
    made = apply(plan(), step(add={**LINE, "side": -1, "fall_mm": 33.5}))
    back = plan_from_json(plan_to_json(made))
    assert shade_of(back.part("left_arm")) == shade_of(made.part("left_arm"))
    data = plan_to_json(made)
    data["parts"][0]["shade"]["lines"][0]["fall_mm"] = 4000
    with pytest.raises(PlanError, match="damaged at parts > 1 > shade"):
        plan_from_json(data)


def test_two_windows_merge_since_lines_go_by_their_own_name() -> None:
    both = apply(apply(plan(), step(add=LINE)), step(add={**LINE, "id": "b"}))
    here = apply(apply(both, step(remove="a")), step(change={"id": "b", "fall_mm": 55}))
    assert [(x.id, x.fall_mm) for x in shade_of(here.part("left_arm")).lines] == [("b", 55.0)]


@pytest.mark.parametrize(("more", "words"), [
    ({"add": {**LINE, "points": [[0.1, 50]]}}, "2 to 40 points"), ({"add": {**LINE, "side": 2}}, "one side"),
    ({"add": {**LINE, "points": [[0.1, 50], [0.1, 50]]}}, "no length"), ({"add": "here"}, "could not be read"),
    ({"add": {**LINE, "fall_mm": 2}}, "5 to 150 mm, not over 2 mm"), ({"add": {**LINE, "id": "a b"}}, "name"),
    ({"add": {**LINE, "fall_mm": float("nan")}}, "not over nan"), ({"remove": "z"}, "no longer there"),
    ({"change": {"id": "z", "side": 1}}, "no longer there"), ({"cuff_mm": "far"}, "0 to 120 mm, not over 'far'"),
    ({"contrast": 1}, "either kept or not"), ({"change": 3}, "not written as it should be")])
def test_what_cannot_be_used_is_said(more: dict, words: str) -> None:
    with pytest.raises(StepError, match=words):
        apply(plan(), step(**more))


def test_a_part_takes_twelve_lines_and_one_of_each_name() -> None:
    full = plan()
    for i in range(12):
        full = apply(full, step(add={**LINE, "id": f"n{i}"}))
    for more in ({"id": "n3"}, {"id": "n12"}):
        with pytest.raises(StepError):
            apply(full, step(add={**LINE, **more}))


def test_what_cannot_be_read_any_more_is_said() -> None:
    part = replace(plan().part("left_arm"), extra={"shade": "dark"})
    with pytest.raises(StepError, match="draw them again"):
        shade_of(part)


def test_every_change_has_its_words_for_undo() -> None:
    words = [label(plan(), step(**m)) for m in ({"add": LINE}, {"change": {"id": "a"}}, {"remove": "a"},
                                                {"cuff_mm": 10}, {"contrast": False}, {"clear": True})]
    assert words == ["draw a shade line", "change a shade line", "delete a shade line", "change tone at the cuffs",
                     "change contrast against pieces", "clear shade lines"]
