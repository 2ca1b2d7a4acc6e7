"""The board of a part: bars that add up, words for each, thresholds that can be changed and say what they are."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from starlette.testclient import TestClient

from composer.compose.fit_limits import Limits, limits_of
from composer.compose.fit_readings import NAMES, Mark, PieceFit
from composer.store.store import Store
from web import board, findings
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
    said = re.search(r"Pieces take up (\d+)% of .*? background (\d+)%, (\d+)% is bare", text)
    assert [int(n) for n in said.groups()] == cover
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


def a_fit(name: str, **levels: str) -> PieceFit:
    """A piece with readings of these levels."""
    marks = tuple(Mark(n, 0.2 if n == "lines" else 0.5, "mm", levels.get(n, ""), f"{n}.") for n in NAMES)
    return PieceFit(name, name, marks, None, (), None)


def test_what_to_look_at_is_ranked_and_narrow_gaps_are_told_in_one_sentence() -> None:
    """Gaps between lines alone put no piece on the list, and no piece with other trouble is left off it."""
    fits = [a_fit("only lines", lines="strong"), a_fit("one", flex="warn", lines="warn"), a_fit("well"),
            a_fit("worst", flex="strong", size="strong", lines="strong"), a_fit("bad", bone="strong", size="warn"),
            a_fit("less", tilt="strong")]
    assert [(r.id, r.level) for r in board.look_first(fits, "cm")] == [
        ("worst", "strong"), ("bad", "strong"), ("less", "strong"), ("one", "warn")]
    assert [r.id for r in board.narrow_first(fits)] == ["only lines", "worst", "one"]
    said = board.say_narrow(fits, Limits())
    assert "in 2 of 6 pieces" in said and "under 1 mm" in said and "in 1 more" in said
    assert board.say_narrow([a_fit("well")], Limits()) == ""
    assert "in the piece many gaps" in board.say_narrow([a_fit("x", lines="strong")], Limits())


def test_more_than_a_few_are_folded_away_and_none_is_left_out(client: TestClient, plan_id: str, store: Store) -> None:
    moth = next(m for m in store.shelf() if m.id == "moth")
    for k in range(8):
        store.commit(plan_id, {"do": "place", "piece": {
            "id": f"m{k}", "part": "left_arm", "art": moth.digest, "title": f"Moth {k}", "motif": "moth",
            "u": 0.25 * (k % 4), "s_mm": 150.0 + 120 * (k // 4), "scale": 0.2}})
    text = page(client, plan_id)
    assert "Look at first" in text and "3 more with something to look at" in text
    listed = text[text.index("Look at first"):text.index("Gaps between lines: ")]
    assert set(re.findall(r'data-wide-pick="(m\d)"', listed)) == {f"m{k}" for k in range(8)}
    assert listed.index("3 more") > listed.index('data-wide-pick="m') and listed.count("<details") == 1


def test_bare_skin_is_told_apart_from_gaps_without_background(client: TestClient, laid: str, store: Store) -> None:
    desk = Desk(store)
    kept = store.load(laid)
    view = desk.view(kept.plan, kept.revision, "left_arm")
    b, gaps = board.of(desk, kept, view), findings.of(desk, kept, view).gaps
    share = sum(g.area_mm2 for g in gaps) / b.area_mm2 / b.whole.bare
    assert 0.5 < share < 1
    said = f"Of the bare skin {100 * share:.0f}% lies in {len(gaps)} of {len(gaps)} gaps that are not tied in"
    assert said in page(client, laid) and said in page(client, laid, "?short=1")
    tied = replace(findings.of(desk, kept, view), gaps=tuple(replace(g, filled=True) for g in gaps))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(findings, "of", lambda *_: tied)
        told = board.tied(desk, kept, view, b)
    assert told == (f"All {len(gaps)} gaps are tied in; what is bare is the skin break round what lies in front and "
                    "the skin between lines of background.")


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
