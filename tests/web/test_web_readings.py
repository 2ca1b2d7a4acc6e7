"""Readings of the piece that is selected: after the answer, worst first, quiet when all is well."""

from __future__ import annotations

import json
import re

import numpy as np
import pytest
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.compose.fit_readings import fit_piece
from composer.store.store import Store
from web.desk import Desk
from web.fit import of_piece, signed


def square(size: float) -> Drawing:
    ring = np.array([[-size, -size], [size, -size], [size, size], [-size, size]]) / 2
    return Drawing((ring,), (Layer("black", (ring * 0.9,)),))


@pytest.fixture
def laid(store: Store, plan_id: str) -> str:
    """A small square in the middle of the forearm, and one over the elbow, 90 mm wide."""
    for name, size, u, s in (("calm", 30.0, 0.25, 130.0), ("joint", 90.0, 0.5, 255.0)):
        store.commit(plan_id, {"do": "place", "piece": {
            "id": name, "part": "left_arm", "art": store.keep_drawing(square(size)), "title": f"The {name} one",
            "u": u, "s_mm": s}})
    return plan_id


def read(client: TestClient, pid: str, piece: str) -> str:
    got = client.get(f"/plans/{pid}/desk/left_arm/fit", params={"piece": piece})
    assert got.status_code == 200
    return got.text


def test_readings_come_after_the_answer_and_not_with_it(client: TestClient, laid: str) -> None:
    text = client.post(f"/plans/{laid}/desk/left_arm/refresh", data={"sel": "joint"}).text
    found = re.search(r'id="fit"[^>]*data-later="([^"]+)"', text)
    assert found and "piece=joint" in found[1] and "class=\"read" not in text
    rev = int(re.search(r"rev=(\d+)", found[1])[1])
    step = json.dumps({"do": "change", "pieces": [{"id": "joint", "s_mm": 250.0}]})
    text = client.post(f"/plans/{laid}/desk/left_arm/step", data={"sel": "joint", "step": step}).text
    assert f"rev={rev + 1}" in text


def test_the_worst_stands_first_and_what_is_well_is_folded_away(client: TestClient, laid: str) -> None:
    text = read(client, laid, "joint")
    bad = re.search(r'id="reads-bad">(.*?)</ul>', text, re.S)
    assert bad and "Joint lines" in bad[1] and "Skin in motion" in bad[1]
    levels = re.findall(r'<li class="read (\w+)"', bad[1])
    assert levels == sorted(levels, key=["strong", "warn"].index) and len(levels) >= 2
    good = text[text.index('id="reads-good"'):]
    assert 'class="read "' in good and "Joint lines" not in good
    every = re.findall(r'class="what">([^<]+)', text)
    assert len(every) == 11 == len({e.strip() for e in every})


def test_a_piece_that_reads_well_gets_a_good_mark_and_no_warnings(client: TestClient, laid: str) -> None:
    text = read(client, laid, "calm")
    assert "It reads well here" in text and "tick-mark" in text and "reads-bad" not in text
    assert "11 readings are well" in text


def test_every_reading_says_its_number_with_a_unit_and_why(client: TestClient, laid: str) -> None:
    rows = re.findall(r'class="figure">([^<]*)</span><p>([^<]+)</p>', read(client, laid, "joint"))
    assert len(rows) == 11 and all(s.endswith(".") for _, s in rows)
    assert all(re.fullmatch(r"[+\u2212]?\d+(\.\d+)?(%|\u00b0| mm| cm)", n) for n, _ in rows if n)
    assert sum(bool(n) for n, _ in rows) >= 7


def test_the_poses_are_told_apart_and_the_worst_is_marked(client: TestClient, store: Store, laid: str) -> None:
    desk = Desk(store)
    kept = store.load(laid)
    view = desk.view(kept.plan, kept.revision, "left_arm")
    shown = of_piece(desk, kept, view, "joint")
    assert [p.pose for p in shown.poses] == ["relaxed", "flexed", "bent", "arm raised"]
    worst = next(p for p in shown.poses if p.worst)
    assert worst.pose == "bent"
    flex = fit_piece(view.scene, "joint").mark("flex").value
    assert flex is not None and abs(worst.value) == pytest.approx(abs(flex), abs=0.02)
    assert f'value="bent" data-words="{worst.words}" checked' in read(client, laid, "joint")


def test_readings_are_kept_until_the_plan_changes(store: Store, laid: str) -> None:
    desk = Desk(store)
    kept = store.load(laid)
    view = desk.view(kept.plan, kept.revision, "left_arm")
    assert of_piece(desk, kept, view, "calm") is of_piece(desk, kept, view, "calm")
    kept2 = store.commit(laid, {"do": "settings", "set": {"thresholds": {"flex_warn": 0.01, "flex_strong": 0.02}}})
    view2 = desk.view(kept2.plan, kept2.revision, "left_arm")
    now = of_piece(desk, kept2, view2, "calm")
    assert [r.name for r in now.bad] == ["flex"] and now.bad[0].level == "strong"


def test_what_is_gone_or_is_background_gets_a_sentence(client: TestClient, laid: str) -> None:
    assert "no longer here" in read(client, laid, "nothing")
    assert "no longer here" in read(client, laid, "<b>")


def test_strains_are_written_with_their_sign() -> None:
    assert [signed(v) for v in (0.071, -0.313, 0.002)] == ["+7%", "\u221231%", "0%"]
