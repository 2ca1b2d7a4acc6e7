"""The board of a part: bars that add up, words for each, thresholds that can be changed and say what they are."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from composer.compose.fit_limits import Limits, limits_of
from composer.store.store import Store
from web import board
from web.desk import Desk


@pytest.fixture
def laid(store: Store, plan_id: str) -> str:
    shelf = {m.id: m for m in store.shelf()}
    for k, (name, u, s) in enumerate((("heron", 0.0, 330.0), ("crab", 0.02, 110.0), ("moth", 0.5, 200.0))):
        m = shelf[name]
        store.commit(plan_id, {"do": "place", "piece": {
            "id": f"p{k}", "part": "left_arm", "art": m.digest, "title": m.title, "motif": m.id, "u": u, "s_mm": s,
            "scale": m.side["min_mm"] / max(m.width_mm, m.height_mm)}})
    return plan_id


def page(client: TestClient, pid: str, more: str = "") -> str:
    got = client.get(f"/plans/{pid}/desk/left_arm/board{more}")
    assert got.status_code == 200
    return got.text


def test_every_bar_has_its_numbers_and_they_add_up(client: TestClient, laid: str) -> None:
    text = page(client, laid)
    rows = re.findall(r'<tr><th scope="row">([^<]+)</th>(.*?)</tr>', text, re.S)
    assert [r[0] for r in rows] == ["Whole", "Front", "Outer side", "Back", "Inner side"]
    for name, cells in rows:
        numbers = [int(n) for n in re.findall(r"<td>(\d+)</td>", cells)]
        assert len(numbers) in (0, 5) and sum(numbers) in (0, 100), name
    widths = re.findall(r'class="stack tone">(.*?)</div>', text, re.S)
    assert sum(int(w) for w in re.findall(r"flex-basis:(\d+)%", widths[0])) == 100
    cover = [int(n) for n in re.findall(r"<dd>(\d+)%</dd>", text)]
    assert len(cover) == 3 and sum(cover) == 100
    assert 'class="goal" style="left:35.0%;width:35.0%"' in text


def test_words_stand_beside_the_bars(client: TestClient, store: Store, laid: str) -> None:
    desk = Desk(store)
    kept = store.load(laid)
    view = desk.view(kept.plan, kept.revision, "left_arm")
    b = board.of(desk, kept, view)
    text = page(client, laid)
    for topic in ("cover", "tones"):
        for sentence in b.said[topic]:
            assert sentence in text
    assert "Heron on the mud bank" in text and "Main pieces by side" in text
    assert "common practice, no published source" in text


def test_hours_at_the_needle_go_by_the_artists_own_pace(client: TestClient, laid: str) -> None:
    def hours() -> float:
        return float(re.search(r"About ([\d.]+) to [\d.]+ hours for what shows here", page(client, laid))[1])

    usual = hours()
    set_limit(client, laid, "own_pace", "50")
    assert usual > 1 and hours() == pytest.approx(2 * usual, rel=0.1)


def test_pieces_that_need_a_look_can_be_picked(client: TestClient, laid: str, store: Store) -> None:
    store.commit(laid, {"do": "change", "pieces": [{"id": "p1", "scale": 0.2}]})
    text = page(client, laid)
    assert re.search(r'class="row strong" data-wide-pick="p1"><span>Shore crab', text)


def test_an_empty_part_has_a_board_too(client: TestClient, plan_id: str) -> None:
    text = page(client, plan_id)
    assert "No pieces yet" in text and "100%" in text and "tones-table" not in text
    assert "Pieces take up 0%" in page(client, plan_id, "?short=1")


def set_limit(client: TestClient, pid: str, name: str, value: str) -> tuple[int, str]:
    got = client.post(f"/plans/{pid}/desk/left_arm/threshold", data={"name": name, "value": value})
    return got.status_code, got.text


def test_thresholds_are_the_artists_to_change_and_to_take_back(client: TestClient, store: Store, laid: str) -> None:
    assert set_limit(client, laid, "stretch_warn", "7 %")[0] == 200
    assert limits_of(store.load(laid).plan.settings).stretch_warn == pytest.approx(0.07)
    text = page(client, laid)
    assert re.search(r'id="l-stretch_warn"[^>]*value="7" class="changed"', text)
    assert text.count('class="changed"') == 1
    assert set_limit(client, laid, "stretch_warn", "")[0] == 200
    assert limits_of(store.load(laid).plan.settings) == Limits()
    assert set_limit(client, laid, "tilt_warn_deg", "12,5")[0] == 200
    assert limits_of(store.load(laid).plan.settings).tilt_warn_deg == 12.5


@pytest.mark.parametrize(("name", "value", "words"), [
    ("stretch_warn", "x", "is no number"), ("stretch_warn", "-1", "runs from 0 to"), ("nothing", "3", "no threshold"),
    ("stretch_warn", "40", "must not be above"), ("joint_mm", "nan", "runs from 0 to")])
def test_a_threshold_that_cannot_be_gets_a_sentence(client: TestClient, store: Store, laid: str, name: str, value: str,
                                                    words: str) -> None:
    before = store.load(laid).revision
    status, text = set_limit(client, laid, name, value)
    assert status == 422 and words in text and store.load(laid).revision == before


def test_every_threshold_has_a_title_for_the_artist() -> None:
    assert set(board.LIMIT_TITLES) == set(vars(Limits()))
