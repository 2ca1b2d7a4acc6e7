"""Grips of a filler: where they lie, what comes of a pull as one step, back again, round neighbours that moved."""

from __future__ import annotations

import json
from functools import cache

import numpy as np
import pytest
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.compose.gaps import survey
from composer.filler.ground import Wish
from composer.filler.proposals import propose
from composer.plan.model import Piece
from composer.plan.scene import scene
from composer.plan.shape import shape_of
from composer.plan.twins import surface_of
from composer.store.store import Store
from web.goals import piece_json


@cache
def post_art() -> Drawing:
    ring = np.array([[-20, -40], [20, -40], [20, 40], [-20, 40]], float)
    return Drawing((ring,), (Layer("line", (ring, ring * 0.9)),))


def put(store: Store, pid: str, i: str, u: float, s: float, part: str = "left_arm") -> None:
    art = store.keep_drawing(post_art())
    store.commit(pid, {"do": "place", "piece": {"id": i, "part": part, "art": art, "title": f"Post {i}", "u": u,
                                                "s_mm": s}})


def fill(store: Store, pid: str, i: str, kind: str, goal: dict, part: str = "left_arm") -> str:
    plan = store.load(pid).plan
    laid = scene(plan, part, surface_of(plan, part), store.gallery)
    p = propose(laid, survey(laid), goal, [kind], plan.settings.hand, Wish(), 1, 1, plan.settings)[0]
    store.commit(pid, {"do": "place", "piece": piece_json(p, part, i, store.keep_drawing(p.drawing))})
    return i


