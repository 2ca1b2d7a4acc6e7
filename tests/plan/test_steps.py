"""Changes to a plan: each does what it says, or says why not and changes nothing."""

from __future__ import annotations

import math

import pytest

from composer.body.measures import TYPICAL_MM
from composer.plan.errors import PlanError, StepError
from composer.plan.form import plan_from_json, plan_to_json
from composer.plan.model import Plan
from composer.plan.steps import apply, label

ART = "a" * 64


def piece(name: str = "heron", **more):
    return {"id": name, "part": "left_arm", "art": ART, "title": name.capitalize(), "u": 0.1, "s_mm": 150.0, **more}


@pytest.fixture
def plan() -> Plan:
    out = apply(Plan("p1", "Estuary"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    for name in ("heron", "crab", "moth"):
        out = apply(out, {"do": "place", "piece": piece(name)})
    return out


def order(plan: Plan) -> list[str]:
    return [p.id for p in plan.on("left_arm")]


def test_new_pieces_lie_in_front_and_fillers_behind(plan: Plan) -> None:
    assert order(plan) == ["heron", "crab", "moth"]
    filler = piece("cloud", recipe={"kind": "cloud", "seed": 3})
    assert order(apply(plan, {"do": "place", "piece": filler}))[0] == "cloud"


@pytest.mark.parametrize(("to", "expected"), [
    ("front", ["heron", "moth", "crab"]), ("back", ["crab", "heron", "moth"]),
    ("forward", ["heron", "moth", "crab"]), ("backward", ["crab", "heron", "moth"])])
def test_order(plan: Plan, to: str, expected: list[str]) -> None:
    assert order(apply(plan, {"do": "order", "ids": ["crab"], "to": to})) == expected


def test_order_at_the_ends_stays(plan: Plan) -> None:
    assert order(apply(plan, {"do": "order", "ids": ["moth"], "to": "forward"})) == order(plan)
    assert order(apply(plan, {"do": "order", "ids": ["heron"], "to": "backward"})) == order(plan)


def test_place_is_kept_within_one_turn(plan: Plan) -> None:
    moved = apply(plan, {"do": "change", "pieces": [{"id": "heron", "u": 2.7, "turn_deg": 370.0}]}).piece("heron")
    assert moved.u == pytest.approx(-0.3)
    assert moved.turn_deg == pytest.approx(10.0)


def test_duplicate_is_free_unlocked_and_in_front(plan: Plan) -> None:
    plan = apply(plan, {"do": "change", "pieces": [{"id": "heron", "turn_deg": 20.0, "locked": True}]})
    plan = apply(plan, {"do": "duplicate", "ids": ["heron"], "new_ids": ["heron2"]})
    copy = plan.piece("heron2")
    assert (copy.turn_deg, copy.locked, copy.title) == (20.0, False, "Heron")
    assert order(plan)[-1] == "heron2"


def test_locked_piece_stays(plan: Plan) -> None:
    plan = apply(plan, {"do": "change", "pieces": [{"id": "crab", "locked": True}]})
    with pytest.raises(StepError, match="'Crab' is locked"):
        apply(plan, {"do": "change", "pieces": [{"id": "crab", "u": 0.3}]})
    with pytest.raises(StepError, match="'Crab' is locked"):
        apply(plan, {"do": "remove", "ids": ["crab"]})
    assert apply(plan, {"do": "change", "pieces": [{"id": "crab", "locked": False, "u": 0.3}]}).piece("crab").u == 0.3


@pytest.mark.parametrize("step", [
    {"do": "nothing"}, {"do": "change"}, {"do": "change", "pieces": 5}, {"do": "change", "pieces": [{"id": "gone"}]},
    {"do": "change", "pieces": [{"id": "heron", "u": math.nan}]},
    {"do": "change", "pieces": [{"id": "heron", "u": "x"}]},
    {"do": "change", "pieces": [{"id": "heron", "scale": 0.0}]},
    {"do": "change", "pieces": [{"id": "heron", "s_mm": 1e9}]},
    {"do": "change", "pieces": [{"id": "heron", "state": "inked"}]},
    {"do": "change", "pieces": [{"id": "heron", "part": "x"}]},
    {"do": "change", "pieces": [{"id": "heron", "title": " "}]}, {"do": "remove", "ids": ["gone"]}, {"do": "remove"},
    {"do": "place", "piece": piece("heron")}, {"do": "place", "piece": piece("new", part="left_leg")},
    {"do": "place", "piece": {"id": "x"}}, {"do": "order", "ids": ["crab"], "to": "sideways"},
    {"do": "order", "ids": [], "to": "front"},
    {"do": "measure", "part": "tail", "measures": {}}, {"do": "measure", "part": "left_arm", "measures": {"wrist": 5}},
    {"do": "seam", "part": "left_arm", "u": math.inf}, {"do": "settings", "set": {"skin_break_mm": -1}},
    {"do": "settings", "set": {"unit": "ell"}}, {"do": "rename", "title": ""}, {"do": "rename", "title": "x" * 200},
    {"do": "twin", "id": "heron", "new_id": "t"}, {"do": "free", "ids": ["gone"]},
    {"do": "duplicate", "ids": ["heron"], "new_ids": []}])
def test_bad_steps_are_refused_in_a_sentence(plan: Plan, step: dict) -> None:
    with pytest.raises(PlanError) as caught:
        apply(plan, step)
    text = str(caught.value)
    assert len(text) > 20 and text.endswith((".", "free.")) and (text[0].isupper() or text[0] == "'")


def test_two_windows_merge(plan: Plan) -> None:
    a = {"do": "change", "pieces": [{"id": "heron", "u": 0.3}]}
    b = {"do": "change", "pieces": [{"id": "heron", "turn_deg": 45.0}]}
    assert apply(apply(plan, a), b) == apply(apply(plan, b), a)


def test_labels_say_what_was_done(plan: Plan) -> None:
    assert label(plan, {"do": "change", "pieces": [{"id": "crab", "u": 1, "s_mm": 2}]}) == "move crab"
    assert label(plan, {"do": "remove", "ids": ["crab", "moth"]}) == "delete 2 pieces"
    assert label(plan, {"do": "place", "piece": piece("tern")}) == "place tern"


def test_json_form_round_trips_and_keeps_unknown_fields(plan: Plan) -> None:
    data = plan_to_json(plan)
    data["studio"] = {"lamp": "north"}
    data["pieces"][0]["ink"] = "lamp black"
    data["settings"]["lamp"] = "warm"
    back = plan_to_json(plan_from_json(data))
    assert back == data


@pytest.mark.parametrize(("damage", "words"), [
    ({"version": 2}, "newer release"), ({"format": "else"}, "not a plan file"), ({"pieces": [1]}, "pieces > 1"),
    ({"title": ""}, "title"), ({"parts": []}, "has no measures"), ({"id": "a b"}, "id")])
def test_damaged_json_is_named(plan: Plan, damage: dict, words: str) -> None:
    with pytest.raises(PlanError, match=words):
        plan_from_json({**plan_to_json(plan), **damage})


def test_not_a_number_in_a_file_is_named(plan: Plan) -> None:
    data = plan_to_json(plan)
    data["pieces"][1]["u"] = math.nan
    with pytest.raises(PlanError, match="pieces > 2 > u"):
        plan_from_json(data)


def test_names_hold_nothing_that_no_file_could_be_written_with(plan: Plan) -> None:
    """XML 1.0, 2.2: control characters and halves of characters may stand in no document."""
    harsh = "\x00Lee\x07\tshore \ud800\ufffe\n\U0001f41a"
    plan = apply(plan, {"do": "rename", "title": harsh})
    plan = apply(plan, {"do": "change", "pieces": [{"id": plan.pieces[0].id, "title": harsh}]})
    assert plan.title == plan.pieces[0].title == "Lee shore \U0001f41a"
    for bare in ("\x00", " ", ""):
        with pytest.raises(StepError, match="needs a name"):
            apply(plan, {"do": "rename", "title": bare})
    data = plan_to_json(plan) | {"title": "\x07"}
    data["pieces"][0]["title"] = "\x00"
    read = plan_from_json(data)
    assert (read.title, read.pieces[0].title) == ("Plan", "Piece")


def test_measures_that_make_no_limb_are_told_as_they_are(plan: Plan) -> None:
    data = plan_to_json(apply(plan, {"do": "measure", "part": "right_arm", "measures": TYPICAL_MM}))
    data["parts"][1]["measures"]["forearm"] = 2.0
    with pytest.raises(StepError, match=r"^Right arm: Forearm \(girth\) is 2 mm; it must lie within"):
        apply(plan_from_json(data), {"do": "twin", "id": "heron", "new_id": "b"})
