"""What the desk answers: only what changed, in order; what a skin tone or a title can't do to a page."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.sheet import unroll
from composer.plan.model import Settings
from composer.sheets.unrolled import thinned
from composer.store.store import Store
from web.paint.colour import mixed, skin_of
from web.paint.paths import path_data
from web.paint.table import numbers, side_at, sides
from web.tracing import traced_piece


def square(size: float = 30.0) -> Drawing:
    ring = np.array([[-size, -size], [size, -size], [size, size], [-size, size]]) / 2
    return Drawing((ring,), (Layer("line", (ring, ring * 0.9)),))


@pytest.fixture
def two(store: Store, plan_id: str) -> str:
    """Two squares, `b` in front of `a`, `c` over the seam."""
    art = store.keep_drawing(square())
    for name, u, s in (("a", 0.0, 200.0), ("b", 0.02, 205.0), ("c", 0.499, 100.0)):
        store.commit(plan_id, {"do": "place", "piece": {"id": name, "part": "left_arm", "art": art,
                                                        "title": f"Square {name}", "u": u, "s_mm": s}})
    return plan_id


def ask(client: TestClient, pid: str, path: str, **data: str) -> tuple[str, dict]:
    got = client.post(f"/plans/{pid}/desk/left_arm{path}", data=data, headers={"hx-request": "true"})
    assert got.status_code == 200, got.text[:300]
    found = re.search(r'id="desk-data"[^>]*>(.*?)</script>', got.text, re.S)
    assert found
    return got.text, json.loads(found[1])


def arrived(text: str) -> list[str]:
    return re.findall(r'<g class="piece[^"]*" id="piece-([^"]+)"', text)


def test_only_new_pictures_are_sent_and_the_order_is_told(client: TestClient, store: Store, two: str) -> None:
    text, data = ask(client, two, "/refresh")
    assert arrived(text) == ["a", "b", "c"] == [p["id"] for p in data["pieces"]]
    have = dict(re.findall(r'data-id="([^"]+)" data-key="([^"]+)"', text))
    text, _ = ask(client, two, "/refresh", have=json.dumps(have))
    assert arrived(text) == []
    step = json.dumps({"do": "change", "pieces": [{"id": "b", "s_mm": 240.0}]})
    text, data = ask(client, two, "/step", have=json.dumps(have), step=step, sel="b")
    assert arrived(text) == ["b"]
    assert next(p for p in data["pieces"] if p["id"] == "b")["s"] == 240.0
    step = json.dumps({"do": "order", "ids": ["a"], "to": "front"})
    text, data = ask(client, two, "/step", have=json.dumps(have | {"b": ""}), step=step)
    assert [p["id"] for p in data["pieces"]][-1] == "a" and "a" not in arrived(text)
    text, data = ask(client, two, "/undo", have=json.dumps(have))
    assert [p["id"] for p in data["pieces"]] == ["a", "b", "c"]


def test_a_piece_over_the_seam_is_drawn_on_both_sides(client: TestClient, two: str) -> None:
    text, _ = ask(client, two, "/refresh")
    parts = re.split(r'id="piece-(\w+)"', text)
    groups = dict(zip(parts[1::2], parts[2::2], strict=True))
    assert groups["a"].count('class="copy"') == 1
    assert re.findall(r'data-shift="(-?\d+)"', groups["c"]) == ["-1", "0"]


def test_changes_made_in_two_windows_both_stand(client: TestClient, store: Store, two: str) -> None:
    ask(client, two, "/step", step=json.dumps({"do": "change", "pieces": [{"id": "a", "s_mm": 210.0}]}))
    ask(client, two, "/step", step=json.dumps({"do": "change", "pieces": [{"id": "a", "turn_deg": 30.0}]}))
    piece = store.load(two).plan.piece("a")
    assert (piece.s_mm, piece.turn_deg) == (210.0, 30.0)


def test_fields_read_units_and_say_what_is_wrong(client: TestClient, store: Store, two: str) -> None:
    ask(client, two, "/field", name="size", value="2 in", sel="a")
    assert store.load(two).plan.piece("a").scale == pytest.approx(50.8 / 30)
    ask(client, two, "/field", name="around", value="-90", sel="a")
    assert store.load(two).plan.piece("a").u == pytest.approx(-0.25)
    for name, value in (("size", "-3"), ("size", "huge"), ("turn", "left"), ("turn", "nan"), ("up", ""), ("hue", "1"),
                        ("title", " ")):
        got = client.post(f"/plans/{two}/desk/left_arm/field", data={"name": name, "value": value, "sel": "a"})
        assert got.status_code == 422, (name, value)


def test_titles_and_skin_cannot_break_out_of_the_page(client: TestClient, store: Store, two: str) -> None:
    bad = '</script><img src=x onerror=alert(1)>"\''
    ask(client, two, "/step", step=json.dumps({"do": "change", "pieces": [{"id": "a", "title": bad}]}))
    hostile = json.dumps({"do": "settings", "set": {"skin": 'red"><script>1</script>'}})
    assert client.post(f"/plans/{two}/desk/left_arm/step", data={"step": hostile}).status_code == 422
    for path in (f"/plans/{two}/compose/left_arm?sel=a", f"/plans/{two}/tie-in/left_arm", "/", f"/plans/{two}/print",
                 f"/plans/{two}/picture.svg"):
        text = client.get(path).text
        assert "<img src=x" not in text and "<script>1" not in text, path
    text, data = ask(client, two, "/refresh")
    assert "<img src=x" not in text and data["pieces"][0]["title"] == bad


def test_the_start_page_with_nothing_on_it(client: TestClient) -> None:
    assert "No plans yet" in client.get("/").text


def test_a_part_without_measures_leads_to_the_tape(client: TestClient, plan_id: str) -> None:
    got = client.get(f"/plans/{plan_id}/compose/right_leg", follow_redirects=False)
    assert got.status_code == 303 and "/measure/right_leg" in got.headers["location"]
    assert "Ankle" in client.get(f"/plans/{plan_id}/measure/right_leg").text


def test_measures_are_taken_whole_or_not_at_all(client: TestClient, store: Store, plan_id: str) -> None:
    before = store.load(plan_id)
    swapped = {k: f"{v} mm" for k, v in TYPICAL_MM.items()} | {"wrist": "330 mm", "upper_arm": "172 mm"}
    got = client.post(f"/plans/{plan_id}/measure/left_arm", data=swapped | {"unit": "cm"})
    assert got.status_code == 422 and got.text.count('class="problem"') >= 2
    assert store.load(plan_id) == before
    fine = {k: f"{v} mm" for k, v in TYPICAL_MM.items()} | {"wrist": "16,8", "unit": "cm"}
    got = client.post(f"/plans/{plan_id}/measure/left_arm", data=fine, follow_redirects=False)
    assert got.status_code == 303 and store.load(plan_id).plan.part("left_arm").measures["wrist"] == 168


def test_sides_of_an_arm() -> None:
    """u grows to the right as the skin is seen from outside: on a left arm that is towards the outer side."""
    assert sides("left_arm")[0.25] == "outer side" and sides("right_arm")[0.25] == "inner side"
    assert [side_at("left_arm", u) for u in (0.02, 0.3, -0.48, -0.2)] == ["front", "outer side", "back", "inner side"]


def test_paths_keep_within_their_tolerance() -> None:
    """The drawn path strays no further than it says, by shapely's own distance."""
    import shapely

    t = np.linspace(0, 2 * np.pi, 2000, endpoint=False)
    ring = np.column_stack([40 * np.cos(t) + np.sin(9 * t), 25 * np.sin(t)])
    kept = thinned([ring], 0.05)[0]
    assert len(kept) < 400
    assert shapely.hausdorff_distance(shapely.LinearRing(kept), shapely.LinearRing(ring)) <= 0.05 + 1e-9
    text = path_data([ring], 0.05)
    start, moves = re.match(r"M(-?\d+ ?-?\d+)l(.*)z", text).groups()  # type: ignore[union-attr]
    x, y = map(int, re.findall(r"-?\d+", start))
    steps = np.array(list(map(int, re.findall(r"-?\d+", moves)))).reshape(-1, 2)
    xy = np.cumsum([[x, y], *steps], axis=0) / np.array([100, -100])
    assert shapely.hausdorff_distance(shapely.LinearRing(xy), shapely.LinearRing(ring)) <= 0.05 + 0.0072


