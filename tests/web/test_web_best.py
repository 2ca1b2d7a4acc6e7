"""Where it sits best: up to five places, each clear of every piece; taking one is one step; none has its reason."""

from __future__ import annotations

import html
import json
import re
from itertools import pairwise

import numpy as np
import pytest
import shapely
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM, build_limb
from composer.plan.model import Piece
from composer.plan.scene import lay, scene
from composer.store.store import Store


def blob(width: float, height: float) -> Drawing:
    t = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    ring = np.column_stack([width / 2 * np.cos(t), height / 2 * np.sin(t)])
    return Drawing((ring,), (Layer("black", (ring * 0.8,)),))


def put(store: Store, pid: str, name: str, art: Drawing, u: float, s: float) -> None:
    store.commit(pid, {"do": "place", "piece": {"id": name, "part": "left_arm", "art": store.keep_drawing(art),
                                                "title": f"Stone {name}", "u": u, "s_mm": s}})


@pytest.fixture
def two(store: Store, plan_id: str) -> str:
    put(store, plan_id, "a", blob(60, 80), 0.0, 120)
    put(store, plan_id, "b", blob(60, 80), 0.02, 140)
    return plan_id


def offers(client: TestClient, pid: str, goal: str) -> tuple[str, list[dict]]:
    got = client.get(f"/plans/{pid}/desk/left_arm/best", params={"for": goal})
    assert got.status_code == 200, got.text[:300]
    text = html.unescape(got.text)
    return text, [json.loads(x) for x in re.findall(r"data-best='([^']+)'", text)]


def clear_mm(store: Store, pid: str, art: Drawing, pose: dict, but: str = "") -> float:
    """Least distance in the patch of a pose to every other piece, by shapely; 0 where they meet."""
    limb = build_limb("left_arm", dict(TYPICAL_MM))
    plan = store.load(pid).plan
    laid = lay(limb, Piece("x", "left_arm", art.digest, "x", pose["u"], pose["s"], pose["turn"], pose["scale"],
                           bool(pose["flip"])), art)
    own, out = laid.flat.outline, np.inf
    for other in scene(plan, "left_arm", limb, store.gallery).laid:
        if other.piece.id != but:
            for k in (-1, 0, 1):
                ring = laid.patch.to_flat(other.rings[0] + np.array([k, 0.0]))
                out = min(out, shapely.distance(own, shapely.Polygon(ring)))
    return float(out)


def test_a_motif_gets_places_that_touch_nothing_and_differ(client: TestClient, store: Store, two: str) -> None:
    motif = store.motif("crab")
    text, found = offers(client, two, "best:motif:crab")
    assert 3 <= len(found) <= 5 and "Best first" in text and text.count("<svg") >= len(found)
    for pose in found:
        assert clear_mm(store, two, store.gallery[motif.digest], pose) >= 1.9
        size = pose["scale"] * max(motif.width_mm, motif.height_mm)
        assert motif.side["min_mm"] - 0.1 <= size <= motif.side["max_mm"] + 0.1
    assert all((a["u"], a["s"]) != (b["u"], b["s"]) for a, b in pairwise(found))


def test_taking_one_is_one_step_that_undo_takes_back(client: TestClient, store: Store, two: str) -> None:
    _, found = offers(client, two, "best:motif:crab")
    before = store.load(two)
    answer = client.post(f"/plans/{two}/desk/left_arm/best/take", data={"for": "best:motif:crab", **found[1]})
    assert answer.status_code == 200
    kept = store.load(two)
    assert kept.revision == before.revision + 1 and kept.undo_label.startswith("place ")
    new = next(p for p in kept.plan.pieces if p.motif == "crab")
    assert new.scale == pytest.approx(found[1]["scale"]) and new.s_mm == pytest.approx(found[1]["s"])
    assert store.undo(two).plan.pieces == before.plan.pieces


def test_a_laid_piece_is_told_what_makes_room_and_where_else(client: TestClient, store: Store, two: str) -> None:
    text, found = offers(client, two, "best:piece:b")
    assert "does not keep the skin break" in text and "Elsewhere" in text
    heads = re.findall(r"<strong>([^<]+)</strong>", text)
    assert {"Move it", "Make it smaller"} & set(heads)
    art = store.gallery[store.load(two).plan.piece("b").art]
    for pose in found:
        assert clear_mm(store, two, art, pose, but="b") >= 1.9
    client.post(f"/plans/{two}/desk/left_arm/best/take", data={"for": "best:piece:b", **found[0]})
    kept = store.load(two)
    assert kept.plan.piece("b").s_mm == pytest.approx(found[0]["s"]) and len(kept.plan.pieces) == 2
    assert kept.undo_label == "put stone b where it fits"


@pytest.mark.parametrize(("head", "label", "field"), [("Turn it", "turn stone b to fit", "turn"),
                                                      ("Make it smaller", "make stone b smaller to fit", "scale")])
