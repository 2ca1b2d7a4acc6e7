"""A change that says `soon` is answered with its picture alone; a refusal is answered whole."""

from __future__ import annotations

import json
import re

import numpy as np
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.store.store import Store


def test_the_picture_comes_first_and_a_refusal_is_whole(client: TestClient, store: Store, plan_id: str) -> None:
    ring = np.array([[-15.0, -15.0], [15.0, -15.0], [15.0, 15.0], [-15.0, 15.0]])
    art = store.keep_drawing(Drawing((ring,), (Layer("line", (ring, ring * 0.9)),)))
    for name, u in (("a", 0.0), ("b", 0.3)):
        store.commit(plan_id, {"do": "place", "piece": {"id": name, "part": "left_arm", "art": art,
                                                        "title": f"Square {name}", "u": u, "s_mm": 200.0}})
    at = f"/plans/{plan_id}/desk/left_arm"
    have = dict(re.findall(r'data-id="([^"]+)" data-key="([^"]+)"', client.post(f"{at}/refresh").text))

    def move(piece: str) -> tuple[int, str, dict]:
        step = {"do": "change", "pieces": [{"id": piece, "s_mm": 240.0}]}
        got = client.post(f"{at}/step", data={"step": json.dumps(step), "soon": "1", "have": json.dumps(have)})
        data = re.search(r'id="desk-data"[^>]*>(.*?)</script>', got.text, re.S)
        return got.status_code, got.text, json.loads(data[1])

    status, text, data = move("b")
    assert status == 200 and data["soon"] is True and "labels" not in data
    assert re.findall(r'id="piece-(\w+)"', text) == ["b"]
    assert 'id="undo-bar"' in text and "Undo: move" in text
    assert not re.search(r'id="(panel|lists|overlay|notice)"', text)
    assert next(p for p in data["pieces"] if p["id"] == "b")["s"] == 240.0

    status, text, data = move("nobody")
    assert status == 422 and "soon" not in data and "labels" in data
    assert re.search(r'<p id="notice"[^>]*>[^<]+</p>', text) and 'id="panel"' in text
