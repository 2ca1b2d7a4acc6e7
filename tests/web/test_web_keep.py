"""What of a piece no cut of its stencil may go through, marked on the desk."""

from __future__ import annotations

import json

import numpy as np
import pytest
from shapely.geometry import Point, Polygon
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.sheet import unroll
from composer.plan.form import plan_from_json, plan_to_json
from composer.sheets.stencil import stencil
from composer.store.store import Store

SHEET = unroll(build_limb("left_arm", dict(TYPICAL_MM)), -0.5)


@pytest.fixture
def sign(store: Store, plan_id: str) -> str:
    """A board of 60 by 40 mm, drawn at half its size, turned by 30 degrees, flipped, at 200 mm on the front."""
    ring = np.array([[-15, -10], [15, -10], [15, 10], [-15, 10]], float)
    art = store.keep_drawing(Drawing((ring,), (Layer("line", (ring, ring * 0.9)),)))
    store.commit(plan_id, {"do": "place", "piece": {
        "id": "sign", "part": "left_arm", "art": art, "title": "Sign", "u": 0.02, "s_mm": 200.0, "turn_deg": 30.0,
        "scale": 2.0, "flip": True}})
    return plan_id


def stroke(at: tuple[float, float]) -> str:
    """A dab on the sheet at a place of the piece's patch, mm from its anchor."""
    girth = float(SHEET.limb.girth(200.0))
    skin = np.array([[0.02 + at[0] / girth, 200.0 + at[1]]])
    return json.dumps(SHEET.to_flat(np.vstack([skin, skin])).round(3).tolist())


def test_all_of_a_piece_is_kept_whole_and_let_go(client: TestClient, store: Store, sign: str) -> None:
    at = f"/plans/{sign}/desk/left_arm"
    got = client.post(at + "/keep", data={"id": "sign", "on": "1", "sel": "sign"})
    assert got.status_code == 200 and 'aria-pressed="true">Keep all of it whole' in got.text
    plan = store.load(sign).plan
    assert plan_from_json(plan_to_json(plan)).piece("sign").extra == {"keep_whole": True}
    made = stencil(plan, ["sign"], store.gallery)
    assert made.keep.area == pytest.approx(60 * 40, rel=0.01)
    client.post(at + "/undo", data={})
    assert stencil(store.load(sign).plan, ["sign"], store.gallery).keep.is_empty


def test_what_is_painted_lies_where_it_was_painted(client: TestClient, store: Store, sign: str) -> None:
    at = f"/plans/{sign}/desk/left_arm"
    client.post(at + "/keep", data={"id": "sign", "stroke": stroke((10.0, 5.0)), "width": "16"})
    made = stencil(store.load(sign).plan, ["sign"], store.gallery)
    assert made.keep.area == pytest.approx(np.pi * 64, rel=0.05)
    assert made.keep.centroid.distance(Point(10.0, 5.0)) < 0.5
    own = Polygon(store.load(sign).plan.piece("sign").extra["keep_whole"][0])
    assert own.area == pytest.approx(np.pi * 16, rel=0.05)
    client.post(at + "/keep", data={"id": "sign", "stroke": stroke((-10.0, -5.0)), "width": "16"})
    two = client.post(at + "/refresh", data={"sel": "sign"})
    assert "Forget what was painted (2)" in two.text
    client.post(at + "/keep", data={"id": "sign", "on": "0"})
    assert store.load(sign).plan.piece("sign").extra["keep_whole"] is False


def test_a_dab_beside_the_piece_and_nonsense_are_said(client: TestClient, store: Store, sign: str) -> None:
    at = f"/plans/{sign}/desk/left_arm"
    for data, words in (({"stroke": stroke((90.0, 0.0)), "width": "16"}, "beside this piece"),
                        ({"stroke": "[[1]]", "width": "16"}, "paint it again"),
                        ({"stroke": stroke((0.0, 0.0)), "width": "0"}, "6 to 120 mm")):
        got = client.post(at + "/keep", data={"id": "sign", **data})
        assert got.status_code == 422 and words in got.text
    step = {"do": "change", "pieces": [{"id": "sign", "keep_whole": [[["x", 1]]]}]}
    got = client.post(at + "/step", data={"step": json.dumps(step)})
    assert got.status_code == 422 and "could not be read" in got.text
    assert "keep_whole" not in store.load(sign).plan.piece("sign").extra
