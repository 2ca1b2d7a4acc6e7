"""Options of a part, and ties marked as musts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from composer.plan.errors import PlanError, StepError
from composer.plan.form import piece_to_json, plan_from_json, plan_to_json
from composer.plan.model import Part, Piece, Plan, Recipe
from composer.plan.options import MOST, Option, arts_of, musts_of, option_to_json, options_of, options_on
from composer.plan.steps import apply

ARM = {"wrist": 170.0, "forearm": 270.0, "elbow": 255.0, "upper_arm": 300.0, "armpit": 320.0, "deltoid": 340.0,
       "wrist_to_forearm": 180.0, "forearm_to_elbow": 60.0, "elbow_to_upper_arm": 110.0, "upper_arm_to_armpit": 60.0,
       "armpit_to_deltoid": 70.0}
CLOUD = Recipe("cloud", 4, {"way": "bank"}, {"whole": True})


def filler(id_: str, art: str = "b" * 64) -> Piece:
    return Piece(id_, "left_arm", art, "Clouds", 0.3, 200.0, depth=-900, recipe=CLOUD)


def plan_with(*pieces: Piece) -> Plan:
    return Plan("estuary", "Estuary", (Part("left_arm", ARM),), pieces)


GULL = Piece("gull", "left_arm", "a" * 64, "Gull", 0.1, 100.0)
BOAT = Piece("boat", "left_arm", "a" * 64, "Boat", 0.1, 300.0)


def kept(plan: Plan, *ids: str) -> Plan:
    rows = [option_to_json(Option(i, f"Banks {i}", "quiet", (filler("f1"), filler("f2", "c" * 64)), {"cover": 0.8}))
            for i in ids]
    return apply(plan, {"do": "keep_options", "part": "left_arm", "options": rows})


def test_an_option_is_kept_read_back_and_survives_a_file() -> None:
    plan = kept(plan_with(GULL), "one")
    again = plan_from_json(plan_to_json(plan))
    assert options_of(again.part("left_arm")) == options_of(plan.part("left_arm"))
    option = options_of(again.part("left_arm"))[0]
    assert (option.title, option.figures, [p.art for p in option.pieces]) == \
        ("Banks one", {"cover": 0.8}, ["b" * 64, "c" * 64])
    assert set(arts_of(plan)) == {"a" * 64, "b" * 64, "c" * 64}
    assert [p.id for p in plan.pieces] == ["gull"]


def test_taking_an_option_replaces_what_is_unlocked_and_keeps_the_option() -> None:
    locked = replace(filler("mine"), locked=True)
    plan = kept(plan_with(GULL, filler("old"), locked), "one")
    after = apply(plan, {"do": "take_option", "part": "left_arm", "id": "one", "new_ids": ["n1", "n2"]})
    assert {p.id for p in after.pieces} == {"gull", "mine", "n1", "n2"}
    assert [piece_to_json(after.piece("n1"))[k] for k in ("depth", "art", "part")] == [-900, "b" * 64, "left_arm"]
    assert options_of(after.part("left_arm"))[0].id == "one"


def test_the_oldest_option_goes_first_and_one_can_be_dropped() -> None:
    plan = kept(plan_with(GULL), *[f"o{i}" for i in range(MOST + 2)])
    assert [o.id for o in options_of(plan.part("left_arm"))] == [f"o{i}" for i in range(2, MOST + 2)]
    after = apply(plan, {"do": "drop_option", "part": "left_arm", "id": "o5"})
    assert "o5" not in [o.id for o in options_of(after.part("left_arm"))]
    with pytest.raises(StepError, match="no longer kept"):
        apply(after, {"do": "drop_option", "part": "left_arm", "id": "o5"})


def test_options_with_pieces_that_are_no_background_or_of_no_number_are_refused() -> None:
    row = option_to_json(Option("x", "Banks", "", (filler("f"),)))
    for wrong in ({"pieces": [piece_to_json(GULL)]}, {"pieces": []}, {"figures": {"cover": float("nan")}},
                  {"pieces": [{"id": "f"}]}):
        with pytest.raises(PlanError):
            apply(plan_with(GULL), {"do": "keep_options", "part": "left_arm", "options": [{**row, **wrong}]})


def test_a_must_is_marked_once_and_taken_back() -> None:
    plan = plan_with(GULL, BOAT)
    mark = {"do": "must", "part": "left_arm", "a": "gull", "b": "boat", "on": True}
    once = apply(apply(plan, mark), {**mark, "a": "boat", "b": "gull"})
    assert musts_of(once.part("left_arm")) == (("boat", "gull"),)
    assert musts_of(apply(once, {**mark, "on": False}).part("left_arm")) == ()
    assert musts_of(apply(plan, {**mark, "b": "border:far"}).part("left_arm")) == (("border:far", "gull"),)
    with pytest.raises(StepError, match="no longer on this part"):
        apply(plan, {**mark, "b": "whale"})


def test_a_tie_to_an_edge_of_the_chest_can_be_a_must() -> None:
    bell = replace(GULL, id="bell", part="chest")
    plan = Plan("estuary", "Estuary", (Part("chest", {}),), (bell,))
    marked = apply(plan, {"do": "must", "part": "chest", "a": "bell", "b": "border:armhole_left", "on": True})
    assert musts_of(marked.part("chest")) == (("bell", "border:armhole_left"),)


def test_an_option_of_a_wide_sheet_holds_several_parts_and_takes_the_place_of_what_is_named() -> None:
    bell, mine = replace(GULL, id="bell", part="chest"), replace(filler("mine"), locked=True)
    plan = Plan("estuary", "Estuary", (Part("left_arm", ARM), Part("chest", {"chest_girth": 980.0})),
                (GULL, bell, mine, filler("old"), filler("far")))
    seam = Recipe("cloud", 4, {"way": "bank"}, {"seam": "left armhole, front", "share": 0.2, "at": [0.1, 200.0]})
    pieces = (filler("f1"), replace(filler("f2", "c" * 64), part="chest", recipe=seam))
    rows = [option_to_json(Option("one", "Banks", "quiet", pieces, {"reach": 0.9}))]
    plan = apply(plan, {"do": "keep_options", "part": "shoulders", "options": rows})
    again = plan_from_json(plan_to_json(plan))
    assert options_on(again, "shoulders") == options_on(plan, "shoulders")
    assert options_on(plan, "chest") == () and set(arts_of(plan)) == {"a" * 64, "b" * 64, "c" * 64}
    step = {"do": "take_option", "part": "shoulders", "id": "one", "new_ids": ["n1", "n2"]}
    after = apply(plan, {**step, "replace_ids": ["old", "mine"]})
    assert {p.id: p.part for p in after.pieces if p.is_filler} == {
        "mine": "left_arm", "far": "left_arm", "n1": "left_arm", "n2": "chest"}
    gone = apply(after, {"do": "drop_option", "part": "shoulders", "id": "one"})
    assert options_on(gone, "shoulders") == () and "wide_options" not in gone.part("chest").extra
    data = plan_to_json(plan)
    del data["parts"][1]["wide_options"]["shoulders"][0]["pieces"][0]["art"]
    with pytest.raises(PlanError, match="parts > 2 > wide_options > shoulders > 1 > pieces > 1"):
        plan_from_json(data)


def test_a_tie_over_a_seam_is_kept_with_one_of_its_parts() -> None:
    bell = replace(GULL, id="bell", part="chest")
    plan = Plan("estuary", "Estuary", (Part("left_arm", ARM), Part("chest", {})), (GULL, BOAT, bell))
    mark = {"do": "must", "part": "chest", "a": "bell", "b": "gull", "on": True}
    marked = apply(plan, mark)
    assert musts_of(marked.part("chest")) == (("bell", "gull"),) and musts_of(marked.part("left_arm")) == ()
    marked = apply(marked, {**mark, "b": "border:armhole_left"})
    assert len(musts_of(marked.part("chest"))) == 2, "marking another keeps it"
    with pytest.raises(StepError, match="no longer on this part"):
        apply(plan, {**mark, "a": "boat"})


def test_a_file_with_a_damaged_option_is_refused_where_it_is_wrong() -> None:
    data = plan_to_json(kept(plan_with(GULL), "one"))
    del data["parts"][0]["options"][0]["pieces"][1]["art"]
    with pytest.raises(PlanError, match="parts > 1 > options > 1 > pieces > 2"):
        plan_from_json(data)
