"""The wide sheet of both shoulders with the chest: gaps over the seams, one theme, brush, best places, overlays."""

from __future__ import annotations

import html
import json
import re
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

sys.path.insert(0, str(Path(__file__).parents[1] / "filler"))
from drawn_once import ONCE

from composer.art.drawing import Drawing, Layer
from composer.plan.options import musts_of, options_on
from composer.plan.over_joins import seen_on
from composer.sheets.wide_art import wide_of
from composer.store.store import Store
from web.pages import options as pages
from web.places import PART_NAMES

PARTS = ("left_arm", "right_arm", "chest")


@pytest.fixture
def wide(store: Store, shoulders: str) -> str:
    """Both arms and the chest taped, a piece on the chest and one on each arm near the armhole."""
    pid = shoulders
    ring = np.array([[-16.0, -20.0], [16.0, -20.0], [16.0, 20.0], [-16.0, 20.0]])
    art = store.keep_drawing(Drawing((ring,), (Layer("line", (ring, ring * 0.9)),)))
    for n, (part, u, s) in enumerate((("chest", 0.115, 235.0), ("left_arm", 0.12, 455.0), ("right_arm", -0.12, 455.0))):
        store.commit(pid, {"do": "place", "piece": {"id": f"b{n}", "part": part, "art": art, "title": f"Buoy {n}",
                                                    "u": u, "s_mm": s}})
    return pid


def at(pid: str, what: str = "") -> str:
    return f"/plans/{pid}/desk/shoulders{what}"


def refresh(client: TestClient, pid: str, **more: str) -> str:
    return client.post(at(pid, "/refresh"), data={"mode": "tie-in", "gaps": "1", **more}).text


def seam_keys(text: str, kind: str = "gap") -> list[str]:
    return list(dict.fromkeys(re.findall(rf'class="{kind}[^"]*" data-goal="(seam:[^"]+)"', text)))


def test_a_gap_over_the_armhole_is_filled_by_one_piece_of_both_parts(client: TestClient, store: Store,
                                                                                wide: str) -> None:
    keys = seam_keys(refresh(client, wide))
    assert len(keys) >= 4 and all(k.startswith("seam:shoulders:") for k in keys)
    opened = html.unescape(refresh(client, wide, goal=keys[0]))
    assert "armhole, front" in opened and "of open skin" in opened and 'data-kind="cloud"' in opened
    send = {"for": keys[0], "kind": "cloud", "seed": "3", "mode": "tie-in"}
    picks = client.post(at(wide, "/candidates"), data=send).text
    assert picks.count("<svg") >= 1
    shown = client.post(at(wide, "/candidate"), data={**send, "index": "0"})
    assert shown.status_code == 200 and shown.text.startswith("<g")
    assert client.post(at(wide, "/accept"), data={**send, "index": "0"}).status_code == 200
    plan = store.load(wide).plan
    piece = next(p for p in plan.pieces if p.is_filler)
    assert piece.part == "chest" and piece.recipe is not None and piece.recipe.goal["seam"].endswith("armhole, front")
    arm = f"{piece.recipe.goal['seam'].split()[0]}_arm"
    assert piece.id in seen_on(plan, arm, store.gallery).leaning
    page = client.get(f"/plans/{wide}/tie-in/shoulders").text
    (group,) = re.findall(rf'<g class="piece[^>]*id="piece-{piece.id}".*?(?=<g class="piece|</svg>)', page, re.S)
    assert 'url(#strip-chest)' in group and f'url(#strip-{arm})' in group
    again = client.post(at(wide, "/remake"), data={"id": piece.id, "another": "1", "mode": "tie-in"})
    assert again.status_code == 200
    assert store.load(wide).plan.piece(piece.id).recipe.goal["seam"] == piece.recipe.goal["seam"]  # type: ignore[union-attr]


def over_the_armhole(client: TestClient, store: Store, pid: str, kind: str = "cloud", beside: str = "") -> str:
    """A filler over the armhole, beside a piece when that is wanted; its id."""
    for key in seam_keys(refresh(client, pid)):
        send = {"for": key, "kind": kind, "seed": "3", "mode": "tie-in", "index": "0"}
        if client.post(at(pid, "/accept"), data=send).status_code == 200:
            piece = next(p for p in store.load(pid).plan.pieces if p.is_filler)
            if piece.recipe and f"{beside}:" in piece.recipe.params.get("beside", "") + (":" if not beside else ""):
                return piece.id
            client.post(at(pid, "/undo"), data={"mode": "tie-in"})
    raise AssertionError("no such gap")


