"""Composing by mouse, finger and key; what is done is in the store at once and survives a restart."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from desk_server import Served, drawn
from playwright.sync_api import Page, expect

from composer.body.measures import TYPICAL_MM
from composer.plan.model import Piece
from composer.store.store import Store

pytestmark = pytest.mark.browser
BOX = "document.querySelector('#sheet').getBoundingClientRect()"


def open_desk(page: Page, served: Served, step: str = "compose", part: str = "left_arm") -> None:
    page.goto(f"{served.url}/plans/{served.plan_id}/{step}/{part}")
    page.locator("body.ready").wait_for()


def at_rest(page: Page) -> None:
    """Until every answer has been put in place."""
    page.locator("body:not(.waiting)").wait_for()
    expect(page.locator("#lift > *")).to_have_count(0)


def stored(served: Served, piece_id: str) -> Piece:
    return served.store.load(served.plan_id).plan.piece(piece_id)


def changed(page: Page, served: Served, before: Piece) -> Piece:
    """The piece as it is stored once it is another than before, and the page at rest."""
    for _ in range(600):
        if stored(served, before.id) != before:
            at_rest(page)
            return stored(served, before.id)
        page.wait_for_timeout(50)
    raise AssertionError(f"{before.title} did not change within 30 s")


def middle(page: Page, selector: str) -> tuple[float, float]:
    box = page.locator(selector).first.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page: Page, start: tuple[float, float], by: tuple[float, float]) -> None:
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] + by[0] / 2, start[1] + by[1] / 2, steps=4)
    page.mouse.move(start[0] + by[0], start[1] + by[1], steps=4)
    page.mouse.up()
    at_rest(page)


def test_place_drag_turn_size_and_undo_after_a_restart(page: Page, bare: Served, tmp_path: Path) -> None:
    open_desk(page, bare)
    page.locator("#motif-heron button").click()
    expect(page.locator("#pieces > .piece")).to_have_count(1)
    at_rest(page)
    (piece,) = bare.store.load(bare.plan_id).plan.pieces
    assert piece.motif == "heron" and piece.state == "planned"
    limb_mm = sum(v for k, v in TYPICAL_MM.items() if "_to_" in k)
    assert piece.u == pytest.approx(0.0, abs=1e-3) and piece.s_mm == pytest.approx(0.75 * limb_mm, abs=1.0)
    page.get_by_role("button", name="Back", exact=True).click()
    expect(page.locator("#motif-heron")).to_be_visible()
    page.locator("#pieces > .piece").click()
    expect(page.locator("#f-title")).to_be_visible()

    px_per_mm = page.evaluate("document.querySelector('#pieces > .piece').getScreenCTM().a * 100")
    drag(page, middle(page, "#pieces > .piece"), (0, -60))
    moved = stored(bare, piece.id)
    assert moved.s_mm - piece.s_mm == pytest.approx(60 / px_per_mm, abs=8)
    assert moved.turn_deg == piece.turn_deg and moved.scale == piece.scale

    drag(page, middle(page, "#grip-turn .tag"), (80, 40))
    turned = stored(bare, piece.id)
    assert turned.turn_deg < -5 and (turned.u, turned.s_mm) == (moved.u, moved.s_mm)

    drag(page, middle(page, "#grip-size .tag"), (40, 40))
    assert stored(bare, piece.id).scale > turned.scale * 1.05

    with Served(bare.folder, None) as again:
        page.goto(f"{again.url}/plans/{bare.plan_id}/compose/left_arm")
        page.locator("body.ready").wait_for()
        page.locator("#undo").click()
        expect(page.locator("#redo")).to_be_enabled()
        at_rest(page)
        assert again.store.load(bare.plan_id).plan.piece(piece.id).scale == turned.scale
        page.keyboard.press("Control+z")
        expect(page.locator("#undo .label")).to_contain_text("move")
        at_rest(page)
        assert again.store.load(bare.plan_id).plan.piece(piece.id) == moved


def test_keys_nudge_turn_duplicate_and_delete(page: Page, served: Served) -> None:
    open_desk(page, served)
    page.locator("[data-pick=demo5]").click()
    expect(page.locator("#f-title")).to_have_value(re.compile("Tern"))
    before = stored(served, "demo5")
    page.locator("#table").focus()
    for _ in range(3):
        page.keyboard.press("ArrowUp")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("[")
    expect(page.locator("#undo")).to_be_enabled()
    at_rest(page)
    after = stored(served, "demo5")
    girth = 2 * 3.14159 * 60
    assert after.s_mm == pytest.approx(before.s_mm + 3, abs=1e-6)
    assert 10 / (girth * 1.6) < after.u - before.u < 10 / (girth * 0.5)
    assert after.turn_deg == pytest.approx(before.turn_deg + 1)
    page.keyboard.press("Control+d")
    expect(page.locator("#piece-list > li")).to_have_count(15)
    at_rest(page)
    page.keyboard.press("Delete")
    expect(page.locator("#piece-list > li")).to_have_count(14)


def test_a_finger_moves_and_two_fingers_turn_and_size(touch: Page, served: Served) -> None:
    open_desk(touch, served)
    touch.locator("[data-pick=demo12]").click()
    expect(touch.locator("#grip-turn")).to_be_visible()
    at_rest(touch)
    before = stored(served, "demo12")
    x, y = middle(touch, "#piece-demo12")
    cdp = touch.context.new_cdp_session(touch)

    def fingers(kind: str, *points: tuple[float, float]) -> None:
        cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [
            {"x": px, "y": py, "id": i} for i, (px, py) in enumerate(points)]})

    fingers("touchStart", (x - 20, y))
    fingers("touchStart", (x - 20, y), (x + 20, y))
    for k in range(1, 9):
        fingers("touchMove", (x - 20 - 2 * k, y - 2 * k), (x + 20 + 2 * k, y + 2 * k))
    fingers("touchEnd")
    at_rest(touch)
    expect(touch.locator("#undo")).to_be_enabled()
    after = stored(served, "demo12")
    assert 1.5 < after.scale / before.scale < 2.3
    assert -35 < after.turn_deg - before.turn_deg < -15, "both fingers went clockwise"
    assert abs(after.s_mm - before.s_mm) < 3

    x, y = middle(touch, "#piece-demo12")
    fingers("touchStart", (x, y))
    for k in range(1, 9):
        fingers("touchMove", (x, y - 5 * k))
    fingers("touchEnd")
    expect(touch.locator("#undo .label")).to_contain_text("move")
    at_rest(touch)
    assert stored(served, "demo12").s_mm > after.s_mm + 10


def test_trace_a_healed_piece(page: Page, bare: Served) -> None:
    open_desk(page, bare)
    page.locator("[data-act=trace]").click()
    expect(page.locator("body.tracing")).to_have_count(1)
    x, y = middle(page, "#sheet .skin-sheet")
    scale = "document.querySelector('#sheet .skin-sheet').getScreenCTM().a"
    drawn_at = page.evaluate(scale)
    page.mouse.move(x - 60, y - 40)
    page.mouse.down()
    for dx, dy in ((60, -40), (60, 50), (-60, 50), (-60, -38)):
        page.mouse.move(x + dx, y + dy, steps=6)
    page.mouse.up()
    expect(page.locator("#pieces > .piece.healed")).to_have_count(1)
    at_rest(page)
    (piece,) = bare.store.load(bare.plan_id).plan.pieces
    assert piece.state == "healed"
    px = page.evaluate("document.querySelector('#pieces > .piece').getScreenCTM().a * 100")
    assert page.evaluate(scale) == drawn_at, "the line of help moves nothing"
    area = bare.store.gallery[piece.art].outline.area
    assert area == pytest.approx(120 * 90 / px**2, rel=0.12)


def test_depth_lock_flip_state_and_rename(page: Page, served: Served) -> None:
    open_desk(page, served)
    page.locator("[data-pick=demo7]").click()
    expect(page.locator("#f-title")).to_have_value(re.compile("eel"))
    page.get_by_role("button", name="To the back").click()
    expect(page.locator("#piece-list > li").last).to_contain_text("eel")
    page.get_by_role("button", name="Flip").click()
    expect(page.locator(".seen img.flipped")).to_have_count(1)
    page.locator("label:has-text('Healed')").click()
    expect(page.locator("#piece-demo7.healed")).to_have_count(1)
    page.locator("#f-title").fill("Old eel")
    page.locator("#f-title").press("Enter")
    expect(page.locator("#row-demo7")).to_contain_text("Old eel")
    page.locator("#f-size").fill("4 in")
    page.locator("#f-size").press("Enter")
    expect(page.locator("#f-size")).to_have_value("10.2")
    page.get_by_role("button", name="Lock", exact=True).click()
    expect(page.get_by_role("button", name="Unlock", exact=True)).to_be_visible()
    at_rest(page)
    before = stored(served, "demo7")
    assert before.flip and before.state == "healed" and before.title == "Old eel" and before.locked
    drag(page, middle(page, "#piece-demo7"), (40, 40))
    assert stored(served, "demo7") == before, "what is locked stays"


def test_several_at_once(page: Page, served: Served) -> None:
    open_desk(page, served)
    page.locator("[data-pick=demo12]").click()
    page.locator("[data-pick=demo14]").click(modifiers=["Shift"])
    expect(page.locator("#panel h2")).to_have_text("2 pieces")
    at_rest(page)
    a, b = stored(served, "demo12"), stored(served, "demo14")
    drag(page, middle(page, "#piece-demo12"), (-30, -25))
    a2, b2 = stored(served, "demo12"), stored(served, "demo14")
    assert b2.u - b.u == pytest.approx(a2.u - a.u, abs=1e-9) and a2.s_mm - a.s_mm > 5
    assert b2.s_mm - b.s_mm == pytest.approx(a2.s_mm - a.s_mm, abs=1e-6)
    page.locator("#undo").click()
    expect(page.locator("#redo")).to_be_enabled()
    at_rest(page)
    assert (stored(served, "demo12"), stored(served, "demo14")) == (a, b), "one gesture, one step"


def test_mirror_to_the_other_arm_and_linked(page: Page, served: Served) -> None:
    open_desk(page, served)
    before = stored(served, "demo2").s_mm
    page.locator("[data-pick=demo2]").click()
    page.get_by_role("button", name="Mirror to the right arm").click()
    page.get_by_role("link", name="Show it").click()
    page.locator("body.ready").wait_for()
    expect(page.locator("#panel")).to_contain_text("mm")
    plan = served.store.load(served.plan_id).plan
    (twin,) = plan.on("right_arm")
    assert twin.twin_of == "demo2" and twin.linked and twin.flip != plan.piece("demo2").flip
    assert twin.u == pytest.approx(-plan.piece("demo2").u, abs=1e-9)
    page.locator("#table").focus()
    page.keyboard.press("Shift+ArrowUp")
    expect(page.locator("#undo .label")).to_contain_text("move")
    at_rest(page)
    assert stored(served, "demo2").s_mm > before + 5, "the first follows its linked twin"
    page.get_by_role("button", name="Set free").click()
    expect(page.locator("#panel")).to_contain_text("set free")


def test_two_windows_on_one_plan(page: Page, served: Served) -> None:
    open_desk(page, served)
    other = page.context.browser.new_context().new_page()  # type: ignore[union-attr]
    open_desk(other, served)
    other.locator("[data-pick=demo5]").click()
    expect(other.locator("#f-title")).to_have_value(re.compile("Tern"))
    other.locator("#table").focus()
    other.keyboard.press("Delete")
    expect(other.locator("#piece-demo5")).to_have_count(0)
    expect(page.locator("#piece-demo5")).to_have_count(0)

    page.evaluate("document.hidden || Object.defineProperty(document, 'hidden', { value: true })")
    page.locator("[data-pick=demo6]").click()
    expect(page.locator("#f-title")).to_have_value(re.compile("Curlew"))
    at_rest(page)
    served.store.commit(served.plan_id, {"do": "remove", "ids": ["demo6"]})
    drag(page, middle(page, "#piece-demo6"), (30, 30))
    expect(page.locator("#notice")).to_contain_text("may have been deleted in another window")
    expect(page.locator("#piece-demo6")).to_have_count(0)
    other.context.close()


def test_pan_and_zoom_change_nothing_but_the_view(page: Page, served: Served) -> None:
    open_desk(page, served)
    before = served.store.revision(served.plan_id)
    x, y = middle(page, "#table")
    was = page.locator("#sheet").bounding_box()
    assert was
    page.mouse.move(x, y)
    page.mouse.wheel(0, -240)
    page.wait_for_function(f"was => {BOX}.width > 1.1 * was", arg=was["width"])
    page.wait_for_timeout(300)      # until it rests
    drawn(page)
    larger, table = page.locator("#sheet").bounding_box(), page.locator("#table").bounding_box()
    assert table and larger and larger["width"] > was["width"] * 1.1
    page.mouse.move(table["x"] + 12, table["y"] + 300)
    page.mouse.down()
    page.mouse.move(table["x"] + 92, table["y"] + 340, steps=5)
    page.mouse.up()
    page.wait_for_function(f"was => Math.abs({BOX}.x - was - 80) < 2", arg=larger["x"])
    panned = page.locator("#sheet").bounding_box()
    assert panned and panned["x"] - larger["x"] == pytest.approx(80, abs=2)
    page.get_by_role("button", name="Whole sheet").click()
    page.wait_for_function(f"was => Math.abs({BOX}.width - was) < 1", arg=was["width"])
    again = page.locator("#sheet").bounding_box()
    assert again and again["width"] == pytest.approx(was["width"], abs=1)
    assert served.store.revision(served.plan_id) == before


def test_an_own_drawing_goes_on_the_shelf_and_a_bad_one_is_refused_in_words(page: Page, bare: Served,
                                                                           tmp_path: Path) -> None:
    good = tmp_path / "gull.svg"
    good.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">'
                    '<path d="M5 30 C20 5 35 5 40 28 C45 5 60 5 75 30 L40 50 Z" fill="none" stroke="#000" '
                    'stroke-width="1.5"/></svg>')
    bad = tmp_path / "trap.svg"
    bad.write_text('<!DOCTYPE svg [<!ENTITY a "b">]><svg xmlns="http://www.w3.org/2000/svg"><text>&a;</text></svg>')
    open_desk(page, bare)
    page.locator("#own-art").set_input_files([good])
    expect(page.locator("#notice")).to_contain_text("gull")
    expect(page.locator("#shelf .card").first).to_contain_text("gull")
    page.locator("#own-art").set_input_files([bad])
    expect(page.locator("#notice")).to_contain_text("trap.svg")
    assert next(m.title for m in Store(bare.folder).shelf()) == "gull"
