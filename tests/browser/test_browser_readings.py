"""Readings, best places, the board, overlays, estimates and the sleeve's edges, by mouse, finger and key."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from desk_server import Served
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser
AXE = Path(__file__).parent / "lib" / "axe.min.js"
SIZES = {"large": (1440, 900), "middle": (1180, 820), "small": (390, 844)}


def open_desk(page: Page, served: Served) -> None:
    page.goto(f"{served.url}/plans/{served.plan_id}/compose/left_arm")
    page.locator("body.ready").wait_for()
    page.locator("#motif-crab").wait_for(state="attached")


def panel_in_view(page: Page, side: str) -> None:
    """On a narrow screen the sides are drawers."""
    opener = page.locator(f'[data-open="{side}"]')
    if opener.is_visible() and not page.locator(f"#{side}").is_visible():
        opener.click()


def pick(page: Page, name: str) -> None:
    panel_in_view(page, "left")
    page.locator("#piece-list .row", has_text=name).first.click()
    page.locator("#fit h3").wait_for(state="attached")
    panel_in_view(page, "right")


def axe(page: Page) -> list[str]:
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(AXE.read_text())
    return page.evaluate("""async () => (await axe.run(document, { runOnly: { type: 'tag',
        values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] } })).violations
        .flatMap((v) => v.nodes.map((n) => `${v.id}: ${n.target} ${n.failureSummary}`))""")


OVERLAPS = """() => {
    const seen = (s) => getComputedStyle(s).visibility !== 'hidden' && s.offsetWidth;
    const apart = (p, q) => p.left > q.right - 1 || q.left > p.right - 1
        || p.top > q.bottom - 4 || q.top > p.bottom - 4;
    const words = [...document.querySelectorAll('#words span')].filter(seen)
        .map((s) => [s.textContent, s.getBoundingClientRect()]);
    return words.flatMap(([a, p], i) => words.slice(i + 1)
        .filter(([, q]) => !apart(p, q)).map(([b]) => `${a} / ${b}`));
    }"""


def test_words_beside_a_small_sheet_do_not_run_into_each_other(page: Page, served: Served) -> None:
    page.set_viewport_size(dict(zip(("width", "height"), SIZES["small"], strict=True)))
    open_desk(page, served)
    pick(page, "Tern coming home")
    expect(page.locator("#right")).to_be_visible()
    page.wait_for_timeout(600)
    assert page.evaluate(OVERLAPS) == []
    shown = "() => [...document.querySelectorAll('#words span')].filter((s) => s.style.visibility !== 'hidden').length"
    assert page.evaluate(shown) >= 1
    page.set_viewport_size(dict(zip(("width", "height"), SIZES["large"], strict=True)))
    page.wait_for_timeout(600)
    for name in ("front", "outer side", "inner side", "elbow"):
        expect(page.locator("#words span", has_text=name).first).to_be_visible()


def test_readings_follow_the_piece_and_stay_in_view_while_they_are_read_again(page: Page, served: Served) -> None:
    open_desk(page, served)
    pick(page, "Tern coming home")
    first = page.locator("#fit").inner_text()
    assert "Gaps between lines" in first and "trouble" in first.lower()
    levels = page.locator("#reads-bad > li").evaluate_all("all => all.map((li) => li.className.split(' ')[1])")
    assert levels == sorted(levels, key=["strong", "warn"].index)
    page.evaluate("""() => { window.gone = 0; new MutationObserver(() => {
        if (!document.getElementById('reads-bad')) window.gone += 1;
    }).observe(document.getElementById('panel'), { childList: true, subtree: true }); }""")
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.url) if "/fit?" in r.url else None)
    page.locator("#reads-good summary").click()
    up = page.locator("#f-up")
    up.fill("32")
    with page.expect_response(re.compile("/fit\\?")):
        up.press("Enter")
    expect(page.locator("#fit")).not_to_have_attribute("aria-busy", "true")
    assert page.evaluate("window.gone") == 0, "the readings were gone while they were read again"
    page.locator('[data-act="gaps"]').click()
    page.locator("body:not(.waiting)").wait_for()
    page.wait_for_timeout(300)
    assert len(asked) == 1, "read again only when something changed"
    assert page.locator("#reads-good").get_attribute("open") is not None
    pick(page, "Horned poppy")
    expect(page.locator("#fit")).to_contain_text("horned poppy")


def test_choosing_a_pose_lays_the_map_of_that_pose_over_the_sheet(page: Page, served: Served) -> None:
    open_desk(page, served)
    pick(page, "Shore crab")
    expect(page.locator("#legend")).to_be_hidden()
    page.locator('#poses input[value="flexed"]').check()
    expect(page.locator("#pose-words")).to_contain_text("Flexed, skin under it")
    expect(page.locator("#legend")).to_contain_text("muscles flexed")
    expect(page.locator("#tint image")).to_have_count(1)
    page.locator("#tint-bent").check()
    expect(page.locator("#legend")).to_contain_text("joints bent")
    expect(page.locator("#tint-bent")).to_be_focused()
    page.get_by_role("button", name="Hide").click()
    expect(page.locator("#legend")).to_be_hidden()
    expect(page.locator("#tint image")).to_have_count(0)
    expect(page.locator("#tint-what")).to_be_focused()


def test_a_drawing_is_laid_where_it_sits_best_and_undo_takes_it_back(page: Page, served: Served) -> None:
    open_desk(page, served)
    known = {p.id for p in served.store.load(served.plan_id).plan.pieces}
    before = len(known)
    page.locator('#tap-lays input[value="best"]').check()
    page.locator("#motif-oyster button").click()
    offers = page.locator("#best .offer")
    offers.first.wait_for()
    assert 1 <= offers.count() <= 5
    assert len(served.store.load(served.plan_id).plan.pieces) == before, "asking places nothing"
    offers.first.hover()
    expect(page.locator("#piece-best")).to_have_count(1)
    page.mouse.move(5, 5)
    expect(page.locator("#piece-best")).to_have_count(0)
    offers.first.focus()
    page.keyboard.press("Enter")
    expect(page.locator("#pieces > .piece:not(.filler)")).to_have_count(before + 1)
    plan = served.store.load(served.plan_id).plan
    assert len(plan.pieces) == before + 1
    new = next(p for p in plan.pieces if p.id not in known)
    assert new.motif == "oyster"
    expect(page.locator("#f-title")).to_have_value(new.title)
    expect(page.locator("#fit .read.strong .what", has_text="Skin break")).to_have_count(0)
    page.locator("#undo").click()
    expect(page.locator("#redo")).to_be_enabled()
    assert len(served.store.load(served.plan_id).plan.pieces) == before
    expect(page.locator('#tap-lays input[value="best"]')).to_be_checked()


def test_make_room_by_finger(touch: Page, served: Served) -> None:
    touch.set_viewport_size({"width": 390, "height": 844})
    open_desk(touch, served)
    pick(touch, "Shore crab")
    touch.locator("[data-ask-best]").tap()
    touch.locator("#best .offer").first.wait_for()
    was = next(p for p in served.store.load(served.plan_id).plan.on("left_arm") if p.motif == "crab")
    touch.locator("#best-places .offer").first.tap()
    touch.locator("#fit").wait_for(state="attached")
    now = served.store.load(served.plan_id).plan.piece(was.id)
    assert (now.u, now.s_mm) != (was.u, was.s_mm) and now.scale == pytest.approx(was.scale, rel=0.01)
    assert touch.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_board_opens_by_key_takes_a_threshold_and_picks_a_piece(page: Page, served: Served) -> None:
    open_desk(page, served)
    page.locator("#open-board").focus()
    page.keyboard.press("Enter")
    page.locator("#wide .tones-table").wait_for()
    expect(page.get_by_role("dialog")).to_contain_text("The whole left arm")
    page.keyboard.press("Escape")
    expect(page.locator("#wide")).to_be_hidden()
    expect(page.locator("#open-board")).to_be_focused()
    page.keyboard.press("Enter")
    page.locator("#limits-fold summary").click()
    field = page.locator("#l-tilt_warn_deg")
    field.fill("12")
    field.press("Enter")
    expect(field).to_have_class("changed")
    assert served.store.load(served.plan_id).plan.settings.extra["thresholds"] == {"tilt_warn_deg": 12.0}
    field = page.locator("#l-joint_mm")
    field.fill("plenty")
    field.press("Enter")
    expect(page.locator("#wide-told")).to_contain_text("is no number")
    expect(field).to_have_value("3")
    row = page.locator("#wide [data-wide-pick]").first
    title = row.locator("span").first.inner_text()
    row.click()
    expect(page.locator("#f-title")).to_have_value(title)


def test_a_piece_picked_on_the_board_is_seen_on_a_small_screen(touch: Page, served: Served) -> None:
    """The list that the board was opened from gives way, as when a piece is picked in it."""
    touch.set_viewport_size(dict(zip(("width", "height"), SIZES["small"], strict=True)))
    open_desk(touch, served)
    touch.locator('[data-open="left"]').tap()
    touch.locator("#open-board").tap()
    row = touch.locator("#wide [data-wide-pick]").first
    title = row.locator("span").first.inner_text()
    row.tap()
    expect(touch.locator("#wide")).to_be_hidden()
    expect(touch.locator("#left")).to_be_hidden()
    expect(touch.locator("#open-panel")).to_have_text(title)


def test_zones_are_changed_in_their_table_and_the_sheet_follows(page: Page, bare: Served) -> None:
    open_desk(page, bare)
    page.locator("#tint-what").select_option("zones")
    expect(page.locator("#tags span").first).to_be_visible()
    page.get_by_role("button", name="Table, to change").click()
    field = page.locator("#z-ditch-pain")
    field.fill("9.5")
    field.press("Tab")
    expect(page.locator("#z-ditch-pain")).to_have_class("changed")
    expect(page.locator("#z-ditch-movement")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator("#tags")).to_contain_text("9.5*")
    page.locator("#undo").click()
    expect(page.locator("#tags")).not_to_contain_text("*")


def test_the_sleeve_changes_on_the_sheet_at_once(page: Page, bare: Served) -> None:
    open_desk(page, bare)
    page.evaluate("window.same = true")
    page.get_by_role("button", name=re.compile("Sleeve")).click()
    page.locator("#preset-half").check()
    expect(page.locator("#sleeve .edge")).to_have_count(2)
    page.locator("#e-from-fading").check()
    expect(page.locator("#e-from-depth")).to_have_value("4.0")
    expect(page.locator("#sleeve .edge.fading")).to_have_count(1)
    page.keyboard.press("Escape")
    expect(page.locator('[data-wide="sleeve"]')).to_contain_text("half sleeve, to above the elbow")
    for _ in range(2):
        page.locator("#undo").click()
        page.locator("body:not(.waiting)").wait_for()
    expect(page.locator("#sleeve .edge")).to_have_count(0)
    assert page.evaluate("window.same"), "the page was not loaded again"


def test_half_a_tape_and_the_rest_estimated(page: Page, bare: Served) -> None:
    page.goto(f"{bare.url}/plans/{bare.plan_id}/measure/right_arm")
    page.locator("#m-wrist").fill("17.2")
    page.locator("#p-stature").fill("174")
    page.locator("#p-weight").fill("70")
    page.locator("#p-weight").press("Tab")
    expect(page.locator(".guess")).to_have_count(10 + 1)
    page.get_by_role("button", name="Unroll the sheet").click()
    expect(page.locator("#measure-notice")).to_contain_text("let it be estimated")
    page.locator("#p-use").check()
    page.get_by_role("button", name="Unroll the sheet").click()
    page.wait_for_url(re.compile("/compose/right_arm"))
    expect(page.locator(".guessed-note")).to_contain_text("Estimated, not taped")


@pytest.mark.parametrize("size", SIZES)
def test_every_new_screen_fits_and_passes_axe(page: Page, served: Served, size: str) -> None:
    width, height = SIZES[size]
    page.set_viewport_size({"width": width, "height": height})
    open_desk(page, served)
    found: dict[str, list[str]] = {}

    def look(name: str) -> None:
        page.locator("body:not(.waiting)").wait_for()
        found[name] = axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        small = page.evaluate("""() => [...document.querySelectorAll('#panel button, #panel select, #legend button,'
            + ' #wide[open] button, #wide[open] input, #wide[open] select, #tint-what')]
            .filter((n) => n.offsetParent && !n.matches('[type=radio], [type=checkbox]'))
            .map((n) => [n.getBoundingClientRect().height, n.outerHTML.slice(0, 80)]).filter(([h]) => h < 43.5)""")
        assert small == [], name

    pick(page, "Tern coming home")
    page.locator("#reads-good summary").click()
    look("readings")
    page.locator("[data-ask-best]").click()
    page.locator("#best .offer").first.wait_for()
    look("best places")
    if size == "small":
        page.locator('[data-shut="right"]').click()
    page.locator("#tint-what").select_option("stretch")
    page.locator("#legend strong").wait_for()
    look("overlay")
    page.get_by_role("button", name="As a table").click()
    page.locator("#wide table").wait_for()
    look("table")
    page.keyboard.press("Escape")
    page.locator("#tint-what").select_option("zones")
    page.get_by_role("button", name="Table, to change").click()
    page.locator("#wide table").wait_for()
    look("zones")
    page.keyboard.press("Escape")
    panel_in_view(page, "left")
    page.locator('[data-wide="sleeve"]').click()
    page.locator("#preset-half").wait_for()
    look("sleeve")
    page.goto(f"{served.url}/plans/{served.plan_id}/compose/left_arm")
    page.locator("body.ready").wait_for()
    panel_in_view(page, "left")
    page.locator("#open-board").click()
    page.locator("#wide .tones-table").wait_for()
    page.locator("#limits-fold summary").click()
    look("board")
    assert {name: bad for name, bad in found.items() if bad} == {}
