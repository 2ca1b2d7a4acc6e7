"""The browser's closed forms against the library's: the same chart, so a piece lands where it was seen."""

from __future__ import annotations

import numpy as np
import pytest
from desk_server import Served, drawn
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page

from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.patch import Patch
from composer.body.sheet import unroll
from composer.plan.model import Piece
from composer.plan.scene import matrix
from web.paint.table import numbers

pytestmark = pytest.mark.browser


@pytest.fixture
def module(page: Page, bare: Served) -> Page:
    page.goto(bare.url)
    return page


def test_patch_is_the_librarys(module: Page) -> None:
    rng = np.random.default_rng(5)
    for _ in range(12):
        patch = Patch(float(rng.uniform(-1, 1)), float(rng.uniform(0, 480)), float(rng.uniform(120, 480)),
                      float(rng.choice([0.0, rng.uniform(-0.9, 0.9), 1e-7])))
        xy = rng.uniform(-110, 110, (20, 2))
        skin = patch.to_skin(xy)
        got = module.evaluate("""async ([p, xy]) => {
            const { Patch } = await import('/static/js/geometry.js');
            const patch = new Patch(p);
            return xy.map(([x, y]) => {
                const [u, s] = patch.toSkin(x, y);
                return [u, s, ...patch.toFlat(u, s), patch.turnAt(u)];
            });
        }""", [{"u0": patch.u0, "s0": patch.s0_mm, "c1": patch.c1_mm, "b": patch.b}, xy.tolist()])
        got = np.array(got)
        # One turn of girth is about 300 mm, so 1e-11 turns are far below a thousandth of a mm.
        assert np.abs(got[:, 0] - skin[:, 0]).max() < 1e-9
        assert np.abs(got[:, 1] - skin[:, 1]).max() < 1e-7
        assert np.abs(got[:, 2:4] - xy).max() < 1e-6
        assert np.abs(got[:, 4] - [patch.turn_at(u) for u in skin[:, 0]]).max() < 1e-7


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(u=st.floats(-0.5, 0.49), s=st.floats(20, 460), turn=st.floats(-179, 179), scale=st.floats(0.3, 2.5),
       flip=st.booleans(), gx=st.floats(-30, 30), gy=st.floats(-30, 30), dx=st.floats(-60, 60), dy=st.floats(-60, 60))
def test_a_grip_stays_under_the_finger(module: Page, u: float, s: float, turn: float, scale: float, flip: bool,
                                       gx: float, gy: float, dx: float, dy: float) -> None:
    """Dragging by a point of a piece: the anchor found puts that very point where the finger is."""
    limb = build_limb("left_arm", TYPICAL_MM)
    sheet = unroll(limb)
    piece = Piece("p", "left_arm", "", "", u, s, turn, scale, flip)

    def shown(u: float, s: float) -> np.ndarray:
        """The grip on the sheet: own mm, turned on skin, drawn as wide as the sheet shows skin at s."""
        x, y = matrix(piece)[:, :2] @ (gx, gy)
        a = np.radians(sheet.patch.turn_at(u))
        k = (sheet.patch.c1_mm + sheet.patch.b * (s - sheet.patch.s0_mm)) / float(limb.girth(s))
        at = sheet.to_flat(np.array([[u, s]]))[0]
        return at + np.array([k * x * np.cos(a) - y * np.sin(a), k * x * np.sin(a) + y * np.cos(a)])

    goal = shown(u, s) + np.array([dx, dy])
    got = module.evaluate("""async ([data, place, grip, goal]) => {
        const { Sheet, anchorFor, gripAt, placed, linear } = await import('/static/js/geometry.js');
        const sheet = new Sheet(data);
        const to = anchorFor(sheet, place, grip, ...goal);
        return [to.u, to.s, ...gripAt(sheet, { ...place, ...to }, ...goal)];
    }""", [numbers(sheet, "left_arm"), {"u": u, "s": s, "turn": turn, "scale": scale, "flip": flip}, [gx, gy],
           goal.tolist()])
    assert np.hypot(*(shown(got[0], got[1]) - goal)) < 0.02 + 0.05 * abs(min(0.0, got[1], limb.s_max - got[1]))
    assert np.hypot(got[2] - gx, got[3] - gy) * scale < 0.05


def test_the_lifted_picture_is_the_dropped_one(page: Page, bare: Served) -> None:
    """What the hand carries, and what the server draws where it was let go, cover each other to 1.5 mm."""
    motif = next(m for m in bare.store.shelf() if m.id == "heron")
    bare.store.commit(bare.plan_id, {"do": "place", "piece": {
        "id": "bird", "part": "left_arm", "art": motif.digest, "title": "Heron", "u": -0.2, "s_mm": 150.0,
        "scale": 0.5}})
    page.goto(f"{bare.url}/plans/{bare.plan_id}/compose/left_arm")
    page.locator("body.ready").wait_for()
    box = page.locator("#piece-bird").bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 60, y - 60, steps=4)
    page.mouse.move(x + 210, y - 150, steps=6)
    drawn(page)
    page.wait_for_timeout(100)
    seen = """([sel, k]) => { const p = document.querySelector(sel), m = p.getScreenCTM(), n = p.getTotalLength();
        return Array.from({ length: k }, (_, i) => { const q = p.getPointAtLength(n * i / k).matrixTransform(m);
            return [q.x, q.y]; }); }"""
    lifted = np.array(page.evaluate(seen, ["#lift svg .copy path.skin", 60]))
    scale = page.evaluate("document.querySelector('#piece-bird').getScreenCTM().a")
    page.mouse.up()
    page.locator("#lift svg").first.wait_for(state="detached")
    dropped = np.array(page.evaluate(seen, ["#piece-bird path.skin", 1500]))
    moved = np.hypot(*(dropped.mean(axis=0) - (x, y)))
    assert moved > 150, "the piece was not moved at all"
    far = np.sqrt(((lifted[:, None] - dropped[None]) ** 2).sum(axis=2)).min(axis=1).max() / (100 * scale)
    assert far < 1.5, f"{far:.2f} mm apart"