def test_a_filler_over_the_armhole_has_grips_on_both_parts_and_follows_them(client: TestClient, store: Store,
                                                                            wide: str) -> None:
    piece_id = over_the_armhole(client, store, wide)
    grips = client.get(at(wide, "/handles"), params={"id": piece_id}).json()
    assert grips["kinds"] == ["stream", "edge"] and not grips["pulled"]
    arm = {p for *_, p in grips["edge"]} - {"chest"}
    assert len(arm) == 1 and {"chest"} < {p for *_, p in grips["edge"]}
    sheet = wide_of(store.load(wide).plan, "shoulders")
    shown = np.concatenate([sheet.part(p).to_wide(np.array([[u, s]])) for u, s, p in grips["edge"]])
    assert np.ptp(shown, axis=0).max() < 200, "they lie where the sheet shows the parts"
    before = store.load(wide).plan.piece(piece_id)

    def send(places: list[list[object]], what: str = "edge") -> dict[str, str]:
        return {"id": piece_id, "what": what, "places": json.dumps(places), "mode": "tie-in"}

    out = [[u + 0.012 * np.sign(u) * (p != "chest"), s, p] for u, s, p in grips["edge"]]
    assert client.post(at(wide, "/handles/try"), data=send(out)).json() == {"ok": True}
    assert store.load(wide).plan.piece(piece_id) == before
    assert client.post(at(wide, "/handles/keep"), data=send(out)).status_code == 200
    now = store.load(wide).plan.piece(piece_id)
    assert now.art != before.art and now.recipe and before.recipe and now.recipe.goal == before.recipe.goal
    again = client.get(at(wide, "/handles"), params={"id": piece_id}).json()
    same = [(a, b) for a, b in zip(again["edge"], out, strict=True) if a[2] == b[2]]
    assert again["pulled"] and len(same) > 0.9 * len(out), "but for what was pulled over the seam"
    assert all(a[:2] == pytest.approx(b[:2], abs=0.03) for a, b in same)
    own = client.get(f"/plans/{wide}/desk/chest/handles", params={"id": piece_id}).json()
    assert len(own["edge"][0]) == 2 and own["kinds"] == grips["kinds"], "the chest's own sheet has them too"
    wrong = client.post(at(wide, "/handles/try"), data=send([[0.1, 200, "left_leg"]] * 4)).json()
    assert not wrong["ok"] and "lies off the skin" in wrong["sentence"]
    assert not client.post(at(wide, "/handles/try"), data=send([["x"]] * 4)).json()["ok"]  # type: ignore[list-item]
    assert client.post(at(wide, "/handles/back"), data={"id": piece_id, "mode": "tie-in"}).status_code == 200
    assert store.load(wide).plan.piece(piece_id).art == before.art, "back as it was proposed"


def test_a_neighbour_that_moved_has_the_filler_over_the_armhole_drawn_again(client: TestClient, store: Store,
                                                                            wide: str) -> None:
    piece_id = over_the_armhole(client, store, wide, beside="b1")
    assert "Draw it again round the neighbours" not in refresh(client, wide)
    store.commit(wide, {"do": "change", "pieces": [{"id": "b1", "s_mm": 449.0}]})
    text = refresh(client, wide)
    assert "Draw it again round the neighbours" in text and 'data-around=""' in text
    arm = client.post(f"/plans/{wide}/desk/left_arm/refresh", data={"mode": "tie-in", "gaps": "1"}).text
    assert "Draw it again round the neighbours" in arm, "on the arm's own sheet, where it only reaches in, too"
    assert "Buoy 1" in html.unescape(refresh(client, wide, sel=piece_id))
    before = store.load(wide).plan
    assert client.post(at(wide, "/handles/around"), data={"id": "", "mode": "tie-in"}).status_code == 200
    after = store.load(wide).plan
    assert {p.id for p in after.pieces if after.piece(p.id) != before.piece(p.id)} == {piece_id}
    assert after.piece(piece_id).art != before.piece(piece_id).art
    assert "Draw it again round the neighbours" not in refresh(client, wide)


