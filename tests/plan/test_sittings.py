"""Sittings: a number on a piece or filler that groups what is stencilled. Our own; there is nothing outside to hold it
against but the JSON Schema validator (jsonschema), which the plan file goes through."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from composer.demo import bare_demo
from composer.plan.errors import PlanError, StepError
from composer.plan.form import plan_from_json, plan_to_json
from composer.plan.model import Recipe
from composer.plan.sittings import of_sitting, sitting_typed, sittings
from composer.plan.steps import apply, label
from composer.store.store import Store

PLAN, GALLERY = bare_demo()


def sat(*pairs: tuple[str, int | None]) -> dict:
    return {"do": "change", "pieces": [{"id": i, "sitting": n} for i, n in pairs]}


def test_a_sitting_is_set_changed_and_taken_off_as_one_step() -> None:
    step = sat(("demo2", 1), ("demo4", 3))
    plan = apply(PLAN, step)
    assert [plan.piece(i).sitting for i in ("demo2", "demo4", "demo5")] == [1, 3, None] and sittings(plan) == (1, 3)
    assert label(PLAN, sat(("demo2", 1))) == "set the sitting of heron on the mud bank"
    assert label(PLAN, step) == "set the sitting of 2 pieces"
    assert apply(plan, sat(("demo2", None), ("demo4", None))) == PLAN


def test_the_work_of_a_sitting_is_what_is_planned_in_it_background_too() -> None:
    made = replace(PLAN.piece("demo6"), id="f1", state="planned", recipe=Recipe("wind", 1))
    plan, filler = PLAN.with_piece(made), "f1"
    plan = apply(plan, sat(("demo2", 2), ("demo4", 2), (filler, 2), ("demo7", 2)))
    plan = apply(plan, {"do": "change", "pieces": [{"id": "demo4", "state": "healed"},
                                                   {"id": "demo7", "state": "freehand"}]})
    assert {p.id for p in of_sitting(plan, 2)} == {"demo2", filler}
    assert of_sitting(plan, 2, "chest") == () and of_sitting(plan, 1) == ()
    assert sittings(plan, "chest") == () and sittings(plan) == (2,)


def test_a_locked_piece_takes_a_sitting() -> None:
    plan = apply(PLAN, {"do": "change", "pieces": [{"id": "demo2", "locked": True}]})
    assert apply(plan, sat(("demo2", 1))).piece("demo2").sitting == 1


@pytest.mark.parametrize("wrong", [0, -1, 100, 1.5, True, "2", [1]])
def test_what_is_no_number_of_a_sitting_is_refused_in_words(wrong: object) -> None:
    with pytest.raises(StepError, match="from 1 to 99"):
        apply(PLAN, {"do": "change", "pieces": [{"id": "demo2", "sitting": wrong}]})


@pytest.mark.parametrize(("typed", "number"), [("", None), (" 2 ", 2), ("99", 99)])
def test_what_is_typed_is_read(typed: str, number: int | None) -> None:
    assert sitting_typed(typed, "Heron") == number


@pytest.mark.parametrize("typed", ["two", "0", "100", "-1", "1.5", "\u0662", "9" * 30])
def test_what_cannot_be_read_is_told_with_the_piece(typed: str) -> None:
    with pytest.raises(StepError, match="sitting of 'Heron'"):
        sitting_typed(typed, "Heron")


def test_it_goes_through_the_file_and_a_plan_without_one_still_loads() -> None:
    plan = apply(PLAN, sat(("demo2", 4)))
    data = plan_to_json(plan)
    assert plan_from_json(data) == plan
    old = {**data, "pieces": [{k: v for k, v in p.items() if k != "sitting"} for p in data["pieces"]]}
    assert plan_from_json(old) == PLAN
    data["pieces"][0]["sitting"] = 200
    with pytest.raises(PlanError, match="pieces > 1 > sitting"):
        plan_from_json(data)


def test_it_is_stored_undone_and_exported(tmp_path: Path) -> None:
    store = Store(tmp_path / "a")
    for drawing in GALLERY.values():
        store.keep_drawing(drawing)
    pid = store.adopt(replace(PLAN, title="Two sittings"))
    kept = store.commit(pid, sat(("demo2", 1), ("demo4", 2)))
    assert kept.undo_label == "set the sitting of 2 pieces"
    data = store.export_plan(pid)
    other = Store(tmp_path / "b")
    again = other.load(other.import_plan(data)).plan
    assert [again.piece(i).sitting for i in ("demo2", "demo4")] == [1, 2]
    assert store.undo(pid).plan.piece("demo2").sitting is None
    assert store.redo(pid).plan.piece("demo4").sitting == 2
