"""Overlays of the sheet: pictures, key, numbers and tables say the same; zones are the client's to change."""

from __future__ import annotations

import base64
import io
import re

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.body.flex import worst
from composer.body.motion import worst as trunk_worst
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.compose.fit_seen import seen_from
from composer.plan.zone_edits import zones_on
from composer.store.store import Store
from web import fit, tint
from web.desk import Desk, View
from web.paint.bands import FINE, band_image, grid


def square(size: float) -> Drawing:
    ring = np.array([[-size, -size], [size, -size], [size, size], [-size, size]]) / 2
    return Drawing((ring,), (Layer("black", (ring * 0.9,)),))


@pytest.fixture
def laid(store: Store, plan_id: str) -> str:
    """A large square over the elbow's point, and a small one on the outer side."""
    for name, size, u, s in (("joint", 150.0, 0.5, 255.0), ("calm", 30.0, 0.25, 130.0)):
        store.commit(plan_id, {"do": "place", "piece": {
            "id": name, "part": "left_arm", "art": store.keep_drawing(square(size)), "title": f"The {name} one",
            "u": u, "s_mm": s}})
    return plan_id


def view_of(store: Store, pid: str) -> View:
    kept = store.load(pid)
    return Desk(store).view(kept.plan, kept.revision, "left_arm")


def over(client: TestClient, pid: str, what: str, choice: str = "", **more: str) -> dict:
    got = client.get(f"/plans/{pid}/desk/left_arm/tint", params={"what": what, "choice": choice, **more})
    assert got.status_code == 200, got.text
    return got.json()


def pixels(svg: str) -> tuple[np.ndarray, tuple[float, ...]]:
    """Opacity of the picture (rows, columns), and its rectangle on the sheet."""
    data = re.search(r"base64,([^\"]+)", svg)
    assert data
    place = tuple(float(re.search(rf'\b{n}="(-?[\d.]+)"', svg)[1]) for n in ("x", "y", "width", "height"))
    return np.asarray(Image.open(io.BytesIO(base64.b64decode(data[1]))).convert("RGBA"))[..., 3], place


def at(view: View, svg: str, u: float, s: float) -> int:
    """Opacity of the picture at a place on skin."""
    alpha, (x0, y0, w, h) = pixels(svg)
    x, y = view.sheet.to_flat(np.array([[u, s]]))[0]
    return int(alpha[round((-y - y0) / h * (alpha.shape[0] - 1)), round((x - x0) / w * (alpha.shape[1] - 1))])


def test_bands_lie_where_the_field_has_them() -> None:
    box = (0.0, 0.0, 60.0, 30.0)
    xy, shape = grid(box, 3.0)
    alpha, (x0, y0, w, _h) = pixels(band_image(xy[:, 0].reshape(shape), box, 3.0, (20.0, 40.0),
                                              [(1, 2, 3, 50), (1, 2, 3, 200)]))
    assert alpha.shape == (shape[0] * FINE, shape[1] * FINE) and (x0, y0) == (0.0, -30.0)
    mm = np.linspace(0, w, alpha.shape[1])
    assert (alpha[:, mm < 19] == 0).all() and (alpha[:, mm > 41] == 200).all()
    assert (alpha[:, (mm > 21) & (mm < 39)] == 50).all()


@pytest.mark.parametrize("choice", ["worst", "flexed", "bent"])
def test_the_map_of_moving_skin_is_that_of_the_model(client: TestClient, store: Store, laid: str, choice: str) -> None:
    view = view_of(store, laid)
    got = over(client, laid, "stretch", choice)
    assert got["choice"] == choice and f'value="{choice}" checked' in got["legend"]
    if choice == "worst":
        rng = np.random.default_rng(4)
        us = np.column_stack([rng.uniform(-0.45, 0.45, 60), rng.uniform(20, 460, 60)])
        found = worst(view.limb, "left_arm", us)
        size = np.abs(np.nan_to_num(found.strain)).max(axis=1)
        clear = ~found.folds & (np.abs(size - 0.05) > 0.015) & (np.abs(size - 0.15) > 0.03) & \
            (np.abs(size - 0.30) > 0.04)
        want = np.array([0, 38, 88, 150])[np.searchsorted([0.05, 0.15, 0.30], size)]
        seen = np.array([at(view, got["svg"], *p) for p in us])
        far = np.array([not worst(view.limb, "left_arm", p + np.array([[0.03, 0], [-0.03, 0], [0, 8], [0, -8]])).folds
                        .any() for p in us])
        assert clear.sum() > 25 and (seen[clear & far] == want[clear & far]).mean() > 0.95
        assert got["tags"] and all(re.fullmatch(r"[+\u2212]\d+%", t["text"]) for t in got["tags"])


