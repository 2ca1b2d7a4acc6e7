"""Chest and both shoulders in the browser: snapped to the midline, mirrored, taken over the armhole, at three sizes."""

from __future__ import annotations

import re

import numpy as np
import pytest
from desk_server import Served, drawn
from playwright.sync_api import Page, expect
from test_browser_compose import at_rest, changed, drag, middle, open_desk, stored

from composer.body.yoke_fields import PANEL_FIELDS, PANEL_TYPICAL_MM
from composer.sheets.wide_art import wide_of

pytestmark = pytest.mark.browser


def px_per_mm(page: Page) -> float:
    return page.evaluate("document.querySelector('#pieces > .piece').getScreenCTM().a * 100")


def test_a_piece_is_drawn_to_the_midline_and_mirrored_over_it(page: Page, yoke: Served) -> None:
    open_desk(page, yoke, part="chest")
    at_rest(page)
    off = stored(yoke, "crab").u * PANEL_TYPICAL_MM["chest"]["chest_girth"]
    drag(page, middle(page, "#piece-crab"), (-off * px_per_mm(page) + 4, 0))
    assert stored(yoke, "crab").u == 0.0, "within 7 pixels of the midline it holds"
    drag(page, middle(page, "#piece-crab"), (90, 30))
    now = stored(yoke, "crab")
    assert now.u > 0.05
    page.locator('[data-twin="midline"]').click()
    expect(page.locator("#piece-list .row")).to_have_count(2)
    (twin,) = [p for p in yoke.store.load(yoke.plan_id).plan.pieces if p.twin_of == "crab"]
    assert (twin.u, twin.flip, twin.linked) == (pytest.approx(-now.u, abs=1e-6), not now.flip, True)
    expect(page.locator("#panel")).to_contain_text("exact mirror image")
    page.locator("#table").focus()
    page.keyboard.press("ArrowUp")
    assert changed(page, yoke, now).s_mm == pytest.approx(now.s_mm + 1.0, abs=0.1), "the first follows, 1 mm of skin"


def test_the_hand_and_the_server_agree_where_a_piece_lies(page: Page, yoke: Served) -> None:
    open_desk(page, yoke, part="chest")
    start = middle(page, "#piece-crab")
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] - 30, start[1] + 60, steps=4)
    page.mouse.move(start[0] - 60, start[1] + 90, steps=4)
    drawn(page)
    page.wait_for_timeout(150)
    held = page.locator(".lifted-art .copy > .skin").first.bounding_box()
    page.mouse.up()
    at_rest(page)
    dropped = page.locator("#piece-crab .copy > .skin").first.bounding_box()
    assert held is not None and dropped is not None
    for key in ("x", "y", "width", "height"):
        assert dropped[key] == pytest.approx(held[key], abs=6), "the sheet is off by some percent, so is what is held"


def test_a_piece_taken_over_the_armhole_belongs_to_the_arm(page: Page, yoke: Served) -> None:
    open_desk(page, yoke, part="shoulders")
    expect(page.locator("#sheet .landmark")).to_have_count(1)
    wide = wide_of(yoke.store.load(yoke.plan_id).plan, "shoulders")
    x, y = wide.part("right_arm").to_wide(np.array([[-0.25, 420.0]]))[0]
    crab = stored(yoke, "crab")
    fx, fy = wide.part("chest").to_wide(np.array([[crab.u, crab.s_mm]]))[0]
    scale = px_per_mm(page)
    drag(page, middle(page, "#piece-crab"), ((x - fx) * scale, -(y - fy) * scale))
    over = changed(page, yoke, crab)
    assert over.part == "right_arm"
    assert [over.u, over.s_mm] == pytest.approx([-0.25, 420.0], abs=14)
    page.locator('[data-act="undo"]').click()
    assert changed(page, yoke, over).part == "chest"


@pytest.mark.parametrize("size", [(1440, 900), (1180, 820), (390, 844)])
def test_the_wide_sheet_fits_every_window(page: Page, yoke: Served, size: tuple[int, int]) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    open_desk(page, yoke, part="shoulders")
    table, sheet = (page.locator(s).bounding_box() for s in ("#table", "#sheet > .skin-sheet"))
    assert table is not None and sheet is not None
    assert sheet["x"] >= table["x"] and sheet["x"] + sheet["width"] <= table["x"] + table["width"]
    assert sheet["y"] >= table["y"] and sheet["y"] + sheet["height"] <= table["y"] + table["height"]
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    for part in ("chest", "upper_back"):
        page.goto(f"{yoke.url}/plans/{yoke.plan_id}/measure/{part}")
        expect(page.locator(".measure-field")).to_have_count(len(PANEL_FIELDS[part]))
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_gaps_of_the_wide_sheet_are_tied_in_on_their_part(page: Page, yoke: Served) -> None:
    open_desk(page, yoke, "tie-in", "shoulders")
    row = page.locator("#gap-fold [data-goal]", has_text=re.compile("chest yoke"))
    expect(row.first).to_be_visible(timeout=60_000)
    row.first.click()
    pick = page.locator("[data-kind=filigree] button, .picks button").first
    expect(pick).to_be_visible(timeout=60_000)


