"""Twins follow each other over an axis and onto the other arm."""

from __future__ import annotations

import numpy as np
import pytest

from composer.art.drawing import Drawing
from composer.body.measures import TYPICAL_MM
from composer.plan.errors import StepError
from composer.plan.model import Plan
from composer.plan.scene import lay
from composer.plan.steps import apply
from composer.plan.twins import limb_of, twin_deviation

RING = np.array([(-20.0, -30.0), (25.0, -20.0), (10.0, 35.0), (-5.0, 10.0)])
DRAWING = Drawing((RING,), ())
WIDER = {**TYPICAL_MM, "forearm": TYPICAL_MM["forearm"] + 9, "forearm_to_elbow": TYPICAL_MM["forearm_to_elbow"] + 6}


def start(right: dict[str, float]) -> Plan:
    plan = Plan("p", "Both arms")
    for part, taped in (("left_arm", TYPICAL_MM), ("right_arm", right)):
        plan = apply(plan, {"do": "measure", "part": part, "measures": taped})
    return apply(plan, {"do": "place", "piece": {"id": "a", "part": "left_arm", "art": DRAWING.digest, "title": "Fin",
                                                 "u": 0.2, "s_mm": 160.0, "turn_deg": 15.0}})


def test_twin_on_equal_measures_is_the_exact_mirror() -> None:
    plan = apply(start(TYPICAL_MM), {"do": "twin", "id": "a", "new_id": "b"})
    a, b = (lay(limb_of(plan, p.part), p, DRAWING) for p in (plan.piece("a"), plan.piece("b")))
    assert np.abs(a.rings[0] * (-1, 1) - b.rings[0]).max() < 1e-12
    assert twin_deviation(plan, plan.piece("b"), {DRAWING.digest: DRAWING}).largest_mm == 0.0


def test_deviation_on_unequal_arms_is_reported_with_its_cause() -> None:
    plan = apply(start(WIDER), {"do": "twin", "id": "a", "new_id": "b"})
    off = twin_deviation(plan, plan.piece("b"), {DRAWING.digest: DRAWING})
    assert 0.1 < off.largest_mm < 10
    assert "round there" in off.sentence and f"{off.largest_mm:.1f} mm" in off.sentence


@pytest.mark.parametrize(("lead", "other"), [("a", "b"), ("b", "a")])
def test_linked_twins_follow_both_ways(lead: str, other: str) -> None:
    plan = apply(start(WIDER), {"do": "twin", "id": "a", "new_id": "b"})
    plan = apply(plan, {"do": "change", "pieces": [{"id": lead, "u": 0.31, "s_mm": 140.0, "turn_deg": -20.0,
                                                    "scale": 1.2}]})
    p, q = plan.piece(lead), plan.piece(other)
    assert (q.u, q.turn_deg, q.scale, q.flip) == (pytest.approx(-p.u), pytest.approx(-p.turn_deg), 1.2, not p.flip)


def test_following_is_settled() -> None:
    """Leading from one side and then restoring that side leaves both where they were."""
    plan = apply(start(WIDER), {"do": "twin", "id": "a", "new_id": "b"})
    b = plan.piece("b")
    moved = apply(plan, {"do": "change", "pieces": [{"id": "b", "s_mm": b.s_mm + 30}]})
    back = apply(moved, {"do": "change", "pieces": [{"id": "b", "s_mm": b.s_mm}]})
    assert back.piece("a").s_mm == pytest.approx(plan.piece("a").s_mm, abs=1e-6)


def test_free_twin_stays_where_it_is() -> None:
    plan = apply(start(WIDER), {"do": "twin", "id": "a", "new_id": "b"})
    plan = apply(plan, {"do": "free", "ids": ["b"]})
    before = plan.piece("b")
    assert apply(plan, {"do": "change", "pieces": [{"id": "a", "u": 0.4}]}).piece("b") == before


def test_twin_over_an_axis_of_the_same_arm() -> None:
    plan = apply(start(TYPICAL_MM), {"do": "twin", "id": "a", "new_id": "b", "axis_u": 0.05})
    limb = limb_of(plan, "left_arm")
    a, b = (lay(limb, plan.piece(i), DRAWING).rings[0] for i in "ab")
    assert np.abs(np.column_stack([0.1 - a[:, 0], a[:, 1]]) - b).max() < 1e-9
    plan = apply(plan, {"do": "change", "pieces": [{"id": "b", "u": -0.2}]})
    assert plan.piece("a").u == pytest.approx(0.3)


def test_locked_twin_stops_the_other_with_a_sentence() -> None:
    plan = apply(start(TYPICAL_MM), {"do": "twin", "id": "a", "new_id": "b"})
    plan = apply(plan, {"do": "change", "pieces": [{"id": "b", "locked": True}]})
    with pytest.raises(StepError, match="linked twin and locked"):
        apply(plan, {"do": "change", "pieces": [{"id": "a", "u": 0.4}]})


def test_new_measures_carry_the_linked_twin() -> None:
    plan = apply(start(TYPICAL_MM), {"do": "twin", "id": "a", "new_id": "b"})
    longer = {**TYPICAL_MM, "wrist_to_forearm": TYPICAL_MM["wrist_to_forearm"] + 12}
    moved = apply(plan, {"do": "measure", "part": "right_arm", "measures": longer})
    assert moved.piece("a") == plan.piece("a")
    assert moved.piece("b").s_mm > plan.piece("b").s_mm + 5


def test_deleting_the_first_frees_the_twin() -> None:
    plan = apply(start(TYPICAL_MM), {"do": "twin", "id": "a", "new_id": "b"})
    left = apply(plan, {"do": "remove", "ids": ["a"]}).piece("b")
    assert (left.twin_of, left.linked) == (None, False)


def test_no_twin_on_an_arm_that_was_not_taped() -> None:
    plan = apply(Plan("p", "One"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    plan = apply(plan, {"do": "place", "piece": {"id": "a", "part": "left_arm", "art": DRAWING.digest, "title": "Fin",
                                                 "u": 0.0, "s_mm": 100.0}})
    with pytest.raises(StepError, match="right arm has no measures"):
        apply(plan, {"do": "twin", "id": "a", "new_id": "b"})
