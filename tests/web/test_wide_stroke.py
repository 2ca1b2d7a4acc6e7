"""A stroke of the brush over the armhole: split among the parts, filled on each, undone as one."""

from __future__ import annotations

import html
import json
import re

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.body.joins_wide import WideSheet
from composer.sheets.wide_art import wide_of
from composer.store.store import Store
from web.brush import is_brush, keys_of, part_of
from web.wide_stroke import by_part


def crossing(sheet: WideSheet, arm_mm: float = 60.0, chest_mm: float = 40.0) -> np.ndarray:
    """A straight line from the chest over the left armhole on to the arm, mm of the sheet."""
    chest, arm = (Polygon(sheet.part(p).shown) for p in ("chest", "left_arm"))
    a, b = (np.asarray(p.coords)[0] for p in shapely.ops.nearest_points(chest, arm))
    away = np.asarray(arm.centroid.coords)[0] - np.asarray(chest.centroid.coords)[0]
    away /= np.hypot(*away)
    return np.linspace((a + b) / 2 - chest_mm * away, (a + b) / 2 + arm_mm * away, 60)


def at(pid: str, what: str) -> str:
    return f"/plans/{pid}/desk/shoulders{what}"


def painted(client: TestClient, pid: str, line: np.ndarray, width: str = "24") -> tuple[str, str]:
    """The goal of a stroke and the panel's words."""
    got = client.post(at(pid, "/brush"), data={"stroke": json.dumps(line.round(2).tolist()), "width": width,
                                               "mode": "tie-in"})
    assert got.status_code == 200, got.text
    text = html.unescape(got.text)
    found = re.search(r'id="goal" data-key="(brush:[^"]+)"', text)
    assert found
    return found.group(1), text


def test_a_line_is_split_where_one_part_takes_over(store: Store, shoulders: str) -> None:
    sheet = wide_of(store.load(shoulders).plan, "shoulders")
    line = crossing(sheet)
    rows = list(by_part(sheet, line, 24.0))
    assert [p for p, _ in rows] == ["chest", "left_arm"]
    for part, xy in rows:
        assert shapely.contains_xy(Polygon(sheet.part(part).shown), *xy.T).all()
    long = sum(LineString(xy).length for _, xy in rows)
    assert 85 < long <= LineString(line).length     # what is missing lies in the slack between the sheets
    edge = list(by_part(sheet, crossing(sheet, 60.0, -6.0), 24.0))
    assert {p for p, _ in edge} == {"chest", "left_arm"}     # only the edge of this stroke reaches the chest
    away = list(by_part(sheet, crossing(sheet, 80.0, -30.0), 24.0))
    assert [p for p, _ in away] == ["left_arm"]


def test_both_sides_are_filled_as_one_step_and_said(client: TestClient, store: Store, shoulders: str) -> None:
    line = crossing(wide_of(store.load(shoulders).plan, "shoulders"))
    key, text = painted(client, shoulders, line)
    assert is_brush(key) and {part_of(k) for k in keys_of(key)} == {"chest", "left_arm"} and len(key) < 1200
    other = {"chest": "chest", "left_arm": "left arm"}[part_of(keys_of(key)[1])]
    assert re.search(rf"Also under this stroke: [\d.]+ \S+ of the {other}", text), text
    assert "as one step" in text
    send = {"for": key, "kind": "cloud", "seed": "1", "mode": "tie-in"}
    assert client.post(at(shoulders, "/candidates"), data=send).text.count("<svg") >= 1
    shown = client.post(at(shoulders, "/candidate"), data={**send, "index": "0"}).text
    assert shown.startswith('<g class="piece" id="piece-proposed">') and shown.count('id="piece-proposed-') == 2
    assert client.post(at(shoulders, "/accept"), data={**send, "index": "0"}).status_code == 200
    fillers = [p for p in store.load(shoulders).plan.pieces if p.is_filler]
    assert sorted(p.part for p in fillers) == ["chest", "left_arm"]
    for p in fillers:
        assert p.recipe is not None and p.recipe.kind == "cloud" and len(p.recipe.goal["brush"]) >= 2
    again = client.post(at(shoulders, "/remake"), data={"id": fillers[0].id, "another": "1", "mode": "tie-in"})
    assert again.status_code == 200
    for _ in range(2):
        client.post(at(shoulders, "/undo"), data={"mode": "tie-in"})
    assert not any(p.is_filler for p in store.load(shoulders).plan.pieces)


def test_a_part_that_is_covered_under_the_stroke_is_left_out(client: TestClient, store: Store, shoulders: str) -> None:
    sheet = wide_of(store.load(shoulders).plan, "shoulders")
    line = crossing(sheet)
    on_chest = dict(by_part(sheet, line, 24.0))["chest"]
    (u, s), = sheet.part("chest").to_skin(on_chest.mean(axis=0)[None])
    ring = np.array([[-60.0, -60.0], [60.0, -60.0], [60.0, 60.0], [-60.0, 60.0]])
    art = store.keep_drawing(Drawing((ring,), (Layer("line", (ring, ring * 0.9)),)))
    store.commit(shoulders, {"do": "place", "piece": {"id": "b", "part": "chest", "art": art, "title": "Buoy",
                                                      "u": float(u), "s_mm": float(s)}})
    key, text = painted(client, shoulders, crossing(sheet, 120.0))
    assert [part_of(k) for k in keys_of(key)] == ["left_arm"] and "Also under this stroke" not in text
    text_ = json.dumps(on_chest.round(2).tolist())
    bare = client.post(at(shoulders, "/brush"), data={"stroke": text_, "width": "12", "mode": "tie-in"})
    assert bare.status_code == 422 and "no open skin" in bare.text
