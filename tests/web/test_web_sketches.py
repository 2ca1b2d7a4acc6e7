"""Candidates are sketched first and finished after; what is kept is always the finished drawing."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.filler.proposals import Proposal
from composer.plan.model import Recipe
from composer.store.store import Store
from web.goals import not_as_sketched


@pytest.fixture
def gap(client: TestClient, store: Store, plan_id: str) -> tuple[str, str]:
    """A plan with one piece on it: the address of its desk, and the key of a gap."""
    ring = np.array([[-20, -40], [20, -40], [20, 40], [-20, 40]], float)
    art = store.keep_drawing(Drawing((ring,), (Layer("line", (ring, ring * 0.9)),)))
    store.commit(plan_id, {"do": "place", "piece": {"id": "post", "part": "left_arm", "art": art, "title": "Post",
                                                    "u": 0.0, "s_mm": 300.0}})
    at = f"/plans/{plan_id}/desk/left_arm"
    shown = client.post(at + "/refresh", data={"mode": "tie-in"}).text
    key = re.search(r'data-goal="([^"]+)"', shown)
    assert key
    return at, key[1]


def pictures(text: str) -> dict[str, str]:
    """The ink of each candidate, by its number."""
    found = re.findall(r'data-candidate="(\d+)".*?<g class="ink">(.*?)</g>', text, re.S)
    return dict(found)


@pytest.mark.parametrize("kind", ["cloud", "lightning", "filigree"])
def test_sketches_come_first_then_the_drawings_and_these_are_kept(client: TestClient, store: Store,
                                                                  gap: tuple[str, str], kind: str) -> None:
    at, key = gap
    asked = {"for": key, "kind": kind, "mode": "tie-in"}
    first = client.post(at + "/candidates", data=asked).text
    assert 'data-finished=""' in first and 'aria-busy="true"' in first and len(pictures(first)) == 3
    last = client.post(at + "/candidates", data={**asked, "finished": "1"}).text
    assert 'data-finished="1"' in last and "aria-busy" not in last
    assert pictures(last).keys() <= pictures(first).keys() and pictures(last) != pictures(first)
    number = next(iter(pictures(last)))
    hover = [client.post(at + "/candidate", data={**asked, "index": number, "finished": f}).text for f in ("", "1")]
    assert hover[0] != hover[1] and all('id="piece-proposed"' in h for h in hover)
    done = client.post(at + "/accept", data={**asked, "index": number})
    assert done.status_code == 200
    plan_id = at.split("/")[2]
    filler = next(p for p in store.load(plan_id).plan.pieces if p.is_filler)
    name = re.search(r'data-key="proposed-([0-9a-f]+)"', hover[1])
    assert name and filler.art.startswith(name[1])


def test_what_has_no_sketch_is_drawn_at_once(client: TestClient, gap: tuple[str, str]) -> None:
    at, key = gap
    got = client.post(at + "/candidates", data={"for": key, "kind": "stipple", "mode": "tie-in"}).text
    assert 'data-finished="1"' in got and "data-candidate" in got


def test_the_panel_says_which_sketches_were_not_finished_as_they_were() -> None:
    ring = shapely.box(0, 0, 9, 9)
    recipe = Recipe("cloud", 3, {"way": "bank", "try": 0}, json.loads('{"gap": [[0.0, 100.0]]}'))
    first = [Proposal("cloud", "Cloud", Drawing.of(ring, ()), 0.0, 100.0, recipe, number=n) for n in range(3)]
    assert not_as_sketched(first, first) == ""
    other = replace(first[1], recipe=replace(recipe, params={"way": "bank", "try": 1}))
    assert not_as_sketched(first, [first[0], other, first[2]]) == (
        "One sketch could not be finished within the rules; another drawing took its place.")
    assert not_as_sketched(first, [first[0]]) == (
        "2 sketches could not be finished within the rules; they are left out.")
    assert not_as_sketched([], first) == ""