def test_turn_and_size_that_make_room_are_taken_as_one_step(client: TestClient, store: Store, plan_id: str, head: str,
                                                            label: str, field: str) -> None:
    put(store, plan_id, "a", blob(60, 80), 0.0, 130)
    put(store, plan_id, "b", blob(90, 20), 0.28, 130)     # lying beside it, an end over it; upright it is clear
    before = store.load(plan_id).plan.piece("b")
    assert 'data-ask-best="b">Make room' in client.get(f"/plans/{plan_id}/desk/left_arm/fit?piece=b").text
    text, found = offers(client, plan_id, "best:piece:b")
    pose = found[re.findall(r"<strong>([^<]+)</strong>", text).index(head)]
    got = client.post(f"/plans/{plan_id}/desk/left_arm/best/take", data={"for": "best:piece:b", **pose})
    kept = store.load(plan_id)
    now = kept.plan.piece("b")
    assert got.status_code == 200 and kept.undo_label == label
    assert {"turn": now.turn_deg, "scale": now.scale}[field] == pytest.approx(pose[field])
    assert (now.u, now.s_mm) == pytest.approx((before.u, before.s_mm))
    assert "Make room" not in client.get(f"/plans/{plan_id}/desk/left_arm/fit?piece=b").text
    assert store.undo(plan_id).plan.piece("b") == before


def test_no_place_has_its_reason_and_what_would_fit(client: TestClient, store: Store, plan_id: str) -> None:
    for i in range(4):
        for j in range(4):
            put(store, plan_id, f"s{i}{j}", blob(48, 92), -0.5 + i / 4, 55 + 105 * j)
    text, found = offers(client, plan_id, "best:motif:lighthouse")
    assert "There is no clear place for it at 14.5 cm or more" in text and "What makes room" in text
    motif = store.motif("lighthouse")
    scales = [p["scale"] * max(motif.width_mm, motif.height_mm) for p in found if abs(p["turn"]) < 60]
    assert scales == sorted(scales, reverse=True) and 0 < scales[0] < 145
    told = float(re.search(r"is about ([\d.]+) cm", text)[1])
    assert scales[0] / 10 == pytest.approx(told, abs=1.5)
    assert all(clear_mm(store, plan_id, store.gallery[motif.digest], p) >= 1.9 for p in found)


def test_a_drawing_that_fits_only_lying_is_offered_so(client: TestClient, store: Store, plan_id: str) -> None:
    for i in range(4):
        put(store, plan_id, f"s{i}", blob(70, 150), -0.5 + i / 4, 90)
        put(store, plan_id, f"t{i}", blob(80, 200), -0.5 + i / 4, 360)    # between them a band of some 80 mm is free
    text, found = offers(client, plan_id, "best:motif:lighthouse")
    assert "There is no clear place for it" in text and "when it lies this way" in text
    motif = store.motif("lighthouse")
    lying = next(p for p in found if abs(p["turn"]) > 60)
    assert lying["scale"] * max(motif.width_mm, motif.height_mm) >= 144.9
    assert clear_mm(store, plan_id, store.gallery[motif.digest], lying) >= 1.9


def test_the_size_range_is_the_artists(client: TestClient, store: Store, two: str) -> None:
    motif = store.motif("crab")
    _, found = offers(client, two, "best:motif:crab:70 mm:8")
    sizes = [p["scale"] * max(motif.width_mm, motif.height_mm) for p in found]
    assert found and all(69.9 <= s <= 80.1 for s in sizes)
    for goal, words in (("best:motif:crab:9:8", "must not be above"), ("best:motif:crab:x:8", "smallest size"),
                        ("best:motif:none", "no longer on the shelf"), ("best:piece:none", "no longer here"),
                        ("best:", "no longer on the shelf"), ("best:motif:crab:900 cm:950 cm", "5 to 2000 mm")):
        text, found = offers(client, two, goal)
        assert words in text and not found, (goal, text)


def test_the_panel_waits_for_its_proposals_and_a_locked_piece_stays(client: TestClient, store: Store,
                                                                    two: str) -> None:
    store.commit(two, {"do": "change", "pieces": [{"id": "a", "locked": True}]})
    text = client.post(f"/plans/{two}/desk/left_arm/refresh", data={"goal": "best:motif:crab"}).text
    assert 'data-later="/best?for=best%3Amotif%3Acrab' in text and "data-best=" not in text
    text, found = offers(client, two, "best:piece:a")
    assert "is locked" in text and not found


def test_a_proposal_can_be_seen_on_the_sheet_first(client: TestClient, store: Store, two: str) -> None:
    _, found = offers(client, two, "best:motif:crab")
    before = store.load(two).revision
    got = client.get(f"/plans/{two}/desk/left_arm/best/group", params={"for": "best:motif:crab", **found[0]})
    assert got.status_code == 200 and 'id="piece-best"' in got.text and store.load(two).revision == before
    wrong = client.get(f"/plans/{two}/desk/left_arm/best/group", params={"for": "best:motif:crab", "u": "nan"})
    assert wrong.status_code == 422 or wrong.status_code == 400