def test_a_traced_outline_has_its_true_size() -> None:
    """A 60 by 40 mm ellipse drawn on the sheet of a cylinder, where the sheet is true, keeps area and place."""
    arm = build_limb("left_arm", TYPICAL_MM)
    limb = replace(arm, levels=tuple(replace(lv, girth_mm=300.0) for lv in arm.levels))
    sheet = unroll(limb)
    t = np.linspace(0, 2 * np.pi, 200, endpoint=False)
    at = sheet.to_flat(np.array([[0.1, 200.0]]))[0]
    ring = at + np.column_stack([30 * np.cos(t), 20 * np.sin(t)])
    drawing, u, s = traced_piece(json.dumps(ring.tolist()), sheet)
    assert drawing.outline.area == pytest.approx(np.pi * 30 * 20, rel=0.01)
    assert (u, s) == (pytest.approx(0.1, abs=1e-3), pytest.approx(200, abs=0.2))


def test_numbers_for_the_browser_follow_the_limb() -> None:
    limb = build_limb("left_arm", TYPICAL_MM)
    data = numbers(unroll(limb), "left_arm")
    s = np.linspace(data["s"][0], data["s"][1], len(data["girth"]))
    mid = (s[1:] + s[:-1]) / 2
    assert np.abs(np.interp(mid, s, data["girth"]) - limb.girth(mid)).max() < 0.02