def test_a_filler_over_the_armhole_is_named_and_drawn_again_when_its_tone_changes(client: TestClient, store: Store,
                                                                                wide: str) -> None:
    key = next(k for k in seam_keys(refresh(client, wide)))
    send = {"for": key, "kind": "cloud", "seed": "3", "mode": "tie-in", "index": "0"}
    assert client.post(at(wide, "/accept"), data=send).status_code == 200
    piece = next(p for p in store.load(wide).plan.pieces if p.is_filler)
    chest = f"/plans/{wide}/desk/chest"
    before = client.post(f"{chest}/shade/again", data={"mode": "tie-in"})
    assert before.status_code == 422 and "as dark as it is to be already" in before.text
    u = piece.u - 0.02 * np.sign(piece.u)
    line = {"id": "a", "points": [[u, 40.0], [u, 330.0]], "side": int(np.sign(u)), "fall_mm": 10.0}
    store.commit(wide, {"do": "shade", "part": "chest", "add": line})
    assert client.post(f"{chest}/shade/again", data={"mode": "tie-in"}).status_code == 200
    again = store.load(wide).plan.piece(piece.id)
    assert again.art != piece.art and again.recipe is not None and piece.recipe is not None
    assert again.recipe.goal == piece.recipe.goal and again.recipe.params["tone"] != piece.recipe.params["tone"]
    assert client.post(f"{chest}/shade/again", data={"mode": "tie-in"}).status_code == 422


def test_a_tie_over_the_armhole_is_listed_with_its_reason_and_marked_as_a_must(client: TestClient, store: Store,
                                                                                wide: str) -> None:
    text = refresh(client, wide)
    (key, *_) = seam_keys(text, "tie main")
    assert "over the left armhole, front" in text
    opened = html.unescape(refresh(client, wide, goal=key))
    assert "a tie here carries one part on into the next" in opened and "Mark as a must" in opened
    marked = client.post(at(wide, "/must"), data={"for": key, "on": "1", "goal": key, "mode": "tie-in"})
    assert marked.status_code == 200 and "A must: the background has to carry it" in marked.text
    ends = tuple(sorted(key.split(":")[-2:]))
    assert musts_of(store.load(wide).plan.part("chest")) == (ends,)
    assert '<span class="must">a must</span>' in refresh(client, wide)
    client.post(at(wide, "/must"), data={"for": key, "on": "0", "mode": "tie-in"})
    assert musts_of(store.load(wide).plan.part("chest")) == ()
    gone = refresh(client, wide, goal="seam:shoulders:0000000000")
    assert "That gap is no longer there" in gone


def test_all_of_the_sheet_is_tied_in_with_one_theme_as_one_step(client: TestClient, store: Store,
                                                                                wide: str) -> None:
    client.app.state.desk.drawers = ONCE  # type: ignore[attr-defined]
    answer = client.post(at(wide, "/whole"), data={"theme": "bank", "seed": "2"}).text
    for _ in range(600):
        if "fillers" in answer or "warn" in answer:
            break
        link = re.search(r'hx-get="([^"]+/whole/[^"]+)"', answer)
        assert link, answer
        time.sleep(0.2)     # the work is done beside the page; its state is asked for as the page does
        answer = client.get(html.unescape(link.group(1))).text
    assert re.search(r"\d+ fillers, \d+ of them over the armholes", answer), answer
    plan = store.load(wide).plan
    fillers = [p for p in plan.pieces if p.is_filler]
    assert {p.part for p in fillers} == set(PARTS) and {p.recipe.kind for p in fillers if p.recipe} == {"cloud"}
    assert sum("seam" in p.recipe.goal for p in fillers if p.recipe) >= 4
    client.post(at(wide, "/undo"), data={"mode": "tie-in"})
    assert not any(p.is_filler for p in store.load(wide).plan.pieces)


def done(client: TestClient, text: str) -> str:
    """The state of work beside the page once it has ended, asked for as the page does."""
    for _ in range(900):
        if "data-finished" in text:
            return text
        link = re.search(r'hx-get="([^"]+/whole/[^"]+)"', text)
        assert link, text
        time.sleep(0.2)
        text = client.get(html.unescape(link.group(1))).text
    raise AssertionError("the search did not end")


