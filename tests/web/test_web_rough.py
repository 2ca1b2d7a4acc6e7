"""Whatever is sent, the answer is a sentence: nothing that a form can hold ends in a fault of the server."""

from __future__ import annotations

import json
import sqlite3

import pytest
from starlette.testclient import TestClient

from composer.store.store import Store

DEEP, HALF, HUGE = "[" * 4000, '"\\ud800"', "9" * 5000
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="50mm" viewBox="0 0 50 50"><rect width="40" height="40"/></svg>'


ODD = (
    ("step", {"step": DEEP}), ("step", {"step": f'{{"do": "rename", "title": {HALF}}}'}), ("step", {"have": DEEP}),
    ("step", {"step": f'{{"do": "several", "steps": {"[" * 30 + "]" * 30}}}'}),
    ("step", {"step": f'{{"do": "seam", "part": "left_arm", "u": 1{"0" * 400}}}'}),
    ("trace", {"ring": DEEP}), ("trace", {"ring": f"[[1{'0' * 400}, 2], [3, 4], [5, 6]]"}),
    ("currents", {"stroke": DEEP}), ("currents", {"remove": "\u00b2"}), ("currents", {"remove": HUGE}),
    ("brush", {"stroke": DEEP, "width": "12"}), ("shade", {"stroke": HALF}), ("shade", {"level": HUGE}),
    ("place", {"motif": "lighthouse", "u": "nan", "s": "100", "room": "40"}),
    ("place", {"motif": "lighthouse", "u": "0", "s": "100", "room": "inf"}),
    ("best/take", {"for": "motif:lighthouse", "u": "0", "s": "1e400", "turn": "0", "scale": "1"}))


def test_odd_values_are_answered_in_words(client: TestClient, plan_id: str) -> None:
    for path, form in ODD:
        answer = client.post(f"/plans/{plan_id}/desk/left_arm/{path}", data={"soon": "1", **form})
        assert answer.status_code == 422 and len(answer.text) > 20, (path, form, answer.status_code)
    assert client.get(f"/plans/{plan_id}/export").status_code == 200


def test_a_pictures_page_that_is_no_number_is_the_first(client: TestClient, plan_id: str) -> None:
    for leaf in ("\u00b2", HUGE, "-1"):
        answer = client.post(f"/plans/{plan_id}/bring-in/left_arm", data={"page": leaf}, files={"file": ("a.svg", SVG)})
        assert answer.status_code == 200 and "on the shelf" in answer.json()["sentence"]


def test_a_damaged_plan_is_shown_as_one_and_taken_back(client: TestClient, store: Store, plan_id: str) -> None:
    other = store.create("Lee shore")
    with sqlite3.connect(store.folder / "sleevewright.sqlite") as c:
        c.execute("UPDATE steps SET state=x'00' WHERE plan_id=? AND number=1", (plan_id,))
    c.close()
    home = client.get("/").text
    assert f"/plans/{plan_id}/take-back" in home and f'href="/plans/{other}"' in home
    assert client.get(f"/plans/{plan_id}").status_code == 503
    assert client.post(f"/plans/{plan_id}/take-back", follow_redirects=False).status_code == 303
    assert client.get(f"/plans/{plan_id}", follow_redirects=False).status_code == 303


def test_two_windows_that_change_one_piece_keep_both_changes(client: TestClient, store: Store, plan_id: str) -> None:
    digest = store.add_motif(SVG, "quay.svg").digest
    store.commit(plan_id, {"do": "place", "piece": {"id": "a", "part": "left_arm", "art": digest, "title": "Quay",
                                                    "u": 0.0, "s_mm": 200.0}})
    at = f"/plans/{plan_id}/desk/left_arm/step"

    def post(step: dict) -> int:
        return client.post(at, data={"step": json.dumps(step), "soon": "1"}).status_code

    assert post({"do": "change", "pieces": [{"id": "a", "u": 0.2}]}) == 200
    assert post({"do": "change", "pieces": [{"id": "a", "turn_deg": 30}]}) == 200       # from a window that saw u 0
    piece = store.load(plan_id).plan.piece("a")
    assert (piece.u, piece.turn_deg) == (pytest.approx(0.2), 30)
    assert post({"do": "remove", "ids": ["a"]}) == 200
    gone = client.post(at, data={"step": json.dumps({"do": "change", "pieces": [{"id": "a", "u": 0.4}]})})
    assert gone.status_code == 422 and "deleted in another window" in gone.text