def test_colours() -> None:
    assert mixed("#000000", "#ffffff", 0.25) == "#bfbfbf"
    assert skin_of(Settings(skin="red;}")) == Settings().skin and skin_of(Settings(skin="#80583f")) == "#80583f"
    with pytest.raises(ValueError, match="rrggbb"):
        mixed("red", "#ffffff", 0.5)


def test_the_list_of_plans_tells_a_bare_plan_and_counts_background_apart(client: TestClient, store: Store,
                                                                         two: str) -> None:
    cloud = {"kind": "cloud", "seed": 1, "params": {}, "goal": {}}
    art = store.load(two).plan.piece("a").art
    store.commit(two, {"do": "place", "piece": {"id": "f", "part": "left_arm", "art": art, "title": "Bank", "u": 0.2,
                                                "s_mm": 300.0, "recipe": cloud}})
    bare = store.create("Tomorrow at ten")
    text = " ".join(client.get("/").text.split())
    assert "3 pieces and background, changed" in text and "No pieces, changed" in text
    assert text.count("Nothing taped yet") == 1 and f"/plans/{bare}/picture.svg" not in text


def test_a_tapped_drawing_is_as_large_as_its_gap_allows_about_its_middle_and_clear_of_the_ends(
        client: TestClient, store: Store, plan_id: str) -> None:
    motif = next(m for m in store.shelf() if m.id == "pilots_daughter")
    least, own = motif.side["min_mm"], max(motif.width_mm, motif.height_mm)

    def laid(s_mm: float, **more: object) -> tuple[float, np.ndarray, np.ndarray]:
        client.post(f"/plans/{plan_id}/desk/left_arm/place",
                    data={"motif": motif.id, "u": 0.1, "s": s_mm, "on": "", **more})
        piece = store.load(plan_id).plan.pieces[-1]
        girth = float(build_limb("left_arm", TYPICAL_MM).girth(piece.s_mm))
        xy = np.concatenate(store.gallery[piece.art].silhouette) * piece.scale + (piece.u * girth, piece.s_mm)
        return own * piece.scale, (xy.min(axis=0) + xy.max(axis=0)) / 2 - (0.1 * girth, 0.0), xy.max(axis=0)

    end = sum(v for k, v in TYPICAL_MM.items() if "_to_" in k)
    dropped, _, far = laid(485.0)
    assert far[1] > end   # where and as large as it was dropped
    for room, size in ((1.0, least), (1.05 * least, 1.05 * least), (10_000.0, dropped)):
        longer, middle, _ = laid(250.0, room=room)
        assert longer == pytest.approx(size) and middle == pytest.approx([0.0, 250.0], abs=0.01)
        assert laid(485.0, room=room)[2][1] == pytest.approx(end)
