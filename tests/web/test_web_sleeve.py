"""Where a sleeve starts and ends: presets and edges, one step each; gaps, best places and the board keep to it."""

from __future__ import annotations

import html
import json
import re

import numpy as np
import pytest
from starlette.testclient import TestClient

from composer.plan.extents import extent_of
from composer.store.store import Store
from web import findings, sleeve
from web.desk import Desk


def send(client: TestClient, pid: str, name: str, value: str, part: str = "left_arm") -> tuple[int, str]:
    got = client.post(f"/plans/{pid}/desk/{part}/sleeve", data={"name": name, "value": value})
    return got.status_code, html.unescape(got.text)


def extent(store: Store, pid: str):
    return extent_of(store.load(pid).plan.part("left_arm"))


def test_presets_and_edges_are_one_step_each(client: TestClient, store: Store, plan_id: str) -> None:
    before = store.load(plan_id).revision
    assert send(client, plan_id, "preset", "half")[0] == 200
    assert store.load(plan_id).revision == before + 1 and extent(store, plan_id).name == "half"
    assert send(client, plan_id, "from.form", "wavy")[0] == 200
    assert send(client, plan_id, "from.plus", "4.5")[0] == 200
    assert send(client, plan_id, "to.at", "armpit")[0] == 200
    assert send(client, plan_id, "to.plus", "-1,5 cm")[0] == 200
    now = extent(store, plan_id)
    assert (now.far.at, now.far.plus_mm, now.far.form, now.far.depth_mm) == ("elbow", 45.0, "wavy", 12.0)
    assert (now.near.at, now.near.plus_mm) == ("armpit", -15.0) and now.name == ""
    assert send(client, plan_id, "from.depth", "20 mm")[0] == 200 and extent(store, plan_id).far.depth_mm == 20.0
    assert send(client, plan_id, "preset", sleeve.WHOLE)[0] == 200
    assert "extent" not in store.load(plan_id).plan.part("left_arm").extra
    assert store.undo(plan_id).plan.part("left_arm").extra["extent"]["from"]["at"] == "elbow"


@pytest.mark.parametrize(("name", "value", "words"), [
    ("preset", "long", "no sleeve called"), ("from.at", "nose", "no level"), ("from.plus", "much", "lower edge"),
    ("from.plus", "46", "Move its edges apart"), ("to.plus", "90", "would lie at"), ("from.form", "torn", "can't be"),
    ("to.depth", "99", "over 99.0 cm; use 0.1 cm to 15.0 cm"), ("to.depth", "0", "use 0.1 cm"),
    ("nothing", "1", "no field")])
def test_what_cannot_be_gets_a_sentence(client: TestClient, store: Store, plan_id: str, name: str, value: str,
                                        words: str) -> None:
    before = store.load(plan_id).revision
    status, text = send(client, plan_id, name, value)
    assert status == 422 and words in text and store.load(plan_id).revision == before


def test_gaps_best_places_and_board_keep_to_the_sleeve(client: TestClient, store: Store, plan_id: str) -> None:
    send(client, plan_id, "preset", "half")
    kept = store.load(plan_id)
    desk = Desk(store)
    view = desk.view(kept.plan, kept.revision, "left_arm")
    low, high = extent(store, plan_id).span(view.limb)
    found = findings.of(desk, kept, view)
    rings = np.concatenate([np.concatenate(g.gap.rings) for g in found.gaps])
    assert found.gaps and low - 1 <= rings[:, 1].min() and rings[:, 1].max() <= high + 1
    assert any("the lower edge" in g.beside for g in found.gaps) and not any("wrist" in g.beside for g in found.gaps)
    text = client.get(f"/plans/{plan_id}/desk/left_arm/best", params={"for": "best:motif:crab"}).text
    poses = [json.loads(html.unescape(x)) for x in re.findall(r"data-best='([^']+)'", text)]
    assert poses and all(low < p["s"] < high for p in poses)
    board = client.get(f"/plans/{plan_id}/desk/left_arm/board").text
    told = float(re.search(r"of the (\d+) cm² of skin", board)[1])
    us = np.linspace(low, high, 400)
    assert told == pytest.approx(np.trapezoid(view.limb.girth(us), us) / 100, rel=0.02)


def test_what_lies_outside_the_sleeve_is_not_counted(client: TestClient, store: Store, plan_id: str) -> None:
    motif = next(m for m in store.shelf() if m.id == "crab")
    for n, s in enumerate((60.0, 400.0)):
        store.commit(plan_id, {"do": "place", "piece": {
            "id": f"c{n}", "part": "left_arm", "art": motif.digest, "title": f"Crab {n}", "motif": "crab", "u": 0.0,
            "s_mm": s, "scale": 40 / max(motif.width_mm, motif.height_mm)}})
    whole = client.get(f"/plans/{plan_id}/desk/left_arm/board").text
    assert 'data-wide-pick="c0"' in whole and 'data-wide-pick="c1"' in whole and "outside the sleeve" not in whole
    send(client, plan_id, "preset", "half")
    half = client.get(f"/plans/{plan_id}/desk/left_arm/board").text
    assert 'data-wide-pick="c0"' not in half and 'data-wide-pick="c1"' in half
    assert "One piece lies outside the sleeve" in half


def test_running_into_the_chest_takes_the_whole_shoulder(client: TestClient, store: Store, plan_id: str) -> None:
    send(client, plan_id, "preset", "full")
    assert extent(store, plan_id).near.at == "armpit"
    assert send(client, plan_id, "into", "6")[0] == 200
    now = extent(store, plan_id)
    assert (now.near.at, now.near.plus_mm, now.chest_mm) == ("cap", 0.0, 60.0)


def test_the_sheet_shows_its_edges_and_pales_what_lies_beyond(client: TestClient, store: Store, plan_id: str) -> None:
    page = client.get(f"/plans/{plan_id}/compose/left_arm").text
    assert '<g id="sleeve"></g>' in page and "the whole arm" in page
    _, text = send(client, plan_id, "preset", "three_quarter")
    found = re.search(r'<g id="sleeve" hx-swap-oob="innerHTML">(.*?)</g></g>', text, re.S)
    assert found and found[1].count('class="edge straight"') == 2 and found[1].count('class="beyond"') == 1
    assert "three-quarter sleeve" in text
    _, text = send(client, plan_id, "to.form", "fading")
    assert text.count("fill-opacity:") == sleeve.FADE_STEPS and 'class="edge fading"' in text
    shades = [float(v) for v in re.findall(r"fill-opacity:([\d.]+)", text)]
    assert shades == sorted(shades, reverse=True) and shades[-1] < 0.05


def test_the_drawer_says_how_long_and_how_much_skin(client: TestClient, store: Store, plan_id: str) -> None:
    send(client, plan_id, "preset", "full_cap")
    text = html.unescape(client.get(f"/plans/{plan_id}/desk/left_arm/sleeve").text)
    assert 'id="preset-full_cap"' in text and re.search(r'value="full_cap"[^>]*checked', text)
    assert re.search(r"[\d.]+ cm long, \d+ cm² of skin\.", text)
    assert "common practice, no published source" in text
    send(client, plan_id, "from.form", "fading")
    assert "with what fades counted" in client.get(f"/plans/{plan_id}/desk/left_arm/sleeve").text
