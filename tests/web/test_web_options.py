"""Several backgrounds to choose among, from the button to the sheet, and ties marked as musts."""

from __future__ import annotations

import re
import time

import numpy as np
import pytest
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.plan.options import musts_of, options_of
from composer.store.store import Store
from web.pages import options as pages

AT = "/plans/{}/desk/left_arm"


@pytest.fixture
def three(store: Store, plan_id: str) -> str:
    """Three upright bars on the upper half of the arm, and one that keeps the lower half from being open."""
    def bar(w: float, h: float) -> str:
        ring = np.array([[-w, -h], [w, -h], [w, h], [-w, h]]) / 2
        return store.keep_drawing(Drawing((ring,), (Layer("line", (ring, ring * 0.9)),)))

    tall = bar(50, 150)
    for name, u in (("a", 0.0), ("b", 0.33), ("c", 0.67)):
        store.commit(plan_id, {"do": "place", "piece": {"id": name, "part": "left_arm", "art": tall,
                                                        "title": f"Pile {name}", "u": u, "s_mm": 330.0}})
    return plan_id


def found(client: TestClient, pid: str, **data: str) -> str:
    got = client.post(AT.format(pid) + "/whole", data={"theme": "gale", "find": "1", **data})
    job = None
    for _ in range(600):
        if "data-finished" in got.text:
            assert job
            first = client.get(f"{AT.format(pid)}/whole/{job[1]}/first.svg")
            assert first.headers["content-type"].startswith("image/svg") and 'data-id="first0"' in first.text
            return got.text
        job = re.search(r"/whole/(\w+)", got.text)
        assert job, got.text
        time.sleep(0.2)
        got = client.get(f"{AT.format(pid)}/whole/{job[1]}")
    raise AssertionError("the search did not end")


def test_backgrounds_are_found_shown_taken_undone_and_let_go(client: TestClient, store: Store, three: str,
                                                             monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pages, "ROUNDS", 0)
    monkeypatch.setattr(pages, "COUNT", 2)
    text = found(client, three)
    assert 'data-finished="kept"' in text and "to choose from" in text
    plan = store.load(three).plan
    options = options_of(plan.part("left_arm"))
    assert options and all(o.title == "Wind all the way" and o.figures["reach"] > 0.5 for o in options)
    assert not any(p.is_filler for p in plan.pieces)

    page = client.post(AT.format(three) + "/refresh", data={"mode": "tie-in"}).text
    for o in options:
        assert f'data-take="{o.id}"' in page
        svg = client.get(f"{AT.format(three)}/options/{o.id}.svg")
        assert svg.status_code == 200 and svg.text.startswith("<svg")
        assert svg.text.count('class="piece') == len(o.pieces) + 3

    one = options[-1]
    client.post(AT.format(three) + "/take", data={"option": one.id, "mode": "tie-in"})
    laid = [p for p in store.load(three).plan.pieces if p.is_filler]
    assert [p.art for p in laid] == [p.art for p in one.pieces]
    assert max(p.depth for p in laid) < min(p.depth for p in plan.pieces)
    client.post(AT.format(three) + "/undo", data={})
    assert not any(p.is_filler for p in store.load(three).plan.pieces)

    client.post(AT.format(three) + "/drop", data={"option": one.id})
    left = options_of(store.load(three).plan.part("left_arm"))
    assert one.id not in [o.id for o in left]
    gone = client.post(AT.format(three) + "/take", data={"option": one.id, "mode": "tie-in"})
    assert gone.status_code == 422 and "no longer kept" in gone.text
    assert client.get(f"{AT.format(three)}/options/{one.id}.svg").status_code == 404


def test_a_stopped_search_keeps_the_best_so_far(client: TestClient, store: Store, three: str) -> None:
    got = client.post(AT.format(three) + "/whole", data={"theme": "gale", "find": "1", "others": "1"})
    job = re.search(r"/whole/(\w+)", got.text)
    assert job
    at = f"{AT.format(three)}/whole/{job[1]}"
    for _ in range(600):
        share = re.search(r'value="(\d+)"', client.get(at).text)
        if share is None or int(share[1]) > 2:
            break
        time.sleep(0.05)
    text = client.post(at + "/stop").text
    for _ in range(600):
        if "data-finished" in text:
            break
        time.sleep(0.1)
        text = client.get(at).text
    assert "Stopped early" in text
    assert len(options_of(store.load(three).plan.part("left_arm"))) >= 1


def test_a_tie_is_marked_as_a_must_and_freed(client: TestClient, store: Store, three: str) -> None:
    page = client.post(AT.format(three) + "/refresh", data={"mode": "tie-in"}).text
    key = re.search(r'data-goal="(tie:\w+)"', page)
    assert key
    opened = client.post(AT.format(three) + "/must", data={"for": key[1], "on": "1", "goal": key[1], "mode": "tie-in"})
    assert opened.status_code == 200 and "A must: the background has to carry it" in opened.text
    assert len(musts_of(store.load(three).plan.part("left_arm"))) == 1
    assert "a must" in client.post(AT.format(three) + "/refresh", data={"mode": "tie-in"}).text
    client.post(AT.format(three) + "/must", data={"for": key[1], "on": "0", "mode": "tie-in"})
    assert musts_of(store.load(three).plan.part("left_arm")) == ()
    wrong = client.post(AT.format(three) + "/must", data={"for": "tie:gone", "on": "1"})
    assert wrong.status_code == 422 and "no longer there" in wrong.text