def test_backgrounds_over_arms_chest_and_seams_are_found_shown_taken_undone_and_let_go(
        client: TestClient, store: Store, wide: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pages, "ROUNDS", 0)
    monkeypatch.setattr(pages, "COUNT", 1)
    client.app.state.desk.drawers = ONCE  # type: ignore[attr-defined]
    before = [over_the_armhole(client, store, wide)]
    asked = {"theme": "bank", "find": "1", "seed": "2"}
    text = done(client, client.post(at(wide, "/whole"), data=asked).text)
    assert 'data-finished="kept"' in text and "to choose from" in text
    plan = store.load(wide).plan
    options = options_on(plan, "shoulders")
    assert options and [p.id for p in plan.pieces if p.is_filler] == before
    page = refresh(client, wide)
    for o in options:
        assert {p.part for p in o.pieces} == set(PARTS) and o.figures["reach"] > 0.5
        assert sum("seam" in p.recipe.goal for p in o.pieces if p.recipe) >= 4
        assert f'data-take="{o.id}"' in page
        svg = client.get(at(wide, f"/options/{o.id}.svg")).text
        assert svg.startswith("<svg") and svg.count("<g class=\"piece") == len(o.pieces) + 3
        assert all(f"url(#strip-{part})" in svg for part in PARTS)
    one = options[-1]
    assert client.post(at(wide, "/take"), data={"option": one.id, "mode": "tie-in"}).status_code == 200
    laid = [p for p in store.load(wide).plan.pieces if p.is_filler]
    assert sorted((p.part, p.art) for p in laid) == sorted((p.part, p.art) for p in one.pieces)
    again = client.post(at(wide, "/take"), data={"option": one.id, "mode": "tie-in"})
    assert again.status_code == 200
    laid = [p for p in store.load(wide).plan.pieces if p.is_filler]
    assert len(laid) == len(one.pieces), "the one takes the other's place"
    client.post(at(wide, "/undo"), data={"mode": "tie-in"})
    client.post(at(wide, "/undo"), data={"mode": "tie-in"})
    assert [p.id for p in store.load(wide).plan.pieces if p.is_filler] == before
    client.post(at(wide, "/drop"), data={"option": one.id, "mode": "tie-in"})
    assert one.id not in [o.id for o in options_on(store.load(wide).plan, "shoulders")]
    assert client.get(at(wide, f"/options/{one.id}.svg")).status_code == 404


def test_a_stopped_search_over_the_sheet_keeps_the_best_so_far(client: TestClient, store: Store, wide: str) -> None:
    text = client.post(at(wide, "/whole"), data={"theme": "bank", "find": "1", "others": "1"}).text
    link = html.unescape(re.search(r'hx-get="([^"]+/whole/[^"]+)"', text).group(1))  # type: ignore[union-attr]
    for _ in range(900):
        share = re.search(r'value="(\d+)"', client.get(link).text)
        if share is None or int(share[1]) > 2:
            break
        time.sleep(0.05)
    text = done(client, client.post(link + "/stop").text)
    assert "Stopped early: the best so far is kept" in text
    assert len(options_on(store.load(wide).plan, "shoulders")) >= 1


def test_the_brush_paints_on_the_part_under_it(client: TestClient, store: Store,
                                                                                wide: str) -> None:
    sheet = wide_of(store.load(wide).plan, "shoulders")
    arm = sheet.part("left_arm")
    line = arm.to_wide(np.column_stack([np.linspace(0.2, 0.3, 9), np.full(9, arm.limb.s_max + 8.0)]))   # the crescent
    text = html.unescape(client.post(at(wide, "/brush"), data={
        "stroke": json.dumps(line.tolist()), "width": "20", "mode": "tie-in"}).text)
    key = re.search(r"brush:left_arm:20:[-\d.,;]+", text)
    assert key and "Painted by hand" in text
    send = {"for": key.group(0), "kind": "cloud", "seed": "1", "index": "0", "mode": "tie-in"}
    assert client.post(at(wide, "/accept"), data=send).status_code == 200
    piece = next(p for p in store.load(wide).plan.pieces if p.is_filler)
    assert piece.part == "left_arm" and piece.recipe is not None and piece.recipe.goal["joined"]
    off = client.post(at(wide, "/brush"), data={"stroke": "[[0, 900], [5, 900]]", "width": "20", "mode": "tie-in"})
    assert off.status_code == 422 and "beside the skin" in off.text