def test_paper_is_tinted_only_under_pieces(client: TestClient, store: Store, laid: str) -> None:
    view = view_of(store, laid)
    got = over(client, laid, "stretch", "relaxed")
    assert '<clipPath id="tint-clip">' in got["svg"]
    corner = view.laid("joint").patch.to_skin(np.array([[70.0, -70.0]]))[0]
    assert at(view, got["svg"], (corner[0] + 0.5) % 1.0 - 0.5, corner[1]) > 0
    assert at(view, got["svg"], 0.0, 60.0) == 0
    assert any(t["text"].endswith("%") for t in got["tags"])


def test_what_is_not_seen_lies_in_the_dark(client: TestClient, store: Store, laid: str) -> None:
    view = view_of(store, laid)
    rng = np.random.default_rng(2)
    us = np.column_stack([rng.uniform(-0.45, 0.45, 40), rng.uniform(20, 460, 40)])
    for k, side in enumerate(("front", "outer", "back", "inner")):
        got = over(client, laid, "seen", side)
        shows = seen_from(view.limb, "left_arm", us)[:, k]
        dark = np.array([at(view, got["svg"], *p) == 122 for p in us])
        assert (dark == ~shows).mean() > 0.9, side
    best = over(client, laid, "seen", "best", sel="calm")
    assert "The calm one" in best["legend"] and "outer" in best["legend"]


def zone(client: TestClient, pid: str, name: str, value: str) -> tuple[int, str]:
    got = client.post(f"/plans/{pid}/desk/left_arm/zone", data={"name": name, "value": value})
    return got.status_code, got.text


def test_zones_say_that_they_are_common_practice_and_are_the_clients_to_change(client: TestClient, store: Store,
                                                                               laid: str) -> None:
    got = over(client, laid, "zones", "pain")
    assert "ommon practice, no published source" in got["legend"]
    assert got["svg"].count("<title>") >= len(zones_on(store.load(laid).plan, "left_arm").zones)
    assert zone(client, laid, "ditch:pain", "9,5")[0] == 200
    assert store.load(laid).plan.part("left_arm").extra["zones"] == {"ditch": {"pain": 9.5}}
    now = over(client, laid, "zones", "pain")
    assert "9.5*" in [t["text"] for t in now["tags"]] and "this client" in now["legend"]
    table = client.get(f"/plans/{laid}/desk/left_arm/table", params={"what": "zones"}).text
    assert re.search(r'id="z-ditch-pain"[^>]*value="9.5" class="changed"', table) and table.count('"changed"') == 1
    assert zone(client, laid, "ditch:pain", "")[0] == 200
    assert "zones" not in store.load(laid).plan.part("left_arm").extra


@pytest.mark.parametrize(("name", "value", "words"), [
    ("ditch:pain", "11", "runs from 0 to 10"), ("ditch:pain", "much", "is no number"), ("nose:pain", "3", "is no zone"),
    ("ditch:luck", "3", "is no scale"), ("ditch:pain", "nan", "runs from 0 to 10")])
def test_a_figure_that_cannot_be_gets_a_sentence(client: TestClient, laid: str, name: str, value: str,
                                                 words: str) -> None:
    status, text = zone(client, laid, name, value)
    assert status == 422 and words in text


@pytest.fixture
def trunk(store: Store) -> str:
    """Chest and back taped, a square on the chest beside the left fold of the armpit and one on the ribs."""
    pid = store.create("Trunk")
    for part in ("chest", "upper_back"):
        store.commit(pid, {"do": "measure", "part": part, "measures": dict(PANEL_TYPICAL_MM[part])})
    for name, u, s in (("fold", 0.13, 150.0), ("ribs", -0.19, 45.0)):
        store.commit(pid, {"do": "place", "piece": {
            "id": name, "part": "chest", "art": store.keep_drawing(square(40.0)), "title": f"The {name} one", "u": u,
            "s_mm": s}})
    return pid


@pytest.mark.parametrize(("part", "choices"), [
    ("chest", ("Worst", "Relaxed", "Flexed", "Breathed in", "Arm raised")),
    ("upper_back", ("Worst", "Relaxed", "Blades together", "Breathed in", "Arm raised"))])
