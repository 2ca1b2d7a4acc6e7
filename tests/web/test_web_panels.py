"""Chest and upper back on the pages: taped, shown, refused with sentences."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from composer.body.units import number
from composer.body.yoke_fields import PANEL_FIELDS, PANEL_TYPICAL_MM, PANELS, TRUNK
from composer.store.store import Store


def typed(part: str, **other: str) -> dict[str, str]:
    return {n: number(mm, "cm") for n, mm in PANEL_TYPICAL_MM[part].items()} | {"unit": "cm"} | other


@pytest.mark.parametrize("part", PANELS)
def test_a_panel_is_taped_field_by_field_each_with_its_drawing(client: TestClient, plan_id: str, part: str) -> None:
    text = client.get(f"/plans/{plan_id}/measure/{part}").text
    for f in PANEL_FIELDS[part]:
        assert f'name="{f.name}"' in text and f"<title>{f.label}: " in text
    assert "Further girths" not in text and f"/plans/{plan_id}/measure/{part}" in text
    saved = client.post(f"/plans/{plan_id}/measure/{part}", data=typed(part), follow_redirects=False)
    assert saved.status_code == 303 and saved.headers["location"].endswith(f"/compose/{part}")
    body = client.get(f"/plans/{plan_id}/measure/left_arm").text
    other = next(p for p in PANELS if p != part)
    assert f"/plans/{plan_id}/measure/{part}" in body and f"/plans/{plan_id}/measure/{other}" in body


def test_measures_that_make_no_chest_are_refused_in_words(client: TestClient, store: Store, plan_id: str) -> None:
    got = client.post(f"/plans/{plan_id}/measure/chest", data=typed("chest", acromion_to_crease_left="95"),
                      headers={"hx-request": "true"})
    assert got.status_code == 422 and 'aria-invalid="true"' in got.text and "Nothing was saved yet" in got.text
    assert [p.name for p in store.load(plan_id).plan.parts] == ["left_arm"]
    assert client.get(f"/plans/{plan_id}/measure/tail").status_code == 404


def test_the_other_side_of_the_trunk_gives_only_what_both_share(client: TestClient, plan_id: str) -> None:
    client.post(f"/plans/{plan_id}/measure/chest", data=typed("chest"))
    text = client.post(f"/plans/{plan_id}/measure/upper_back/copy", data={"unit": "cm"}).text
    values = dict(re.findall(r'name="(\w+)" inputmode="decimal"[^>]* value="([^"]*)"', text))
    assert {n for n, v in values.items() if v} == set(TRUNK)
    assert values["chest_girth"] == number(PANEL_TYPICAL_MM["chest"]["chest_girth"], "cm")


def test_while_typing_the_chest_is_drawn_from_the_front_and_unrolled(client: TestClient, plan_id: str) -> None:
    text = client.post(f"/plans/{plan_id}/measure/chest/look", data=typed("chest")).text
    assert 'aria-label="The chest from the front, and unrolled"' in text
    text = client.post(f"/plans/{plan_id}/measure/chest/look", data={"unit": "cm", "chest_girth": "100"}).text
    assert "and unrolled" not in text
