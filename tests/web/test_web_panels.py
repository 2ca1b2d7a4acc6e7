"""Chest and upper back on the pages: taped, shown, refused with sentences."""

from __future__ import annotations

import json
import re

import numpy as np
import pytest
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM
from composer.body.units import number
from composer.body.yoke import build_panel
from composer.body.yoke_fields import PANEL_FIELDS, PANEL_TYPICAL_MM, PANELS, TRUNK
from composer.plan.extents import INTO_CHEST_MM, extent_of
from composer.sheets.wide_art import wide_of
from composer.store.store import Store
from web.paint.table import paper_grid

UNEVEN = {**PANEL_TYPICAL_MM["chest"], "notch_to_acromion_left": 218.0, "midline_to_crease_left": 178.0,
          "acromion_to_crease_right": 163.0}


def square(size: float = 30.0) -> Drawing:
    ring = np.array([[-size, -size], [size, -size], [size, size], [-size, size]])
    return Drawing((ring,), (Layer("line", (ring, ring * 0.9)),))


def typed(part: str, **other: str) -> dict[str, str]:
    return {n: number(mm, "cm") for n, mm in PANEL_TYPICAL_MM[part].items()} | {"unit": "cm"} | other


@pytest.mark.parametrize("part", PANELS)
def test_a_panel_is_taped_field_by_field_each_with_its_drawing(client: TestClient, plan_id: str, part: str) -> None:
    text = client.get(f"/plans/{plan_id}/measure/{part}").text
    for f in PANEL_FIELDS[part]:
        assert f'name="{f.name}"' in text and f"<title>{f.label}: " in text
    assert "Further girths" not in text and f"/plans/{plan_id}/measure/{part}" in text
    saved = client.post(f"/plans/{plan_id}/measure/{part}", data=typed(part), follow_redirects=False)
    assert saved.status_code == 303 and saved.headers["location"].endswith(f"/compose/{part}")
    body = client.get(f"/plans/{plan_id}/measure/left_arm").text
    other = next(p for p in PANELS if p != part)
    assert f"/plans/{plan_id}/measure/{part}" in body and f"/plans/{plan_id}/measure/{other}" in body


def test_measures_that_make_no_chest_are_refused_in_words(client: TestClient, store: Store, plan_id: str) -> None:
    got = client.post(f"/plans/{plan_id}/measure/chest", data=typed("chest", acromion_to_crease_left="95"),
                      headers={"hx-request": "true"})
    assert got.status_code == 422 and 'aria-invalid="true"' in got.text and "Nothing was saved yet" in got.text
    assert [p.name for p in store.load(plan_id).plan.parts] == ["left_arm"]
    assert client.get(f"/plans/{plan_id}/measure/tail").status_code == 404


def test_the_other_side_of_the_trunk_gives_only_what_both_share(client: TestClient, plan_id: str) -> None:
    client.post(f"/plans/{plan_id}/measure/chest", data=typed("chest"))
    text = client.post(f"/plans/{plan_id}/measure/upper_back/copy", data={"unit": "cm"}).text
    values = dict(re.findall(r'name="(\w+)" inputmode="decimal"[^>]* value="([^"]*)"', text))
    assert {n for n, v in values.items() if v} == set(TRUNK)
    assert values["chest_girth"] == number(PANEL_TYPICAL_MM["chest"]["chest_girth"], "cm")


def test_while_typing_the_chest_is_drawn_from_the_front_and_unrolled(client: TestClient, plan_id: str) -> None:
    text = client.post(f"/plans/{plan_id}/measure/chest/look", data=typed("chest")).text
    assert 'aria-label="The chest from the front, and unrolled"' in text


@pytest.fixture
def yoke(client: TestClient, store: Store, plan_id: str) -> str:
    """Both arms and the chest taped; a square on the chest and one high on the left arm that leans over."""
    store.commit(plan_id, {"do": "measure", "part": "right_arm", "measures": dict(TYPICAL_MM)})
    store.commit(plan_id, {"do": "measure", "part": "chest", "measures": UNEVEN})
    art = store.keep_drawing(square())
    for name, part, u, s in (("a", "chest", 0.1, 180.0), ("b", "left_arm", -0.02, 470.0)):
        store.commit(plan_id, {"do": "place", "piece": {"id": name, "part": part, "art": art, "title": f"Square {name}",
                                                        "u": u, "s_mm": s}})
    return plan_id


