"""A stroke of the brush, from the line on the sheet to a filler."""

from __future__ import annotations

import json
import re

import numpy as np
import pytest
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.sheet import unroll
from composer.plan.errors import StepError
from composer.store.store import Store
from web.brush import MOST_POINTS, goal_of, key_of

SHEET = unroll(build_limb("left_arm", dict(TYPICAL_MM)), -0.5)


def line(a: tuple[float, float], b: tuple[float, float], n: int = 60) -> np.ndarray:
    """A straight stroke on the sheet between two places on skin."""
    us = np.linspace(a, b, n)
    return SHEET.to_flat(us)


def sent(xy: np.ndarray) -> str:
    return json.dumps(xy.round(2).tolist())


@pytest.fixture
def posted(store: Store, plan_id: str) -> str:
    ring = np.array([[-20, -40], [20, -40], [20, 40], [-20, 40]], float)
    art = store.keep_drawing(Drawing((ring,), (Layer("line", (ring, ring * 0.9)),)))
    store.commit(plan_id, {"do": "place", "piece": {"id": "post", "part": "left_arm", "art": art, "title": "Post",
                                                    "u": 0.0, "s_mm": 300.0}})
    return plan_id


def test_a_stroke_becomes_a_short_goal_near_its_line() -> None:
    xy = line((-0.2, 150.0), (0.2, 260.0), 400) + np.column_stack([np.zeros(400), 6 * np.sin(np.arange(400) / 12)])
    key = key_of(sent(xy), "30", SHEET)
    goal = goal_of(key)
    assert len(key) < 400 and len(goal["brush"]) <= MOST_POINTS and goal["width_mm"] == 30
    at = SHEET.to_flat(np.array(goal["brush"]))
    assert max(np.linalg.norm(xy - p, axis=1).min() for p in at) < 0.5


@pytest.mark.parametrize(("text", "width", "words"), [
    ("[]", "20", "paint it again"), ("nonsense", "20", "paint it again"), ("[[1, 2]]", "wide", "paint it again"),
    ("[[1, null]]", "20", "paint it again"), ("[[1, 2]]", "1", "6 to 120 mm")])
def test_what_cannot_be_read_is_said(text: str, width: str, words: str) -> None:
    with pytest.raises(StepError, match=words):
        key_of(text, width, SHEET)
    with pytest.raises(StepError, match="paint it again"):
        goal_of("brush:20:a,b")


def test_painting_proposes_and_keeps_a_filler(client: TestClient, store: Store, posted: str) -> None:
    at = f"/plans/{posted}/desk/left_arm"
    stroke = sent(line((-0.22, 300.0), (-0.12, 320.0)))
    opened = client.post(at + "/brush", data={"stroke": stroke, "width": "40", "mode": "tie-in"})
    assert opened.status_code == 200 and "Painted by hand" in opened.text
    data = re.search(r'id="desk-data"[^>]*>(.*?)</script>', opened.text, re.S)
    assert data
    key = json.loads(data[1])["goal"]
    assert key.startswith("brush:40:")
    picks = client.post(at + "/candidates", data={"for": key, "kind": "wind", "mode": "tie-in"})
    assert picks.text.count("data-candidate") >= 1
    done = client.post(at + "/accept", data={"for": key, "kind": "wind", "index": "0", "mode": "tie-in"})
    assert done.status_code == 200
    filler = next(p for p in store.load(posted).plan.pieces if p.is_filler)
    assert filler.recipe and filler.recipe.goal == goal_of(key)
    again = client.post(at + "/remake", data={"id": filler.id, "another": "1"})
    assert again.status_code == 200
    assert store.load(posted).plan.piece(filler.id).art != filler.art


def test_a_stroke_with_nothing_open_under_it_is_said(client: TestClient, posted: str) -> None:
    at = f"/plans/{posted}/desk/left_arm"
    got = client.post(at + "/brush", data={"stroke": sent(line((0, 295.0), (0, 305.0))), "width": "10",
                                           "mode": "tie-in"})
    assert got.status_code == 422 and "no open skin" in got.text
    page = client.get(f"/plans/{posted}/tie-in/left_arm?goal=brush:10:0,300")
    assert page.status_code == 200
    later = client.post(at + "/refresh", data={"mode": "tie-in", "goal": "brush:10:0,300"})
    assert "no open skin" in later.text


def filled(client: TestClient, store: Store, pid: str) -> str:
    """A wind beside the post; its id."""
    at = f"/plans/{pid}/desk/left_arm"
    key = key_of(sent(line((-0.22, 300.0), (-0.12, 320.0))), "40", SHEET)
    client.post(at + "/accept", data={"for": key, "kind": "wind", "index": "0", "mode": "tie-in"})
    return next(p.id for p in store.load(pid).plan.pieces if p.is_filler)


def test_a_filler_gets_another_ground_and_another_way(client: TestClient, store: Store, posted: str) -> None:
    at, i = f"/plans/{posted}/desk/left_arm", filled(client, store, posted)
    panel = client.post(at + "/refresh", data={"sel": i, "mode": "tie-in"}).text
    assert "Paint its ground" in panel and "Wind, broad sweep" in panel
    before = store.load(posted).plan.piece(i)
    got = client.post(at + "/remake", data={"id": i, "stroke": sent(line((0.2, 150.0), (0.35, 170.0))), "width": "44"})
    assert got.status_code == 200
    moved = store.load(posted).plan.piece(i)
    assert moved.recipe and before.recipe and moved.recipe.params["way"] == before.recipe.params["way"]
    assert abs(moved.s_mm - 160) < 20 and moved.art != before.art
    client.post(at + "/remake", data={"id": i, "way": "sweep"})
    swept = store.load(posted).plan.piece(i)
    assert swept.recipe and swept.recipe.params["way"] == "sweep" and swept.recipe.goal == moved.recipe.goal
    wrong = client.post(at + "/remake", data={"id": i, "way": "hail"})
    assert wrong.status_code == 422 and "cannot be drawn as" in wrong.text
    assert store.load(posted).plan.piece(i) == swept


def test_a_fixed_filler_stays_until_it_is_freed(client: TestClient, store: Store, posted: str) -> None:
    at, i = f"/plans/{posted}/desk/left_arm", filled(client, store, posted)
    got = client.post(at + "/fix", data={"id": i, "on": "1", "sel": i, "mode": "tie-in"})
    assert "Fixed as a drawing" in got.text
    fixed = store.load(posted).plan.piece(i)
    assert fixed.stays and fixed.is_filler
    refused = client.post(at + "/remake", data={"id": i, "another": "1"})
    assert refused.status_code == 422 and "fixed as a drawing" in refused.text
    client.post(at + "/fix", data={"id": i, "on": "0"})
    assert not store.load(posted).plan.piece(i).stays
    assert client.post(at + "/remake", data={"id": i, "another": "1"}).status_code == 200