@pytest.fixture(scope="module")
def bound_file(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Two posts with a rope between them, wind and clouds beside, as a plan file."""
    store = Store(tmp_path_factory.mktemp("bound"))
    pid = store.create("Harbour study")
    store.commit(pid, {"do": "measure", "part": "left_arm", "measures": dict(TYPICAL_MM)})
    put(store, pid, "one", -0.25, 300.0)
    put(store, pid, "two", 0.2, 300.0)
    fill(store, pid, "rope", "rope", {"brush": [[-0.16, 300], [0.11, 300]], "width_mm": 60})
    fill(store, pid, "wind", "wind", {"brush": [[-0.1, 150], [0.1, 165]], "width_mm": 50})
    fill(store, pid, "cloud", "cloud", {"brush": [[-0.1, 420], [0.1, 420]], "width_mm": 50})
    data = store.export_plan(pid)
    store.close()
    return data


@pytest.fixture
def bound(store: Store, bound_file: bytes) -> str:
    return store.import_plan(bound_file)


def at(pid: str, part: str = "left_arm") -> str:
    return f"/plans/{pid}/desk/{part}/handles"


def grips(client: TestClient, pid: str, i: str, part: str = "left_arm") -> dict:
    return client.get(f"{at(pid, part)}?id={i}").json()


def others(store: Store, pid: str, but: str) -> list[Piece]:
    return [p for p in store.load(pid).plan.pieces if p.id != but]


def pulled_by(h: dict, what: str, du: float, ds: float) -> str:
    places = np.array(h[what])
    mid = h[f"{what}Grips"][len(h[f"{what}Grips"]) // 2]
    off = np.abs(np.arange(len(places)) - mid) / (5.0 if what == "line" else 12.0)
    share = np.where(off < 1, 0.5 + 0.5 * np.cos(np.pi * off), 0.0)[:, None]
    return json.dumps((places + share * (du, ds)).tolist())


def test_grips_say_what_can_be_pulled(client: TestClient, bound: str) -> None:
    rope, wind, cloud = (grips(client, bound, i) for i in ("rope", "wind", "cloud"))
    assert rope["kinds"] == ["path"] and len(rope["lineGrips"]) in (3, 4, 5) and rope["held"] == [True, True]
    assert wind["kinds"] == ["stream", "edge"] and len(wind["edgeGrips"]) >= 6 and not wind["pulled"]
    assert cloud["line"] and cloud["part"] == "left_arm" and cloud["note"] == ""
    assert "gone" in grips(client, bound, "nothing")["note"] or "no piece" in grips(client, bound, "nothing")["note"]


@pytest.mark.parametrize(("i", "what", "words"), [("rope", "line", "pull the line of rope"),
                                                  ("wind", "line", "pull the line of wind"),
                                                  ("cloud", "edge", "pull the edge of cloud")])
def test_a_pull_is_one_step_and_leaves_all_else_as_it_was(client: TestClient, store: Store, bound: str, i: str,
                                                          what: str, words: str) -> None:
    before, rest = store.load(bound), others(store, bound, i)
    h = grips(client, bound, i)
    sent = {"id": i, "what": what, "places": pulled_by(h, what, 0.01, 9.0), "sel": i, "mode": "tie-in"}
    assert client.post(f"{at(bound)}/try", data=sent).json() == {"ok": True}
    assert store.load(bound).plan == before.plan, "drawn, not kept"
    got = client.post(f"{at(bound)}/keep", data=sent)
    now = store.load(bound)
    assert got.status_code == 200 and now.revision == before.revision + 1
    assert str(now.undo_label).startswith(words) and "Back to how it was proposed" in got.text
    assert now.plan.piece(i).art != before.plan.piece(i).art and others(store, bound, i) == rest
    assert grips(client, bound, i)["pulled"]
    back = client.post(f"{at(bound)}/back", data={"id": i, "sel": i, "mode": "tie-in"})
    assert back.status_code == 200 and "Back to how it was proposed" not in back.text
    assert store.load(bound).plan.piece(i).art == before.plan.piece(i).art, "the same bytes as proposed"
    client.post(f"/plans/{bound}/desk/left_arm/undo")
    client.post(f"/plans/{bound}/desk/left_arm/undo")
    assert store.load(bound).plan == before.plan


def test_what_cannot_be_drawn_leaves_the_old_and_says_why(client: TestClient, store: Store, bound: str) -> None:
    before = store.load(bound)
    h = grips(client, bound, "rope")
    short = json.dumps([[u * 0.02, 300 + (s - 300) * 0.02] for u, s in h["line"]])
    tried = client.post(f"{at(bound)}/try", data={"id": "rope", "what": "line", "places": short}).json()
    assert not tried["ok"] and "Pull it less far" in tried["sentence"]
    kept = client.post(f"{at(bound)}/keep", data={"id": "rope", "what": "line", "places": short})
    assert kept.status_code == 422 and "Pull it less far" in kept.text
    for places, words in (("nonsense", "pull it again"), ("[[1, null]]", "pull it again"), ("{}", "pull it again"),
                          (json.dumps([[99, 5], [98, 5]]), "off the skin"),
                          (json.dumps([[0, i] for i in range(90)]), "at most")):
        got = client.post(f"{at(bound)}/try", data={"id": "rope", "what": "line", "places": places}).json()
        assert not got["ok"] and words in got["sentence"], got
    for i, words in (("one", "not background"), ("nothing", "no piece")):
        got = client.post(f"{at(bound)}/try", data={"id": i, "what": "line", "places": short}).json()
        assert not got["ok"] and words in got["sentence"]
    client.post(f"/plans/{bound}/desk/left_arm/fix", data={"id": "wind", "on": "1"})
    fixed = client.post(f"{at(bound)}/try", data={"id": "wind", "what": "line", "places": short}).json()
    assert "fixed as a drawing" in fixed["sentence"]
    assert store.load(bound).plan.piece("rope") == before.plan.piece("rope")


def test_a_tied_end_follows_its_piece_and_nothing_else_is_drawn_anew(client: TestClient, store: Store,
                                                                     bound: str) -> None:
    h = grips(client, bound, "rope")
    client.post(f"{at(bound)}/keep", data={"id": "rope", "what": "line", "places": pulled_by(h, "line", 0.0, 4.0)})
    old = np.array(grips(client, bound, "rope")["line"])
    holds = shape_of(store.load(bound).plan.piece("rope").recipe).holds  # type: ignore[arg-type]
    assert [h.on for h in holds if h] == ["one", "two"]
    store.commit(bound, {"do": "change", "pieces": [{"id": "two", "u": 0.22, "s_mm": 325.0}]})
    panel = client.post(f"/plans/{bound}/desk/left_arm/refresh", data={"sel": "rope", "mode": "tie-in"}).text
    assert "Post two has changed since this was drawn" in panel and "Draw it again round its neighbours" in panel
    ties = client.post(f"/plans/{bound}/desk/left_arm/refresh", data={"mode": "tie-in"}).text
    assert "One filler was drawn before" in ties
    rest = others(store, bound, "rope")
    got = client.post(f"{at(bound)}/around", data={"id": "", "mode": "tie-in"})
    now = store.load(bound)
    assert got.status_code == 200 and now.undo_label == "draw rope, laid round the neighbours"
    assert others(store, bound, "rope") == rest
    (u, s), start = np.array(grips(client, bound, "rope")["line"])[[-1, 0]]
    assert (u - old[-1, 0], s - old[-1, 1]) == pytest.approx((0.02, 25.0), abs=0.05)
    assert start == pytest.approx(old[0], abs=0.05), "the other end stays"
    assert "round its neighbours" not in client.post(f"/plans/{bound}/desk/left_arm/refresh",
                                                     data={"sel": "rope", "mode": "tie-in"}).text
    again = client.post(f"{at(bound)}/around", data={"mode": "tie-in"})
    assert again.status_code == 422 and "as they lie now" in again.text


def test_a_twin_follows_what_was_pulled_of_its_original(client: TestClient, store: Store, bound: str) -> None:
    store.commit(bound, {"do": "twin", "id": "wind", "new_id": "mirror", "axis_u": 0.25})
    assert "mirrored twin" in grips(client, bound, "mirror")["note"]
    h = grips(client, bound, "wind")
    client.post(f"{at(bound)}/keep", data={"id": "wind", "what": "line", "places": pulled_by(h, "line", 0.0, 8.0)})
    plan = store.load(bound).plan
    assert plan.piece("mirror").art == plan.piece("wind").art and plan.piece("mirror").flip


def test_other_ground_takes_away_what_was_pulled_and_another_way_keeps_it(client: TestClient, store: Store,
                                                                          bound: str) -> None:
    h = grips(client, bound, "wind")
    client.post(f"{at(bound)}/keep", data={"id": "wind", "what": "line", "places": pulled_by(h, "line", 0.0, 6.0)})
    client.post(f"/plans/{bound}/desk/left_arm/remake", data={"id": "wind", "way": "sweep"})
    swept = store.load(bound).plan.piece("wind").recipe
    assert swept and swept.params["way"] == "sweep" and shape_of(swept).spine
    stroke = json.dumps([[-20.0, -120.0], [20.0, -118.0]])
    done = client.post(f"/plans/{bound}/desk/left_arm/remake", data={"id": "wind", "stroke": stroke, "width": "40"})
    assert done.status_code == 200
    moved = store.load(bound).plan.piece("wind").recipe
    assert moved and not shape_of(moved).spine


def test_moved_by_hand_it_is_pulled_from_where_it_lies(client: TestClient, store: Store, bound: str) -> None:
    h = grips(client, bound, "wind")
    here = store.load(bound).plan.piece("wind")
    store.commit(bound, {"do": "change", "pieces": [{"id": "wind", "s_mm": here.s_mm + 30}]})
    assert np.array(grips(client, bound, "wind")["line"]) == pytest.approx(np.add(h["line"], (0, 30)), abs=0.1)


def test_chest_and_wide_sheet_have_grips_too(client: TestClient, store: Store, plan_id: str) -> None:
    store.commit(plan_id, {"do": "measure", "part": "chest", "measures": dict(PANEL_TYPICAL_MM["chest"])})
    put(store, plan_id, "pin", 0.0, 120.0, "chest")
    fill(store, plan_id, "mist", "cloud", {"brush": [[0.08, 110], [0.16, 120]], "width_mm": 50}, "chest")
    own = grips(client, plan_id, "mist", "chest")
    assert own["part"] == "chest" and own["kinds"] == ["stream", "edge"] and own["line"]
    before = store.load(plan_id).plan.piece("mist")
    sent = {"id": "mist", "what": "edge", "places": pulled_by(own, "edge", 0.0, 10.0)}
    assert client.post(f"{at(plan_id, 'chest')}/keep", data=sent).status_code == 200
    assert store.load(plan_id).plan.piece("mist").art != before.art
    wide = grips(client, plan_id, "mist", "shoulders")
    assert wide["part"] == "chest" and wide["pulled"]
    sent = {"id": "mist", "what": "line", "places": pulled_by(wide, "line", 0.01, 0.0)}
    assert client.post(f"{at(plan_id, 'shoulders')}/keep", data=sent).status_code == 200


def test_a_plan_file_keeps_what_was_pulled(client: TestClient, store: Store, bound: str) -> None:
    from composer.plan.errors import PlanError
    from composer.plan.form import plan_from_json, plan_to_json

    h = grips(client, bound, "cloud")
    client.post(f"{at(bound)}/keep", data={"id": "cloud", "what": "edge", "places": pulled_by(h, "edge", 0.0, 8.0)})
    plan = store.load(bound).plan
    data = json.loads(json.dumps(plan_to_json(plan)))
    assert plan_from_json(data) == plan
    bad = next(p for p in data["pieces"] if p["id"] == "cloud")["recipe"]["params"]["shape"]
    bad["edge"] = [[0.0, "x"]] * 4
    with pytest.raises(PlanError, match="damaged"):
        plan_from_json(data)
