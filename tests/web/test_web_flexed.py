"""The second tape on Measure: optional, said in words what is wrong, used in readings and views."""

from __future__ import annotations

from starlette.testclient import TestClient

from composer.body.fields import TYPICAL_MM
from composer.body.units import number
from composer.plan.flexed import kept_flexed
from composer.store.store import Store


def form(**more: str) -> dict[str, str]:
    return {n: number(v, "cm") for n, v in TYPICAL_MM.items()} | {"unit": "cm", "was_unit": "cm"} | more


def test_a_flexed_girth_is_optional_kept_and_used(client: TestClient, store: Store, plan_id: str) -> None:
    at = f"/plans/{plan_id}/measure/left_arm"
    text = client.get(at).text
    assert "Taped flexed as well (optional)" in text and 'name="flexed@upper_arm"' in text
    assert 'id="flexed" open' not in text and 'name="flexed@calf"' not in text
    before = client.get(f"/plans/{plan_id}/desk/left_arm/tint?what=stretch&choice=flexed").json()
    assert client.post(at, data=form(**{"flexed@upper_arm": "37.3"}), follow_redirects=False).status_code == 303
    assert kept_flexed(store.load(plan_id).plan.part("left_arm")) == {"upper_arm": 373.0}
    after = client.get(f"/plans/{plan_id}/desk/left_arm/tint?what=stretch&choice=flexed").json()
    assert "+13%" in str(after["tags"]) and "+13%" not in str(before["tags"])
    again = client.get(at).text
    assert 'id="flexed" open' in again and 'value="37.3"' in again
    client.post(at, data=form(**{"flexed@upper_arm": " "}))
    assert kept_flexed(store.load(plan_id).plan.part("left_arm")) == {}


def test_a_flexed_girth_that_can_not_be_saves_nothing_and_says_why(client: TestClient, store: Store,
                                                                   plan_id: str) -> None:
    at = f"/plans/{plan_id}/measure/left_arm"
    revision = store.load(plan_id).revision
    for typed, words in (("50", "must lie within 29.7 to 46.2 cm"), ("wide", "Leave it empty where it was not taped")):
        got = client.post(at, data=form(**{"flexed@upper_arm": typed}))
        assert got.status_code == 422 and words in got.text and f'value="{typed}"' in got.text
    assert store.load(plan_id).revision == revision
    look = client.post(f"{at}/look", data=form(**{"flexed@upper_arm": "37.3", "unit": "mm"}))
    assert 'value="373"' in look.text      # another unit, the same tape