def ask(client: TestClient, pid: str, path: str, part: str = "chest", **data: str) -> tuple[str, dict]:
    got = client.post(f"/plans/{pid}/desk/{part}{path}", data=data, headers={"hx-request": "true"})
    assert got.status_code == 200, got.text[:300]
    found = re.search(r'id="desk-data"[^>]*>(.*?)</script>', got.text, re.S)
    assert found
    return got.text, json.loads(found[1])


def test_the_sheet_shows_edges_midline_armpits_and_landmarks(client: TestClient, yoke: str) -> None:
    text = client.get(f"/plans/{yoke}/compose/chest").text
    data = json.loads(re.search(r'id="desk-data"[^>]*>(.*?)</script>', text, re.S)[1])
    panel = build_panel("chest", UNEVEN)
    assert text.count('class="mark"') == len(panel.landmarks)
    assert not data["sheet"]["closed"] and data["sheet"]["sides"] == [{"name": "midline", "u": 0.0}]
    words = [w["text"] for w in data["sheet"]["words"]]
    assert {"notch", "midline", "crease", "client's left"} <= set(words)
    left = next(w for w in data["sheet"]["words"] if w["text"] == "client's left")
    assert left["x"] > 200   # the client's left is at the viewer's right


def test_paper_on_the_sheet_is_told_to_the_browser_as_the_patch_has_it() -> None:
    panel = build_panel("chest", UNEVEN)
    grid = paper_grid(panel)
    for i, j in ((8, 6), (14, 9), (22, 5)):
        x, y = grid["x"] + i * grid["step"], grid["y"] + j * grid["step"]
        a, c, d = np.array(grid["p"]).reshape(-1, 3)[j * grid["nx"] + i]
        near = np.array([[x, y], [x + 2, y], [x, y + 2]])
        flat = panel.lay_patch(x / panel.turn_mm, y, 12.0).to_flat(panel.from_mm(near))
        assert flat[1] - flat[0] == pytest.approx([2 * a, 2 * c], abs=0.03)
        assert flat[2] - flat[0] == pytest.approx([0.0, 2 * d], abs=0.03)


def test_a_piece_that_leans_in_is_shown_told_of_and_not_moved_here(client: TestClient, yoke: str) -> None:
    text, data = ask(client, yoke, "/refresh", sel="b")
    guest = next(p for p in data["pieces"] if p["id"] == "b")
    assert guest["home"] == "left_arm" and guest["locked"] and 'id="piece-b"' in text
    assert "reaches over the left armhole, front onto this chest" in text
    assert f"/plans/{yoke}/compose/left_arm?sel=b" in text
    assert not any(p.get("home") for p in data["pieces"] if p["id"] == "a")


def test_a_piece_is_put_by_its_distance_from_the_midline(client: TestClient, store: Store, yoke: str) -> None:
    ask(client, yoke, "/field", sel="a", name="across", value="-6")
    assert store.load(yoke).plan.piece("a").u * UNEVEN["chest_girth"] == pytest.approx(-60.0)
    got = client.post(f"/plans/{yoke}/desk/left_arm/field", data={"sel": "b", "name": "across", "value": "3"},
                      headers={"hx-request": "true"})
    assert got.status_code == 422 and "Only on chest and back" in got.text


def test_a_twin_over_the_midline_follows_and_its_deviation_is_told_with_the_cause(client: TestClient, store: Store,
                                                                                  yoke: str) -> None:
    text, data = ask(client, yoke, "/twin", sel="a", over="front", linked="1")
    twin = next(p["id"] for p in data["pieces"] if p["id"] not in ("a", "b"))
    piece = store.load(yoke).plan.piece(twin)
    assert piece.u < 0 and piece.linked and piece.axis_u == 0.0
    text, _ = ask(client, yoke, "/refresh", sel=twin)
    assert re.search(r"The twin lies up to \d+\.\d mm off an exact mirror image: the [a-z ]+ of that side lies", text)
    text, _ = ask(client, yoke, "/refresh", sel="a")
    assert re.search(r"mm off an exact mirror image", text)
    ask(client, yoke, "/step", step=json.dumps({"do": "change", "pieces": [{"id": "a", "s_mm": 120.0}]}))
    assert store.load(yoke).plan.piece(twin).s_mm == pytest.approx(120.0, abs=8.0)
    ask(client, yoke, "/step", step=json.dumps({"do": "free", "ids": [twin]}))
    ask(client, yoke, "/step", step=json.dumps({"do": "change", "pieces": [{"id": "a", "s_mm": 150.0}]}))
    assert store.load(yoke).plan.piece(twin).s_mm == pytest.approx(120.0, abs=8.0)


