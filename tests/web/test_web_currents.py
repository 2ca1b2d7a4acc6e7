"""How background runs: shown over the sheet, changed by hand."""

from __future__ import annotations

import json
import re

import numpy as np
from starlette.testclient import TestClient

from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.sheet import unroll
from composer.plan.currents import currents_of
from composer.store.store import Store

SHEET = unroll(build_limb("left_arm", dict(TYPICAL_MM)), -0.5)


def kept(store: Store, pid: str):  # type: ignore[no-untyped-def]
    return currents_of(store.load(pid).plan.part("left_arm"))


def dashes(client: TestClient, pid: str) -> np.ndarray:
    """Directions of the dashes on the sheet, degrees 0..180."""
    svg = client.get(f"/plans/{pid}/desk/left_arm/flow.svg").text
    d = re.search(r'class="dash" d="([^"]*)"', svg)
    assert d
    rows = [np.array(re.findall(r"-?[\d.]+", part), float).reshape(-1, 2) for part in d[1].split("M")[1:]]
    way = np.array([r[-1] - r[0] if abs(r[-1] - r[0]).sum() > 1 else r[1:].sum(axis=0) for r in rows])
    return np.degrees(np.arctan2(-way[:, 1], way[:, 0])) % 180


def test_the_flow_is_drawn_and_a_spiral_turns_it(client: TestClient, store: Store, plan_id: str) -> None:
    at = f"/plans/{plan_id}/desk/left_arm"
    before = dashes(client, plan_id)
    assert len(before) > 200
    page = client.post(at + "/currents", data={"spiral": "45", "mode": "tie-in"})
    assert page.status_code == 200 and "45°" in page.text
    turned = (dashes(client, plan_id) - before) % 180
    assert np.median(turned) == np.clip(np.median(turned), 40, 50)
    assert kept(store, plan_id).spiral_deg == 45


def test_a_stroke_is_drawn_listed_deleted_and_undone(client: TestClient, store: Store, plan_id: str) -> None:
    at = f"/plans/{plan_id}/desk/left_arm"
    xy = SHEET.to_flat(np.linspace((-0.1, 200.0), (0.1, 220.0), 30)).round(2).tolist()
    page = client.post(at + "/currents", data={"stroke": json.dumps(xy), "mode": "tie-in"})
    assert "Stroke 1, front, 21 cm up" in page.text
    (u0, s0), (u1, s1) = kept(store, plan_id).strokes[0][0], kept(store, plan_id).strokes[0][-1]
    assert np.allclose([u0, s0, u1, s1], [-0.1, 200, 0.1, 220], atol=0.1)
    assert 'class="own"' in client.get(at + "/flow.svg").text
    client.post(at + "/currents", data={"remove": "0"})
    assert kept(store, plan_id).strokes == ()
    client.post(at + "/undo", data={})
    assert len(kept(store, plan_id).strokes) == 1
    gone = client.post(at + "/currents", data={"remove": "7"})
    assert gone.status_code == 422 and "no longer there" in gone.text
    client.post(at + "/currents", data={"rings": "1"})
    assert kept(store, plan_id).rings
    wrong = client.post(at + "/currents", data={"spiral": "steep"})
    assert wrong.status_code == 422 and "number of degrees" in wrong.text