def test_overlays_are_those_of_the_parts_each_where_it_shows(client: TestClient, wide: str) -> None:
    assert '<option value="zones">' in client.get(f"/plans/{wide}/compose/shoulders").text
    for what, choice, parts, only in (
            ("stretch", "relaxed", 3, ""), ("zones", "pain", 3, ""), ("seen", "left side", 3, ""),
            ("seen", "back", 2, "arms"), ("stretch", "bent", 2, "arms"), ("stretch", "breathed in", 1, "chest"),
            ("stretch", "arm raised", 3, "")):
        got = client.get(at(wide, "/tint"), params={"what": what, "choice": choice}).json()
        assert got["svg"].count("url(#strip-") == parts and got["choice"] == choice
        assert (f"Here of the {only} only" in got["legend"]) == (parts < 3)
    table = client.get(at(wide, "/table?what=stretch")).text
    assert all(f"Buoy {n}" in table for n in range(3))
    assert all(f">{p}</th>" in table for p in ("Flexed", "Bent", "Breathed in", "Arm raised"))


def test_zones_of_all_parts_of_a_wide_sheet_stand_in_one_table_and_can_be_changed(client: TestClient, store: Store,
                                                                                 wide: str) -> None:
    table = client.get(at(wide, "/table?what=zones")).text
    assert "Right collarbone" in table and table.count("Shoulder cap") == 2
    for name, part, zone in (("chest/ribs_left:pain", "chest", "ribs_left"), ("left_arm/cap:pain", "left_arm", "cap")):
        assert client.post(at(wide, "/zone"), data={"name": name, "value": "2"}).status_code == 200
        assert store.load(wide).plan.part(part).extra["zones"] == {zone: {"pain": 2.0}}
    refused = client.post(at(wide, "/zone"), data={"name": "nowhere/cap:pain", "value": "2"})
    assert refused.status_code == 422


def test_best_places_are_looked_for_on_chest_and_both_arms_as_far_as_they_show(client: TestClient, store: Store,
                                                                                wide: str) -> None:
    goal = "best:motif:moth"
    assert "on chest and arms" in client.post(at(wide, "/refresh"), data={"mode": "compose", "goal": goal}).text
    text = html.unescape(client.get(at(wide, "/best"), params={"for": goal}).text)
    offers = [json.loads(o) for o in re.findall(r"data-best='([^']+)'", text)]
    assert len(offers) == 5 and {o["on"] for o in offers} == {"left_arm", "right_arm", "chest"}
    low = {p.part: p.s_from_mm for p in wide_of(store.load(wide).plan, "shoulders").parts}
    assert all(o["s"] >= low[o["on"]] for o in offers) and "Left arm, " in text
    group = client.get(at(wide, "/best/group"), params={"for": goal, **offers[0]})
    assert group.status_code == 200 and 'id="piece-best"' in group.text
    assert re.search(rf"{PART_NAMES['chest']}, (gap \d+, )?client's (left|right) ", text)
    took = client.post(at(wide, "/best/take"), data={"for": goal, "mode": "compose", **offers[0]})
    new = store.load(wide).plan.pieces[-1]
    assert took.status_code == 200 and (new.part, new.u) == (offers[0]["on"], pytest.approx(offers[0]["u"]))


def test_a_piece_of_the_chest_is_offered_room_and_places_there(client: TestClient, store: Store, wide: str) -> None:
    art = store.load(wide).plan.pieces[0].art
    store.commit(wide, {"do": "place", "piece": {"id": "near", "part": "chest", "art": art, "title": "Mooring",
                                                 "u": 0.13, "s_mm": 250.0}})
    panel = html.unescape(client.post(at(wide, "/refresh"), data={"mode": "compose", "sel": "near"}).text)
    assert 'data-ask-best="near"' in panel
    for sheet in ("shoulders", "chest"):
        text = html.unescape(client.get(f"/plans/{wide}/desk/{sheet}/best", params={"for": "best:piece:near"}).text)
        offers = [json.loads(o) for o in re.findall(r"data-best='([^']+)'", text)]
        assert "What makes room" in text and "Move it" in text and len(offers) >= 6
        assert {o["on"] for o in offers} == {"chest"} and text.count("<svg") == len(offers)
    client.post(f"/plans/{wide}/desk/chest/best/take", data={"for": "best:piece:near", "mode": "compose", **offers[0]})
    moved = next(p for p in store.load(wide).plan.pieces if p.id == "near")
    assert (moved.part, moved.u) == ("chest", pytest.approx(offers[0]["u"]))
