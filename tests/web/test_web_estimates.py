"""Measures that were not taped: estimated in another style, with their range, marked until taped, never silently.

The mean person of the survey is checked against the published means in tests/outside; here it is the page.
"""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from composer.body.estimate import estimate
from composer.body.kinds import UNPLANNED
from composer.body.measures import TYPICAL_MM
from composer.plan.estimated import estimated_of
from composer.store.store import Store


def url(pid: str, more: str = "") -> str:
    return f"/plans/{pid}/measure/right_arm{more}"


def form(*names: str, **more: str) -> dict[str, str]:
    """The arm's form with these measures taped, in cm."""
    return {n: f"{TYPICAL_MM[n] / 10:.1f}" if n in names else "" for n in TYPICAL_MM} | {"unit": "cm"} | more


ALL = tuple(TYPICAL_MM)


def test_what_is_missing_is_shown_as_an_estimate_with_its_range(client: TestClient, plan_id: str) -> None:
    typed = form("wrist", "elbow", stature="174", weight="70")
    text = html.unescape(client.post(url(plan_id, "/look"), data=typed).text)
    want = estimate("arm", {"wrist": round(TYPICAL_MM["wrist"], 0), "elbow": TYPICAL_MM["elbow"]}, 1740.0, 70.0)
    assert text.count('id="guess-') == len(ALL) - 2 == len(want)
    got = re.search(r'id="guess-armpit"><b>Not taped:</b> about ([\d.]+) cm; nine in ten lie in ([\d.]+) to (\d+\.\d)',
                    text)
    assert got and [float(v) for v in got.groups()] == pytest.approx(
        [want["armpit"].mean_mm / 10, want["armpit"].low_mm / 10, want["armpit"].high_mm / 10], abs=0.06)
    field = re.search(r'<input id="m-armpit"[^>]*>', text)[0]
    assert 'value=""' in field and f'placeholder="{got[1]}"' in field and "guess-armpit" in field
    assert 'id="guess-wrist"' not in text and "ANSUR II" in text


def test_nothing_is_estimated_from_nothing(client: TestClient, plan_id: str) -> None:
    text = client.post(url(plan_id, "/look"), data=form()).text
    assert 'class="guess"' not in text and "p-use" not in text


def test_a_drawing_from_estimates_says_so(client: TestClient, plan_id: str) -> None:
    words = "Drawn from estimates where nothing was taped"
    assert words in client.post(url(plan_id, "/look"), data=form("wrist")).text
    assert words not in client.post(url(plan_id, "/look"), data=form(*ALL)).text
    chest = f"/plans/{plan_id}/measure/chest/look"
    text = client.post(chest, data={"unit": "cm", "chest_girth": "100"}).text
    assert words in text and "and unrolled" in text
    assert "and unrolled" not in client.post(chest, data={"unit": "cm"}).text


def test_nothing_is_saved_silently(client: TestClient, store: Store, plan_id: str) -> None:
    got = client.post(url(plan_id), data=form("wrist", "elbow", stature="174", weight="70"))
    assert got.status_code == 422 and "let it be estimated below" in got.text
    assert all(p.name != "right_arm" for p in store.load(plan_id).plan.parts)


def test_estimates_are_saved_marked_and_shown_as_such_until_taped(client: TestClient, store: Store,
                                                                  plan_id: str) -> None:
    taped = [n for n in ALL if n not in ("armpit", "upper_arm")]
    got = client.post(url(plan_id), data=form(*taped, stature="174", weight="154.3 lb", sex="female", use="1"),
                      follow_redirects=False)
    assert got.status_code == 303
    plan = store.load(plan_id).plan
    part = plan.part("right_arm")
    marks = estimated_of(part)
    assert set(marks) == {"armpit", "upper_arm"}
    assert all(lo < part.measures[n] < hi for n, (lo, hi) in marks.items())
    assert plan.settings.extra["body"] == {"stature_mm": 1740.0, "weight_kg": pytest.approx(69.99, abs=0.01),
                                           "sex": "female"}

    page = client.get(url(plan_id)).text
    assert page.count('id="guess-') == 2 and 'id="p-use" name="use" value="1" checked' in page
    assert 'value=""' in re.search(r'<input id="m-armpit"[^>]*>', page)[0]
    desk = html.unescape(client.get(f"/plans/{plan_id}/compose/right_arm").text)
    assert "Estimated, not taped:" in desk and "armpit (girth)" in desk and "Tape before you print" in desk

    printed = html.unescape(client.get(f"/plans/{plan_id}/print", params={"part": "right_arm"}).text)
    assert "Estimated, not taped, on the right arm:" in printed and "armpit (girth)" in printed

    client.post(url(plan_id), data=form(*taped, "armpit", stature="174", weight="69.99", sex="female", use="1"))
    part = store.load(plan_id).plan.part("right_arm")
    assert set(estimated_of(part)) == {"upper_arm"} and part.measures["armpit"] == TYPICAL_MM["armpit"]
    client.post(url(plan_id), data=form(*ALL, stature="174", weight="69.99", sex="female"))
    assert estimated_of(store.load(plan_id).plan.part("right_arm")) == {}
    assert "Estimated, not taped" not in client.get(f"/plans/{plan_id}/compose/right_arm").text


def test_estimates_of_the_other_arm_are_no_start_for_this_one(client: TestClient, store: Store, plan_id: str) -> None:
    taped = [n for n in ALL if n != "armpit"]
    client.post(url(plan_id), data=form(*taped, use="1"))
    text = client.post(f"/plans/{plan_id}/measure/left_arm/copy", data={"unit": "cm"}).text
    assert 'value=""' in re.search(r'<input id="m-armpit"[^>]*>', text)[0]
    assert f'value="{TYPICAL_MM["wrist"] / 10:.1f}"' in re.search(r'<input id="m-wrist"[^>]*>', text)[0]


@pytest.mark.parametrize(("field", "value", "words"), [
    ("stature", "tall", "Height"), ("stature", "20", "must lie within 1000 to 2500 mm"),
    ("weight", "heavy", "write it as 72"), ("weight", "5", "must lie within 25 to 300 kg")])
def test_stature_and_weight_that_cannot_be_get_a_sentence(client: TestClient, store: Store, plan_id: str, field: str,
                                                          value: str, words: str) -> None:
    got = client.post(url(plan_id), data=form(*ALL[:-1], use="1", **{field: value}))
    assert got.status_code == 422 and words in html.unescape(got.text)
    assert all(p.name != "right_arm" for p in store.load(plan_id).plan.parts)


def test_stature_follows_a_change_of_unit(client: TestClient, plan_id: str) -> None:
    typed = {**form("wrist", stature="174"), "unit": "mm", "was_unit": "cm"}
    text = client.post(url(plan_id, "/look"), data=typed).text
    assert 'name="stature" inputmode="decimal" autocomplete="off" value="1740"' in text


def test_what_is_not_planned_is_named_with_the_reason(client: TestClient, plan_id: str) -> None:
    text = html.unescape(client.get(url(plan_id)).text)
    assert "Hand, foot, neck, face: not planned here" in text
    assert all(it.reason in text for it in UNPLANNED)
