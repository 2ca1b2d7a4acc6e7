"""The wide sheet of both shoulders with the chest: gaps over the seams, one theme, brush, best places, overlays."""

from __future__ import annotations

import html
import json
import re
import time

import numpy as np
import pytest
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.plan.over_joins import seen_on
from composer.sheets.wide_art import wide_of
from composer.store.store import Store
from web.places import PART_NAMES

PARTS = {"left_arm": TYPICAL_MM, "right_arm": TYPICAL_MM, "chest": PANEL_TYPICAL_MM["chest"]}


@pytest.fixture
def wide(store: Store) -> str:
    """Both arms and the chest taped, a piece on the chest and one on each arm near the armhole."""
    pid = store.create("Both shoulders")
    for part, mm in PARTS.items():
        store.commit(pid, {"do": "measure", "part": part, "measures": dict(mm)})
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


def test_a_tie_over_the_armhole_is_listed_with_its_reason(client: TestClient, wide: str) -> None:
    text = refresh(client, wide)
    (key, *_) = seam_keys(text, "tie main")
    assert "over the left armhole, front" in text
    opened = html.unescape(refresh(client, wide, goal=key))
    assert "a tie here carries one part on into the next" in opened and "Mark as a must" not in opened
    gone = refresh(client, wide, goal="seam:shoulders:0000000000")
    assert "That gap is no longer there" in gone


def test_all_of_the_sheet_is_tied_in_with_one_theme_as_one_step(client: TestClient, store: Store,
                                                                                wide: str) -> None:
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
    for what, choice, parts in (("stretch", "relaxed", 3), ("zones", "pain", 2), ("seen", "outer", 2)):
        got = client.get(at(wide, f"/tint?what={what}&choice={choice}")).json()
        assert got["svg"].count("url(#strip-") == parts and got["choice"] == choice
        assert ("Known for the arms only" in got["legend"]) == (parts == 2)
    table = client.get(at(wide, "/table?what=stretch")).text
    assert all(f"Buoy {n}" in table for n in range(3)) and "not known" in table
    assert "open the arm&#39;s own sheet" in client.get(at(wide, "/table?what=zones")).text


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
    assert offers[0]["on"] == "chest" and f"{PART_NAMES['chest']}, " in text
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
