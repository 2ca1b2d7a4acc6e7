"""Shade lines on the sheet: drawn by mouse and by finger, chosen on the sheet, changed in the panel."""

from __future__ import annotations

import re

import pytest
from desk_server import Served
from playwright.sync_api import Page, expect

from composer.plan.shade_lines import shade_of

pytestmark = pytest.mark.browser
SLOW = 90_000


def open_shade(page: Page, served: Served) -> dict[str, float]:
    """The Tie in step with the fold open; the table's box on screen."""
    page.goto(f"{served.url}/plans/{served.plan_id}/tie-in/left_arm")
    page.locator("body.ready").wait_for()
    page.locator("#shade-fold").wait_for(timeout=SLOW)
    page.locator("#shade-fold summary").click()
    page.locator("#shade-fold button[data-act='shade']").click()
    expect(page.locator("body.tracing")).to_have_count(1)
    box = page.locator("#sheet .skin-edge").bounding_box()
    assert box
    return box  # type: ignore[return-value]


def across(box: dict[str, float], k: int) -> tuple[float, float]:
    """A place on a way across the sheet, two thirds down."""
    return box["x"] + box["width"] * (0.3 + 0.4 * k / 12), box["y"] + box["height"] * 0.68 + 6 * (k % 3)


def on_line(page: Page) -> list[float]:
    """A place on screen in the middle of the line as it is drawn now."""
    return page.locator("#shade .dash").evaluate("""path => {
      const p = path.getPointAtLength(path.getTotalLength() * 0.45).matrixTransform(path.getScreenCTM());
      return [p.x, p.y];
    }""")


def lines(served: Served) -> tuple:
    return shade_of(served.store.load(served.plan_id).plan.part("left_arm")).lines


def test_a_line_drawn_by_mouse_is_chosen_on_the_sheet_and_changed(page: Page, served: Served) -> None:
    box = open_shade(page, served)
    page.mouse.move(*across(box, 0))
    page.mouse.down()
    for k in range(1, 13):
        page.mouse.move(*across(box, k))
    page.mouse.up()
    expect(page.locator("#shade .shade-line")).to_have_count(1, timeout=SLOW)
    expect(page.locator("body.tracing")).to_have_count(0)
    (line,) = lines(served)
    expect(page.locator("#panel .shade-row .note", has_text="Shaded above.")).to_be_visible()
    page.mouse.click(*on_line(page))
    expect(page.locator("#shade .shade-line.chosen")).to_have_count(1)
    expect(page.locator("#panel .shade-row.chosen")).to_be_focused()
    page.get_by_role("button", name="Shade the other side of line 1").click()
    expect(page.locator("#panel .shade-row .note", has_text="Shaded below.")).to_be_visible(timeout=SLOW)
    page.get_by_label("Falls off over").fill("60")
    page.keyboard.press("Tab")
    expect(page.locator("#undo-bar")).to_contain_text("change a shade line", timeout=SLOW)
    expect(page.locator("#shade title")).to_have_text(re.compile("falls off over 60 mm"))
    assert (lines(served)[0].side, lines(served)[0].fall_mm) == (-line.side, 60.0)
    page.locator("#tint-what").select_option("tone")
    expect(page.locator("#legend")).to_contain_text("open skin", timeout=SLOW)
    page.get_by_role("button", name="Delete shade line 1").click()
    expect(page.locator("#shade .shade-line")).to_have_count(0, timeout=SLOW)
    assert lines(served) == ()


def test_a_line_drawn_by_finger_and_one_by_keys(touch: Page, served: Served) -> None:
    box = open_shade(touch, served)
    cdp = touch.context.new_cdp_session(touch)

    def finger(kind: str, *points: tuple[float, float]) -> None:
        cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [
            {"x": x, "y": y, "id": 1} for x, y in points]})

    finger("touchStart", across(box, 0))
    for k in range(1, 13):
        finger("touchMove", across(box, k))
    finger("touchEnd")
    expect(touch.locator("#shade .shade-line")).to_have_count(1, timeout=SLOW)
    touch.get_by_label("Or straight across").focus()
    touch.keyboard.type("40")
    touch.keyboard.press("Enter")
    expect(touch.locator("#shade .shade-line")).to_have_count(2, timeout=SLOW)
    assert {s for _, s in lines(served)[1].points} == {400.0} or served.store.load(
        served.plan_id).plan.settings.unit != "cm"
