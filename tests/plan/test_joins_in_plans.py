"""Chest and back in a plan: taped, composed, mirrored across the midline, seen over the joins, kept in a file."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "body"))
from panel_cases import UNEVEN

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.filler.seen import visible_laid
from composer.plan.errors import StepError
from composer.plan.form import plan_from_json, plan_to_json
from composer.plan.model import Plan
from composer.plan.over_joins import pieces_seen_on, scene_with_neighbours
from composer.plan.steps import apply
from composer.plan.twins import twin_deviation

_T = np.linspace(0, 2 * np.pi, 60, endpoint=False)
RING = np.column_stack([30 * np.cos(_T), 45 * np.sin(_T)]) * (1 + 0.2 * np.cos(3 * _T))[:, None]
BUOY = Drawing((RING,), (Layer("black", (RING * 0.9,)),), (), {})
GALLERY = {BUOY.digest: BUOY}


def place(name: str, part: str, u: float, s: float, **more: object) -> dict:
    piece = {"id": name, "part": part, "art": BUOY.digest, "title": name, "u": u, "s_mm": s, **more}
    return {"do": "place", "piece": piece}


def plan(chest: dict[str, float] = PANEL_TYPICAL_MM["chest"]) -> Plan:
    out = Plan("estuary", "Estuary")
    for part, m in (("left_arm", TYPICAL_MM), ("right_arm", TYPICAL_MM), ("chest", chest),
                    ("upper_back", PANEL_TYPICAL_MM["upper_back"])):
        out = apply(out, {"do": "measure", "part": part, "measures": m})
    return out


def test_a_twin_on_an_even_chest_is_exact_and_follows() -> None:
    p = apply(plan(), place("heron", "chest", 0.1, 200.0, turn_deg=15))
    p = apply(p, {"do": "twin", "id": "heron", "new_id": "two"})
    two = p.piece("two")
    assert (two.part, two.axis_u, two.turn_deg, two.flip) == ("chest", 0.0, -15, True)
    assert [two.u, two.s_mm] == pytest.approx([-0.1, 200.0], abs=1e-7)
    assert "exact mirror image" in twin_deviation(p, two, GALLERY).sentence
    moved = apply(p, {"do": "change", "pieces": [{"id": "two", "u": -0.15, "s_mm": 120.0}]})
    assert [moved.piece("heron").u, moved.piece("heron").s_mm] == pytest.approx([0.15, 120.0], abs=1e-7)


def test_a_twin_on_an_uneven_chest_goes_by_the_landmarks_and_says_why() -> None:
    p = apply(apply(plan(UNEVEN), place("heron", "chest", 0.13, 250.0)), {"do": "twin", "id": "heron", "new_id": "two"})
    assert p.piece("two").u != pytest.approx(-0.13, abs=1e-3)
    told = twin_deviation(p, p.piece("two"), GALLERY)
    assert 0.05 < told.largest_mm < 10 and "of that side lies" in told.sentence
    even = apply(p, {"do": "measure", "part": "chest", "measures": PANEL_TYPICAL_MM["chest"]})
    assert even.piece("two").u == pytest.approx(-0.13, abs=1e-7)  # taped anew, the linked twin follows


def test_a_piece_over_a_join_is_one_piece_seen_on_both_parts() -> None:
    p = apply(plan(), place("buoy", "left_arm", 0.1, 500.0, turn_deg=20))
    p = apply(apply(p, place("gull", "chest", 0.22, 90.0)), place("heron", "chest", 0.0, 120.0))
    own, leaning = pieces_seen_on(p, "chest", GALLERY)
    assert {x.piece.id for x in own} == {"gull", "heron"} and [x.laid.piece.id for x in leaning] == ["buoy"]
    (over,) = leaning
    assert (over.home, over.join, over.laid.piece.part) == ("left_arm", "left armhole, front", "chest")
    # rigid: the drawing's size is its own, whatever part it is seen on
    assert over.laid.flat.outline.area == pytest.approx(BUOY.outline.area, rel=1e-9)
    assert over.sentence.startswith("'buoy' lies over the left armhole") and "mm" in over.sentence
    (side,) = pieces_seen_on(p, "upper_back", GALLERY)[1]
    assert (side.laid.piece.id, side.join, side.sentence) == ("gull", "left side", "")
    assert pieces_seen_on(p, "right_arm", GALLERY) == ((), ())
    scene = scene_with_neighbours(p, "chest", GALLERY)
    assert {x.piece.id for x in scene.laid} == {"gull", "heron", "buoy"}
    assert set(visible_laid(scene, p.settings)) == {"gull", "heron", "buoy"}


def test_a_plan_with_panels_is_kept_in_its_file() -> None:
    p = apply(plan(), place("gull", "upper_back", -0.1, 90.0))
    assert plan_from_json(plan_to_json(p)) == p


def test_a_chest_that_cannot_be_is_refused_in_words() -> None:
    with pytest.raises(StepError, match="Chest: .*must lie within"):
        apply(plan(), {"do": "measure", "part": "chest", "measures": {**PANEL_TYPICAL_MM["chest"], "chest_girth": 90}})
    with pytest.raises(StepError, match="not a part"):
        apply(plan(), {"do": "measure", "part": "neck", "measures": {}})


def test_a_piece_moved_to_another_part_takes_its_linked_twin_along() -> None:
    p = apply(apply(plan(), place("heron", "chest", 0.18, 260.0)), {"do": "twin", "id": "heron", "new_id": "two"})
    move = {"do": "rehome", "id": "heron", "part": "left_arm", "u": 0.0, "s_mm": 440.0, "turn_deg": 20.0}
    over = apply(p, move)
    heron, two = over.piece("heron"), over.piece("two")
    assert (heron.part, two.part, two.axis_u, two.linked) == ("left_arm", "right_arm", None, True)
    assert [two.u, two.s_mm, two.turn_deg] == pytest.approx([0.0, 440.0, -20.0])
    back = apply(over, {"do": "rehome", "id": "two", "part": "chest", "u": -0.18, "s_mm": 260.0, "turn_deg": 0.0})
    assert (back.piece("heron").part, back.piece("two").axis_u) == ("chest", 0.0)
    assert back.piece("heron").u == pytest.approx(0.18, abs=1e-7)
    free = apply(apply(p, {"do": "free", "ids": ["two"]}), move)
    assert free.piece("two").part == "chest" and free.piece("two").twin_of is None
    locked = apply(p, {"do": "change", "pieces": [{"id": "heron", "locked": True}]})
    with pytest.raises(StepError, match="locked"):
        apply(locked, move)
    with pytest.raises(StepError, match="has no part"):
        apply(p, move | {"part": "left_leg"})