def test_gaps_of_the_chest_are_listed_with_their_edges(client: TestClient, yoke: str) -> None:
    text, data = ask(client, yoke, "/refresh", mode="tie-in", gaps="1")
    assert data["labels"] and not data["late"]
    assert "armhole" in text or "lower edge" in text


def test_every_mirrored_piece_is_listed_with_its_mm_and_cause(client: TestClient, store: Store, yoke: str) -> None:
    ask(client, yoke, "/twin", sel="a", over="front", linked="1")
    store.commit(yoke, {"do": "measure", "part": "right_arm", "measures": {**TYPICAL_MM, "armpit": 360.0}})
    ask(client, yoke, "/twin", part="left_arm", sel="b", over="right_arm", linked="1")
    text, _ = ask(client, yoke, "/refresh")
    rows = re.findall(r'id="twin-row-\w+".*?</button>', text, re.S)
    assert len(rows) == 1 and re.search(r"\d\.\d mm", rows[0]) and "of that side lies" in rows[0]
    text, _ = ask(client, yoke, "/refresh", part="right_arm")
    rows = re.findall(r'id="twin-row-\w+".*?</button>', text, re.S)
    assert len(rows) == 1 and "more round there" in rows[0]


def test_both_shoulders_and_chest_are_one_sheet(client: TestClient, yoke: str) -> None:
    text = client.get(f"/plans/{yoke}/compose/chest").text
    assert f'href="/plans/{yoke}/compose/shoulders"' in text and "Both shoulders and chest" in text
    text = client.get(f"/plans/{yoke}/compose/shoulders").text
    data = json.loads(re.search(r'id="desk-data"[^>]*>(.*?)</script>', text, re.S)[1])
    assert set(data["sheet"]["wide"]) == {"chest", "left_arm", "right_arm"} and data["sheet"]["main"] == "chest"
    assert [(p["id"], p["part"]) for p in data["pieces"]] == [("a", "chest"), ("b", "left_arm")]
    assert 'class="landmark"' in text and text.count('class="join"') == 3 and 'id="strip-left_arm"' in text
    assert arrived(text) == ["a", "b"]


def arrived(text: str) -> list[str]:
    return re.findall(r'<g class="piece[^"]*" id="piece-([^"]+)"', text)


def test_pieces_lie_on_the_wide_sheet_as_its_parts_are_hung(client: TestClient, store: Store, yoke: str) -> None:
    text, _ = ask(client, yoke, "/refresh", part="shoulders")
    wide = wide_of(store.load(yoke).plan, "shoulders")
    for name, part in (("a", "chest"), ("b", "left_arm")):
        piece = store.load(yoke).plan.piece(name)
        x, y = wide.part(part).to_wide(np.array([[piece.u, piece.s_mm]]))[0]
        d = re.search(rf'id="piece-{name}".*?class="skin" d="M(-?\d+) ?(-?\d+)l([^z]*)z', text, re.S)
        start = np.array([float(d[1]), -float(d[2])]) / 100
        steps = np.array(re.findall(r"-?\d+", d[3]), float).reshape(-1, 2) * (0.01, -0.01)
        ring = np.vstack([start, start + np.cumsum(steps, axis=0)])
        assert np.hypot(*((ring.min(axis=0) + ring.max(axis=0)) / 2 - (x, y))) < 3.0


