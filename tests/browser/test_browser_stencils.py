"""The Stencils step by mouse, finger and key: choose, look, print, measure a printer, bring a drawing back."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from desk_server import Served
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser


def test_choose_look_take_and_bring_back(page: Page, served: Served, tmp_path: Path) -> None:
    page.goto(f"{served.url}/plans/{served.plan_id}/compose/left_arm")
    page.get_by_role("navigation", name="Steps of the job").get_by_text("Stencils").click()
    expect(page.get_by_role("heading", name="Stencils")).to_be_visible()
    expect(page.locator(".told li")).to_have_count(1)
    page.get_by_label("Curlew skull").focus()
    page.keyboard.press("Space")
    expect(page.locator(".told li")).to_have_count(2)
    picture = page.locator(".sheets img").first
    expect(picture).to_be_visible()
    page.wait_for_function("() => document.querySelector('.sheets img').naturalWidth > 0")
    page.get_by_label("Mirrored, for a printer with stencil ink").check()
    expect(page.locator("a.main")).to_have_attribute("href", re.compile("face=mirrored"))
    with page.expect_download() as got:
        page.locator("a.main").click()
    assert got.value.suggested_filename == "estuary-sleeve-stencils-a4-mirrored.pdf"
    assert Path(got.value.path()).read_bytes().startswith(b"%PDF")

    page.goto(f"{served.url}/plans/{served.plan_id}/stencils/left_arm?asked=1&piece=demo6")
    with page.expect_download() as svg:
        page.get_by_text("SVG to draw over").click()
    over = tmp_path / "over.svg"
    over.write_text(Path(svg.value.path()).read_text().replace("</svg>", '<path d="M-3-3h6v6h-6z"/></svg>'))
    page.get_by_text("Bring back what was drawn over").click()
    page.get_by_label("The SVG that was drawn over").set_input_files(str(over))
    page.get_by_role("button", name="Bring it back").click()
    expect(page.get_by_role("status").filter(has_text="is back in its place")).to_be_visible()


def test_what_is_ticked_before_the_page_hears_it_counts(page: Page, served: Served) -> None:
    def late(route) -> None:
        page.wait_for_timeout(900)
        route.continue_()

    page.route("**/htmx.min.js", late)
    page.goto(f"{served.url}/plans/{served.plan_id}/stencils/left_arm", wait_until="commit")
    page.get_by_label("Curlew skull").check()
    assert page.evaluate("typeof htmx") == "undefined", "nothing listened yet"
    expect(page.locator(".told li")).to_have_count(2)
    page.goto(f"{served.url}/plans/{served.plan_id}/print", wait_until="commit")
    page.get_by_label(re.compile("^A3")).check()
    expect(page.locator("a.main")).to_have_attribute("href", re.compile("paper=A3"))


def test_a_printer_is_measured_and_a_wrong_length_is_told(page: Page, served: Served) -> None:
    page.goto(f"{served.url}/plans/{served.plan_id}/stencils/left_arm")
    page.get_by_text("Measure a printer").click()
    page.get_by_label("Name of the printer").fill("Office")
    page.get_by_label("Across, mm").fill("150")
    page.get_by_label("Along, mm").fill("250.5")
    page.get_by_role("button", name="Keep these lengths").click()
    expect(page.locator("#notice")).to_contain_text("fits the page to its margins")
    page.get_by_label("Across, mm").fill("179.4")
    page.get_by_role("button", name="Keep these lengths").click()
    expect(page.get_by_role("status").filter(has_text="Corrected for Office")).to_be_visible()
    expect(page.locator("#notice")).to_be_hidden()
    expect(page.locator("select[name=printer]")).to_have_value("Office")


@pytest.mark.parametrize("size", [(1440, 900), (1180, 820), (390, 844)])
def test_nothing_is_cut_off_and_all_is_large_enough_to_touch(page: Page, served: Served, size: tuple[int, int]) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto(f"{served.url}/plans/{served.plan_id}/stencils/left_arm")
    page.get_by_text("Measure a printer").click()
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    small = page.evaluate("""() => [...document.querySelectorAll('#stencils button, #stencils a, #stencils select,'
        + '#stencils summary, #stencils label.tick, #stencils input:not([type=hidden]):not([type=checkbox])'
        + ':not([type=radio])')].filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 43.5)
        .map(e => e.outerHTML.slice(0, 80))""")
    assert small == []
    bare = page.evaluate("""() => [...document.querySelectorAll('#stencils input:not([type=hidden]), #stencils select')]
        .filter(e => !e.labels.length).map(e => e.outerHTML)""")
    assert bare == []


def test_a_sitting_is_set_on_the_desk_and_its_work_chosen_by_a_tap(touch: Page, served: Served) -> None:
    touch.goto(f"{served.url}/plans/{served.plan_id}/compose/left_arm?sel=demo2")
    box = touch.locator("#f-sitting")
    box.fill("two")
    box.press("Enter")
    expect(touch.locator("#notice")).to_contain_text("type a whole number from 1 to 99")
    box.fill("2")
    box.press("Enter")
    expect(touch.get_by_role("button", name="Undo set the sitting of heron on the mud bank")).to_be_visible()
    touch.goto(f"{served.url}/plans/{served.plan_id}/stencils/left_arm?asked=1&piece=demo12")
    touch.get_by_text("Sittings", exact=True).tap()
    touch.get_by_label("What is ticked is done in sitting").fill("1")
    touch.get_by_role("button", name="Put it in this sitting").tap()
    expect(touch.get_by_role("status").filter(has_text="1 piece is in sitting 1 now")).to_be_visible()
    touch.get_by_role("link", name="Sitting 2").tap()
    expect(touch.get_by_label("Heron on the mud bank")).to_be_checked()
    expect(touch.locator("input[name=piece]:checked")).to_have_count(1)
    expect(touch.locator(".told li")).to_contain_text("Heron on the mud bank")
    assert {p.id: p.sitting for p in served.store.load(served.plan_id).plan.pieces if p.sitting} == {"demo2": 2,
                                                                                                  "demo12": 1}