def test_the_chest_is_turned_and_a_piece_picked_on_it(page: Page, yoke: Served) -> None:
    page.goto(f"{yoke.url}/plans/{yoke.plan_id}/round/chest")
    page.wait_for_selector("#stand[data-ready]", timeout=60_000)
    crab = stored(yoke, "crab")
    x, y = page.evaluate("""async ([u, s]) => { const { shown } = await import("/static/js/round/round.js");
      const st = shown.stage, box = st.stand.getBoundingClientRect(), [x, y] = st.pixel(st.grid.at(u, s));
      return [x + box.left, y + box.top]; }""", [crab.u, crab.s_mm])
    page.mouse.click(x, y)
    expect(page.locator("#chosen .piece-title")).to_have_text(crab.title)
    page.get_by_role("link", name="Left side", exact=True).click()
    expect(page.locator("#where")).to_have_text("Left side")


def test_a_gap_over_the_armhole_is_filled_by_one_drawing_on_both_parts(page: Page, yoke: Served) -> None:
    open_desk(page, yoke, "tie-in", "shoulders")
    row = page.locator("#gap-fold [data-goal^='seam:']", has_text=re.compile("over the left armhole, front"))
    expect(row.first).to_be_visible(timeout=60_000)
    row.first.click()
    pick = page.locator("#kind-cloud .kind-picks button").first
    expect(pick).to_be_visible(timeout=60_000)
    pick.click()
    page.get_by_role("button", name="Keep this one").click()
    expect(page.locator("#pieces .filler .copy[clip-path*='strip-left_arm']")).not_to_have_count(0, timeout=30_000)
    (piece,) = [p for p in yoke.store.load(yoke.plan_id).plan.pieces if p.is_filler]
    assert piece.part == "chest" and piece.recipe is not None and piece.recipe.goal["seam"] == "left armhole, front"
    expect(page.locator("#handles .pull.of-edge:visible").first).to_be_visible(timeout=60_000)
    boxes = [b.bounding_box() for b in page.locator("#handles .pull.of-edge:visible").all()]
    out = max((b for b in boxes if b), key=lambda b: b["x"])   # the client's left arm lies to the right
    x, y = out["x"] + out["width"] / 2, out["y"] + out["height"] / 2
    assert page.evaluate("""async ([x, y]) => { const { toSheet } = await import("/static/js/table.js");
      const { state } = await import("/static/js/state.js");
      return state.sheet.partAt(...toSheet({ clientX: x, clientY: y })); }""", [x, y]) == "left_arm"
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 12, y, steps=4)
    page.mouse.up()
    expect(page.locator("#undo-bar")).to_contain_text("pull the edge of", timeout=60_000)
    now = yoke.store.load(yoke.plan_id).plan.piece(piece.id)
    assert now.art != piece.art and now.recipe is not None and now.recipe.goal == piece.recipe.goal


def test_chest_and_back_over_the_side_are_reached_from_the_body_and_a_piece_goes_over(page: Page, yoke: Served) -> None:
    yoke.store.commit(yoke.plan_id, {"do": "measure", "part": "upper_back",
                                     "measures": PANEL_TYPICAL_MM["upper_back"]})
    for size in ((390, 844), (1180, 820), (1440, 900)):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        open_desk(page, yoke, part="chest")
        if size[0] < 800:
            page.get_by_role("button", name="Body and pieces").click()
        link = page.get_by_role("link", name="Left side, chest to back")
        box, nav = link.bounding_box(), page.locator(".seam-links").bounding_box()
        assert box and nav and box["height"] >= 44 and box["x"] + box["width"] <= nav["x"] + nav["width"] + 0.5
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    link.click()
    page.locator("body.ready").wait_for()
    wide = wide_of(yoke.store.load(yoke.plan_id).plan, "left_side")
    crab, (chest, back) = stored(yoke, "crab"), wide.parts
    (fx, fy), (x, y) = chest.to_wide(np.array([[crab.u, crab.s_mm]]))[0], back.shown.mean(axis=0)
    scale = px_per_mm(page)
    drag(page, middle(page, "#piece-crab"), ((x - fx) * scale, -(y - fy) * scale))
    over = changed(page, yoke, crab)
    assert over.part == "upper_back" and abs(over.turn_deg) < 12, "upright as it was"
    assert back.to_wide(np.array([[over.u, over.s_mm]]))[0] == pytest.approx([x, y], abs=16)
    page.locator("#table").focus()
    page.keyboard.press("Shift+ArrowUp")
    moved = changed(page, yoke, over)
    up = back.to_wide(np.array([[moved.u, moved.s_mm]]))[0]
    was = back.to_wide(np.array([[over.u, over.s_mm]]))[0]
    assert up - was == pytest.approx([0.0, 10.0], abs=1.0), "up is up on the sheet"


def test_a_finger_paints_over_the_bare_shoulder(touch: Page, yoke: Served) -> None:
    open_desk(touch, yoke, "tie-in", "shoulders")
    brush = touch.get_by_role("button", name="Paint where background goes")
    expect(brush).to_be_visible(timeout=60_000)
    brush.tap()
    arm = wide_of(yoke.store.load(yoke.plan_id).plan, "shoulders").part("left_arm")
    line = arm.to_wide(np.column_stack([np.linspace(0.2, 0.3, 7), np.full(7, arm.limb.s_max + 6.0)]))
    at = touch.evaluate("""(line) => { const m = document.querySelector('#sheet > .skin-sheet').getScreenCTM();
      return line.map(([x, y]) => [m.a * x + m.e, m.d * -y + m.f]); }""", line.tolist())
    cdp = touch.context.new_cdp_session(touch)
    for kind, points in (("touchStart", at[:1]), *(("touchMove", [p]) for p in at[1:]), ("touchEnd", [])):
        cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y} for x, y in points]})
    expect(touch.locator("#goal[data-key^='brush:left_arm:']")).to_be_visible(timeout=30_000)