def test_on_the_wide_sheet_a_piece_is_laid_on_the_part_under_it_and_mirrored_to_the_other_side(
        client: TestClient, store: Store, yoke: str) -> None:
    motif = next(iter(store.shelf())).id
    _, data = ask(client, yoke, "/place", part="shoulders", motif=motif, on="right_arm", u="-0.2", s="410")
    new = data["select"][0]
    assert store.load(yoke).plan.piece(new).part == "right_arm"
    _, data = ask(client, yoke, "/twin", part="shoulders", sel=f"{new} a", over="midline", linked="1")
    assert {store.load(yoke).plan.piece(i).part for i in data["select"]} == {"left_arm", "chest"}
    step = json.dumps({"do": "rehome", "id": "b", "part": "chest", "u": 0.15, "s_mm": 260.0, "turn_deg": 0.0})
    ask(client, yoke, "/step", part="shoulders", step=step)
    assert store.load(yoke).plan.piece("b").part == "chest"
    for piece in ("a", "b", new):
        text, _ = ask(client, yoke, "/refresh", part="shoulders", sel=piece)
        assert "f-title" in text
        assert client.get(f"/plans/{yoke}/desk/shoulders/fit?piece={piece}").status_code == 200
    wrong = {"motif": motif, "on": "left_leg", "u": "0", "s": "9"}
    got = client.post(f"/plans/{yoke}/desk/shoulders/place", data=wrong, headers={"hx-request": "true"})
    assert got.status_code == 422 and "drop it on a shoulder" in got.text


@pytest.mark.filterwarnings("error::RuntimeWarning")
def test_a_healed_piece_traced_on_the_wide_sheet_belongs_to_the_part_under_it(client: TestClient, store: Store,
                                                                              yoke: str) -> None:
    wide = wide_of(store.load(yoke).plan, "shoulders")
    x, y = wide.part("right_arm").to_wide(np.array([[-0.22, 400.0]]))[0]
    t = np.linspace(0, 2 * np.pi, 40)
    ring = np.column_stack([x + 15 * np.cos(t), y + 15 * np.sin(t)]).round(2).tolist()
    _, data = ask(client, yoke, "/trace", part="shoulders", ring=json.dumps(ring))
    piece = store.load(yoke).plan.piece(data["select"][0])
    assert piece.part == "right_arm" and [piece.u, piece.s_mm] == pytest.approx([-0.22, 400.0], abs=1.0)


def test_gaps_over_shoulders_and_chest_are_numbered_together_and_filled_on_their_part(
        client: TestClient, store: Store, yoke: str) -> None:
    text, data = ask(client, yoke, "/refresh", part="shoulders", mode="tie-in", gaps="1")
    assert [label["text"] for label in data["labels"]] == [str(n + 1) for n in range(len(data["labels"]))]
    keys = dict(re.findall(r'data-goal="(gap:\w+)"[^>]*><span>\d+, ([a-z ]+), ', text))
    assert {"chest yoke", "left arm", "right arm"} <= set(keys.values())
    key = next(k for k, part in keys.items() if part == "chest yoke")
    asked = {"for": key, "kind": "filigree", "seed": "2"}
    got = client.post(f"/plans/{yoke}/desk/shoulders/candidates", data=asked)
    assert got.status_code == 200 and "<svg" in got.text
    shown = client.post(f"/plans/{yoke}/desk/shoulders/candidate", data=asked | {"index": "0"})
    assert shown.status_code == 200 and 'class="piece' in shown.text
    _, data = ask(client, yoke, "/accept", part="shoulders", index="0", **asked)
    assert store.load(yoke).plan.piece(data["select"][0]).part == "chest"


def test_chest_and_wide_sheet_can_be_printed(client: TestClient, yoke: str) -> None:
    text = client.get(f"/plans/{yoke}/print?part=shoulders&part=chest").text
    assert 'id="map-shoulders"' in text and 'id="map-chest"' in text and "Both shoulders and chest" in text
    got = client.get(f"/plans/{yoke}/layout/shoulders.svg")
    assert got.status_code == 200 and b"line-midline" in got.content
    assert client.get(f"/plans/{yoke}/layout.pdf?part=shoulders").content[:5] == b"%PDF-"
    assert client.get(f"/plans/{yoke}/layout/shoulders_back.svg").status_code == 404
    assert client.get(f"/plans/{yoke}/compose/shoulders_back", follow_redirects=False).status_code == 303