def test_the_map_of_moving_skin_of_a_trunk_is_that_of_its_model(client: TestClient, store: Store, trunk: str, part: str,
                                                                choices: tuple[str, ...]) -> None:
    kept = store.load(trunk)
    view = Desk(store).view(kept.plan, kept.revision, part)
    got = client.get(f"/plans/{trunk}/desk/{part}/tint", params={"what": "stretch", "choice": "worst"}).json()
    assert all(f"<span>{c}</span>" in got["legend"] for c in choices) and "published figures" in got["legend"]
    rng = np.random.default_rng(3)
    us = np.column_stack([rng.uniform(-0.24, 0.24, 200), rng.uniform(5, 330, 200)])
    us = us[view.limb.within_mm(us) > 8]
    found = trunk_worst(view.limb, part, us)
    size = np.abs(found.strain).max(axis=1)
    clear = (np.abs(size - 0.05) > 0.015) & (np.abs(size - 0.15) > 0.03) & (np.abs(size - 0.30) > 0.04) & ~np.array(
        [trunk_worst(view.limb, part, p + np.array([[0, 0], [0.01, 0], [-0.01, 0], [0, 8], [0, -8]])).folds.any()
         for p in us])
    want = np.array([0, 38, 88, 150])[np.searchsorted([0.05, 0.15, 0.30], size)]
    seen = np.array([at(view, got["svg"], *p) for p in us])
    assert clear.sum() > 60 and (seen[clear] == want[clear]).mean() > 0.95
    for tag in got["tags"]:
        place = view.limb.from_mm(view.limb.to_mm(view.sheet.to_skin(np.array([[tag["x"], -tag["y"]]]))))
        assert view.limb.within_mm(place)[0] > 10       # no number hangs over the edge


def test_zones_poses_and_sides_of_a_chest_have_their_tables(client: TestClient, store: Store, trunk: str) -> None:
    def table(what: str) -> str:
        return client.get(f"/plans/{trunk}/desk/chest/table", params={"what": what}).text

    zones = table("zones")
    assert zones.count("over bone") == 7 and "Left and right are the client" in zones       # 3 on each side, 1 between
    assert "Arm raised" in table("stretch") and "Bent" not in table("stretch")
    assert "Left side" in table("seen") and "Inner" not in table("seen")
    got = client.post(f"/plans/{trunk}/desk/chest/zone", data={"name": "ribs_right:pain", "value": "3"})
    assert got.status_code == 200
    assert store.load(trunk).plan.part("chest").extra["zones"] == {"ribs_right": {"pain": 3.0}}
    shown = client.get(f"/plans/{trunk}/desk/chest/tint", params={"what": "zones", "choice": "pain"}).json()
    assert [t["text"] for t in shown["tags"]].count("3*") == 1 and 'id="tint-pain"' in shown["legend"]


def test_readings_of_a_piece_on_a_chest_know_pose_and_bone(client: TestClient, store: Store, trunk: str) -> None:
    kept, desk = store.load(trunk), Desk(store)
    view = desk.view(kept.plan, kept.revision, "chest")
    fold, ribs = (fit.of_piece(desk, kept, view, name) for name in ("fold", "ribs"))
    assert [p.pose for p in fold.poses] == ["relaxed", "flexed", "breathed in", "arm raised"]
    assert next(p for p in fold.poses if p.worst).pose == "arm raised"
    assert fold.fit.mark("flex").value == pytest.approx(next(p for p in fold.poses if p.worst).value)
    assert ribs.fit.mark("bone").value == 1.0


def test_every_overlay_has_a_table_that_says_the_same(client: TestClient, laid: str) -> None:
    for what, words in (("stretch", "Bent"), ("seen", "Outer"), ("zones", "Shoulder cap")):
        got = client.get(f"/plans/{laid}/desk/left_arm/table", params={"what": what})
        assert got.status_code == 200 and words in got.text and "<table" in got.text
        if what != "zones":
            assert got.text.count('<th scope="row">') == 2
    shares = re.findall(r"<td>(?:<b>)?(\d+)(?:</b>)?</td>", client.get(
        f"/plans/{laid}/desk/left_arm/table", params={"what": "seen"}).text)
    assert len(shares) == 8 and all(0 <= int(v) <= 100 for v in shares)


def test_nothing_and_nonsense_lie_nowhere(client: TestClient, laid: str) -> None:
    for what in ("", "x", "<b>"):
        assert over(client, laid, what)["svg"] == ""
    assert over(client, laid, "stretch", "upside down")["choice"] == "worst"
    assert "no such overlay" in client.get(f"/plans/{laid}/desk/left_arm/table", params={"what": "y"}).text


def test_the_page_offers_what_the_part_has(client: TestClient, laid: str) -> None:
    text = client.get(f"/plans/{laid}/compose/left_arm").text
    for what, words in tint.WHAT.items():
        assert f'<option value="{what}">{words.lower()}</option>' in text
