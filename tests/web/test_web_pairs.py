"""Chest and back joined over the side and over the shoulder line: seen, tied in over the seam, printed."""

from __future__ import annotations

import html
import re
import time

import numpy as np
import pytest
import shapely
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.body.joins_wide import PAIRS, WIDE_NAMES
from composer.body.measures import TYPICAL_MM
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.plan.options import options_on
from composer.plan.over_joins import joins_in, seen_on
from composer.sheets.cover import measured_on
from composer.sheets.wide_art import wide_art, wide_of
from composer.store.store import Store
from web.pages import options as pages


@pytest.fixture
def trunk(store: Store) -> str:
    """Chest and back taped, a piece on either side of the left side seam and one on the other half of the chest."""
    pid = store.create("Trunk")
    for part in ("chest", "upper_back"):
        store.commit(pid, {"do": "measure", "part": part, "measures": dict(PANEL_TYPICAL_MM[part])})
    ring = np.array([[-16.0, -20.0], [16.0, -20.0], [16.0, 20.0], [-16.0, 20.0]])
    art = store.keep_drawing(Drawing((ring,), (Layer("line", (ring, ring * 0.9)),)))
    seam = joins_in(store.load(pid).plan)["chest"]["upper_back"]["left side"]["join"]
    (u, s), (v, t) = seam.a.at(0.5)[0], seam.b.at(0.5)[0]
    rows = (("chest", u - 0.045, s), ("upper_back", v + 0.045, t), ("chest", -0.1, 200.0))
    for n, (part, at, up) in enumerate(rows):
        store.commit(pid, {"do": "place", "piece": {"id": f"b{n}", "part": part, "art": art, "title": f"Buoy {n}",
                                                    "u": float(at), "s_mm": float(up)}})
    return pid


def refresh(client: TestClient, pid: str, sheet: str, **more: str) -> str:
    return client.post(f"/plans/{pid}/desk/{sheet}/refresh", data={"mode": "tie-in", "gaps": "1", **more}).text


def test_every_seam_of_chest_and_back_has_a_page_linked_beside_the_body(client: TestClient, store: Store,
                                                                        trunk: str) -> None:
    page = client.get(f"/plans/{trunk}/compose/chest").text
    for name in PAIRS:
        assert f'href="/plans/{trunk}/compose/{name}"' in page and f'aria-label="{WIDE_NAMES[name]}"' in page
        got = client.get(f"/plans/{trunk}/compose/{name}")
        assert got.status_code == 200 and 'id="strip-chest"' in got.text and 'id="strip-upper_back"' in got.text
    left = client.get(f"/plans/{trunk}/compose/left_side").text
    assert 'id="piece-b0"' in left and 'id="piece-b1"' in left and 'id="piece-b2"' not in left, "the near half only"
    only = store.create("Chest alone")
    store.commit(only, {"do": "measure", "part": "chest", "measures": dict(PANEL_TYPICAL_MM["chest"])})
    assert "/compose/left_side" not in client.get(f"/plans/{only}/compose/chest").text


def test_a_gap_and_a_tie_over_the_side_are_tied_in_by_one_drawing_with_grips(client: TestClient, store: Store,
                                                                             trunk: str) -> None:
    text = refresh(client, trunk, "left_side")
    keys = list(dict.fromkeys(re.findall(r'class="gap seam[^"]*" data-goal="(seam:[^"]+)"', text)))
    assert keys and "over the left side" in text and "shoulder line" not in text
    ties = re.findall(r'class="tie main" data-goal="(seam:[^"]+)"', text)
    assert ties, "the two pieces face each other over the seam"
    at = f"/plans/{trunk}/desk/left_side"
    marked = client.post(f"{at}/must", data={"for": ties[0], "on": "1", "goal": ties[0], "mode": "tie-in"})
    assert "A must: the background has to carry it" in marked.text
    send = {"for": ties[0], "kind": "filigree", "seed": "3", "mode": "tie-in", "index": "0"}
    assert client.post(f"{at}/accept", data=send).status_code == 200
    plan = store.load(trunk).plan
    piece = next(p for p in plan.pieces if p.is_filler)
    assert piece.part == "chest" and piece.recipe and piece.recipe.goal["seam"] == "left side"
    assert piece.id in seen_on(plan, "upper_back", store.gallery).leaning
    page = client.get(f"/plans/{trunk}/tie-in/left_side").text
    (group,) = re.findall(rf'<g class="piece[^>]*id="piece-{piece.id}".*?(?=<g class="piece|</svg>)', page, re.S)
    assert "url(#strip-chest)" in group and "url(#strip-upper_back)" in group
    grips = client.get(f"{at}/handles", params={"id": piece.id}).json()
    assert {p for *_, p in grips["edge"]} == {"chest", "upper_back"}
    store.commit(trunk, {"do": "change", "pieces": [{"id": "b1", "s_mm": plan.piece("b1").s_mm + 5.0}]})
    assert "Draw it again round the neighbours" in refresh(client, trunk, "left_side")
    assert client.post(f"{at}/handles/around", data={"id": "", "mode": "tie-in"}).status_code == 200
    assert store.load(trunk).plan.piece(piece.id).art != piece.art
    opened = html.unescape(refresh(client, trunk, "left_side", goal=keys[-1]))
    assert "of open skin" in opened


