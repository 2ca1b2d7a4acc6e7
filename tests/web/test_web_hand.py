"""The hand on the Tie in step: chosen by name, changed habit by habit, and taken back."""

from __future__ import annotations

import html
import json
import re

import pytest
from starlette.testclient import TestClient

from composer.filler.hands import PRESETS
from composer.plan.errors import StepError
from composer.plan.model import Hand, Plan, Settings
from composer.plan.steps import apply, label
from composer.store.store import Store
from web import hand_shown


def page(client: TestClient, pid: str) -> str:
    got = client.get(f"/plans/{pid}/tie-in/left_arm")
    assert got.status_code == 200
    return got.text


def steps(text: str) -> dict[str, dict]:
    found = re.findall(r'class="hand-row" data-step="([^"]+)"', text)
    made = [json.loads(html.unescape(f)) for f in found]
    return {s["title"]: s for s in made}


def post(client: TestClient, pid: str, path: str, **data: str) -> str:
    data = {"mode": "tie-in", **data}
    got = client.post(f"/plans/{pid}/desk/left_arm{path}", data=data, headers={"hx-request": "true"})
    assert got.status_code == 200, got.text[:300]
    return got.text


def test_every_hand_is_there_with_its_needles_and_says_what_that_is_worth(client: TestClient, plan_id: str) -> None:
    text = page(client, plan_id)
    assert set(steps(text)) == {p.title for p in PRESETS.values()}
    assert "Nearest grouping" in text and "9 round, 0.35 mm needles" in text and "common practice" in text
    assert text.count('class="hand-sample"') == len(PRESETS)
    assert "The hand: Clean and swelling" in text


def test_a_hand_is_chosen_and_taken_back(client: TestClient, store: Store, plan_id: str) -> None:
    bold = steps(page(client, plan_id))["Bold shop"]
    post(client, plan_id, "/step", step=json.dumps(bold))
    assert store.load(plan_id).plan.settings.hand == PRESETS["bold"].hand
    text = page(client, plan_id)
    assert "The hand: Bold shop" in text and "draw in the hand &#39;Bold shop&#39;" in text
    post(client, plan_id, "/undo")
    assert store.load(plan_id).plan.settings.hand == Hand()


def test_a_habit_is_typed_and_the_hand_is_the_artists_own(client: TestClient, store: Store, plan_id: str) -> None:
    post(client, plan_id, "/setting", name="wobble", value="0,4")
    assert store.load(plan_id).plan.settings.hand == Hand(wobble=0.4)
    assert "The hand: Your own" in page(client, plan_id)
    refused = client.post(f"/plans/{plan_id}/desk/left_arm/setting", data={"name": "corner", "value": "3"})
    assert refused.status_code == 422 and "3 lies outside 0 to 1" in refused.text
    assert store.load(plan_id).plan.settings.hand == Hand(wobble=0.4)


def test_the_step_keeps_what_it_does_not_name_and_refuses_what_is_no_hand() -> None:
    plan = Plan("a", "b", settings=Settings(hand=Hand(dark=0.9), line_gap_mm=2.4))
    after = apply(plan, {"do": "hand", "hand": {"line_mm": 0.8}, "title": "Mine"})
    assert after.settings == Settings(hand=Hand(dark=0.9, line_mm=0.8), line_gap_mm=2.4)
    assert label(plan, {"do": "hand", "hand": {}, "title": "Mine"}) == "draw in the hand 'Mine'"
    for hand in (None, "bold", {"line_mm": 99}, {"wobble": 7}):
        with pytest.raises((StepError, ValueError)):
            apply(plan, {"do": "hand", "hand": hand})


def test_samples_differ_from_hand_to_hand() -> None:
    assert len({str(h.sample) for h in hand_shown.of(Hand()).choices}) == len(PRESETS)