def test_a_sleeve_that_runs_into_the_chest_shows_its_edge_there(client: TestClient, store: Store, yoke: str) -> None:
    assert 'class="edge ' not in client.get(f"/plans/{yoke}/compose/chest").text
    got = client.post(f"/plans/{yoke}/desk/left_arm/sleeve", data={"name": "preset", "value": "into_chest"},
                      headers={"hx-request": "true"})
    assert got.status_code == 200
    assert extent_of(store.load(yoke).plan.part("left_arm")).chest_mm == INTO_CHEST_MM
    for part in ("chest", "shoulders"):
        assert client.get(f"/plans/{yoke}/compose/{part}").text.count('class="edge straight"') == 1
    text = client.get(f"/plans/{yoke}/desk/left_arm/sleeve").text
    both = re.search(r"\d+ cm² more on the chest, (\d+) cm² together", text)
    assert both and 'id="e-into"' in text and "Edge, on the chest" in text and "with what fades" not in text
    board = client.get(f"/plans/{yoke}/desk/chest/board").text
    told = int(re.search(r"of the (\d+) cm² of skin", board)[1])
    client.post(f"/plans/{yoke}/desk/left_arm/sleeve", data={"name": "to.form", "value": "fading"})
    assert 'class="edge fading"' in client.get(f"/plans/{yoke}/compose/chest").text
    text = client.get(f"/plans/{yoke}/desk/left_arm/sleeve").text
    assert int(re.search(r"(\d+) cm² with what fades", text)[1]) < int(both[1]) - 20
    board = client.get(f"/plans/{yoke}/desk/chest/board").text
    assert int(re.search(r"of the (\d+) cm² of skin", board)[1]) < told - 20


def test_the_chest_is_turned_with_the_arms_that_meet_it(client: TestClient, yoke: str) -> None:
    text = client.get(f"/plans/{yoke}/round/chest").text
    assert "Left side" in text and text.count("data-pose=") == 4
    data = client.get(f"/plans/{yoke}/round/chest/shape.json").json()
    assert {b["part"] for b in data["beside"]} == {"left_arm", "right_arm"} and data["words"]["outer"] == "left side"
    assert len(data["grid"]["drawn"]["inside"]) == (data["grid"]["columns"] - 1) * (data["grid"]["rows"] - 1)
    assert {p["id"] for p in data["pieces"]} == {"a", "b"} and data["pieces"][0]["seen"]["front"] > 0.9
    assert data["moved"] is None and {b["pose"] for b in data["beside"]} == {"relaxed"}
    raised = client.get(f"/plans/{yoke}/round/chest/shape.json?pose=arm+raised").json()
    told, grid = raised["moved"], raised["grid"]
    assert len(told["values"]) == len(told["folds"]) == grid["columns"] * grid["rows"] and told["only"]
    assert grid == data["grid"] and {b["pose"] for b in raised["beside"]} == {"arm raised"}
    assert max(told["values"]) > 0.25 and "Most: +" in told["most"] and "shape at rest" in told["most"]
    flexed = client.get(f"/plans/{yoke}/round/chest/shape.json?pose=flexed").json()
    assert {b["pose"] for b in flexed["beside"]} == {"relaxed"}     # an arm flexed is another motion
    assert client.get(f"/plans/{yoke}/round/chest/shape.json?pose=bent").status_code == 404
    assert client.get(f"/plans/{yoke}/round/chest/skin.png").headers["content-type"] == "image/png"
    still = client.get(f"/plans/{yoke}/round/shoulders?still=1&view=front+outer&mirror=1").text
    assert 'aria-label="Chest yoke, front, left, as in the mirror"' in still and still.count("data-view=") == 8
    picture = re.search(r'<svg[^>]*class="turned".*?</svg>', still, re.S)
    assert picture and picture.group(0).count('class="body"') == 1 and "piece=a" in picture.group(0)
    assert len(set(re.findall(r'clipPath id="(turned-\d-skin)"', picture.group(0)))) == 3   # the chest and both arms
    for name in ("front", "front-outer", "outer", "back-outer", "back", "back-inner", "inner", "front-inner"):
        assert client.get(f"/plans/{yoke}/round/chest/{name}.svg").headers["content-type"] == "image/svg+xml"
    assert client.get(f"/plans/{yoke}/round/shoulders").status_code == 200
    assert client.get(f"/plans/{yoke}/round/left_arm").status_code == 200