def test_the_halves_that_show_are_tied_in_as_one_beside_what_stays(client: TestClient, store: Store, trunk: str,
                                                                   monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pages, "ROUNDS", 0)
    monkeypatch.setattr(pages, "COUNT", 1)
    at = f"/plans/{trunk}/desk/left_side"
    text = client.post(f"{at}/whole", data={"theme": "bank", "find": "1", "seed": "2"}).text
    while "data-finished" not in text:
        time.sleep(0.2)    # the work is done beside the page; its state is asked for as the page does
        text = client.get(html.unescape(re.search(r'hx-get="([^"]+/whole/[^"]+)"', text).group(1))).text  # type: ignore[union-attr]
    assert "1 background to choose from" in text, text
    (one,) = options_on(store.load(trunk).plan, "left_side")
    wide = wide_of(store.load(trunk).plan, "left_side")
    assert {p.part for p in one.pieces} == {"chest", "upper_back"}
    assert {p.recipe.goal["seam"] for p in one.pieces if p.recipe and "seam" in p.recipe.goal} == {"left side"}
    for p in one.pieces:
        own = wide.part(p.part)
        assert p.recipe and ("seam" in p.recipe.goal or shapely.dwithin(
            own.strip, shapely.Point(own.to_wide(np.array([[p.u, p.s_mm]]))[0]), 25.0)), "on the near half"
    for _ in range(2):
        assert client.post(f"{at}/take", data={"option": one.id, "mode": "tie-in"}).status_code == 200
        assert sum(p.is_filler for p in store.load(trunk).plan.pieces) == len(one.pieces), "in the place of the same"
    assert client.get(f"{at}/options/{one.id}.svg").text.count('<g class="piece') == len(one.pieces) + 2


def test_what_reaches_in_from_an_arm_is_seen_but_not_held(client: TestClient, store: Store, trunk: str) -> None:
    store.commit(trunk, {"do": "measure", "part": "left_arm", "measures": dict(TYPICAL_MM)})
    plan = store.load(trunk).plan
    seam = joins_in(plan)["chest"]["left_arm"]["left armhole, front"]["join"]
    u, s = seam.sides("left_arm")[0].at(0.25)[0]
    store.commit(trunk, {"do": "place", "piece": {"id": "over", "part": "left_arm", "art": plan.pieces[0].art,
                                                  "title": "Over", "u": float(u), "s_mm": float(s)}})
    page = client.get(f"/plans/{trunk}/compose/left_side").text
    (back, front) = re.findall(r'<g class="guests".*?</g>(?=\s*(?:<g id="pieces"|<path class="skin-edge"))', page, re.S)
    assert "<path" not in back and front.count('<g class="piece') == 1 and "piece-over" not in page
    assert "url(#strip-chest)" in front
    assert client.get(f"/plans/{trunk}/compose/chest").text.count('class="guests"') == 0


def test_it_prints_as_the_screen_shows_it(client: TestClient, store: Store, trunk: str) -> None:
    plan = store.load(trunk).plan
    art = wide_art(plan, "left_side", store.gallery)
    assert {p.piece.id for p in art.pieces} == {"b0", "b1"}
    assert art.border == pytest.approx(wide_of(plan, "left_side").border)
    every = [art, wide_art(plan, "right_shoulder", store.gallery)]
    assert measured_on(plan, every) == ["chest", "upper_back"], "each part's measures once"
    assert client.get(f"/plans/{trunk}/layout.pdf?part=left_side&part=right_shoulder").content[:5] == b"%PDF-"
    for name in PAIRS:
        got = client.get(f"/plans/{trunk}/layout/{name}.svg")
        assert got.status_code == 200 and "<svg" in got.text


def test_where_the_back_is_not_taped_its_sheets_lead_to_the_tape(client: TestClient, store: Store) -> None:
    pid = store.create("Chest alone")
    store.commit(pid, {"do": "measure", "part": "chest", "measures": dict(PANEL_TYPICAL_MM["chest"])})
    for name in PAIRS:
        for mode in ("compose", "tie-in"):
            got = client.get(f"/plans/{pid}/{mode}/{name}", follow_redirects=False)
            assert got.status_code == 303 and got.headers["location"] == f"/plans/{pid}/measure/upper_back?first=1"
        assert f"/{name}" not in client.get(f"/plans/{pid}/compose/chest").text
        assert client.post(f"/plans/{pid}/desk/{name}/refresh", data={"mode": "compose"}).status_code < 500
