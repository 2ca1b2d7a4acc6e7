"""Gaps and ties on the sheet, candidates, the whole sleeve at once; all of it undone as it was done."""

from __future__ import annotations

import pytest
from desk_server import Served
from playwright.sync_api import Page, expect

from composer.filler.kinds import KINDS

pytestmark = pytest.mark.browser
SLOW = 90_000


def open_tie_in(page: Page, served: Served) -> None:
    page.goto(f"{served.url}/plans/{served.plan_id}/tie-in/left_arm")
    page.locator("body.ready").wait_for()
    page.locator("#lists [data-goal]").first.wait_for(timeout=SLOW)


def test_gaps_and_list_light_each_other(page: Page, served: Served) -> None:
    open_tie_in(page, served)
    row = page.locator("#lists [data-goal]").nth(1)
    key = row.get_attribute("data-goal")
    row.hover()
    expect(page.locator(f"#overlay .gap.lit[data-goal='{key}']")).to_have_count(1)
    page.locator("#panel h2").hover()
    expect(page.locator("#overlay .gap.lit")).to_have_count(0)
    label = page.locator(f"#words .at-gap[data-light='{key}']").bounding_box()
    assert label
    page.mouse.move(label["x"] + label["width"] / 2, label["y"] + label["height"] / 2 + 14)
    expect(page.locator("#lists .row.lit")).to_have_attribute("data-goal", str(key))
    page.mouse.down()
    page.mouse.up()
    expect(page.locator("#goal")).to_have_attribute("data-key", str(key))
    expect(page.locator("#panel .lead").first).to_contain_text("widest circle")


def test_fill_a_gap_change_it_and_take_it_back(page: Page, served: Served) -> None:
    open_tie_in(page, served)
    before = served.store.load(served.plan_id).plan
    page.locator("#lists [data-goal]").first.click()
    for name in KINDS:
        expect(page.locator(f"#picks-{name} .pick")).to_have_count(3, timeout=SLOW)
    pictures = page.locator("#picks-filigree .pick svg .ink").evaluate_all("gs => gs.map(g => g.innerHTML)")
    assert len(set(pictures)) == 3, "three that differ"
    page.locator("#picks-filigree .pick").nth(1).hover()
    expect(page.locator("#piece-proposed")).to_have_count(1, timeout=SLOW)
    page.locator("#panel h2").first.hover()
    expect(page.locator("#piece-proposed")).to_have_count(0)
    page.locator("#picks-filigree .pick").nth(1).click()
    page.get_by_role("button", name="Keep this one").click()
    expect(page.locator("#pieces > .piece.filler:not(.proposed)")).to_have_count(1, timeout=SLOW)
    plan = served.store.load(served.plan_id).plan
    (filler,) = [p for p in plan.pieces if p.is_filler]
    assert filler.recipe is not None and filler.recipe.kind == "filigree"
    expect(page.locator("#remake")).to_be_visible()
    page.get_by_role("button", name="Another like it").click()
    expect(page.locator("#remake .note", has_text="drawing 2")).to_be_visible(timeout=SLOW)
    assert served.store.load(served.plan_id).plan.piece(filler.id).art != filler.art
    for _ in range(2):
        page.locator("#undo").click()
        page.locator("body:not(.waiting)").wait_for()
    expect(page.locator("#undo")).to_be_disabled()
    assert served.store.load(served.plan_id).plan.pieces == before.pieces


def test_wishes_and_three_more_change_what_is_proposed(page: Page, served: Served) -> None:
    open_tie_in(page, served)
    page.locator("#lists [data-goal]").first.click()
    pick = page.locator("#picks-wind .pick svg .ink")
    expect(pick).to_have_count(3, timeout=SLOW)
    first = pick.first.inner_html()
    page.locator("[data-more=wind]").click()
    expect(page.locator("#picks-wind ul[data-seed='2']")).to_have_count(1, timeout=SLOW)
    second = pick.first.inner_html()
    assert second != first
    expect(page.locator("#picks-lightning .pick")).to_have_count(3, timeout=SLOW)
    slider = page.locator("#w-weight")
    slider.focus()
    for _ in range(8):
        slider.press("ArrowRight")
    expect(page.locator("#o-weight")).to_have_text("× 1.40")
    page.wait_for_function("old => document.querySelector('#picks-wind .pick svg .ink')?.innerHTML !== old", arg=second,
                           timeout=SLOW)
    assert served.store.load(served.plan_id).undo_label is None, "proposing touches nothing"


def test_the_whole_sleeve_is_one_step(page: Page, served: Served) -> None:
    open_tie_in(page, served)
    before = served.store.load(served.plan_id)
    page.locator("label.theme:has-text('Wind all the way')").click()
    page.get_by_role("button", name="Tie in the whole sleeve").click()
    expect(page.locator("#whole-state [role=status]")).to_be_visible()
    expect(page.locator("#notice")).to_contain_text("Undo takes all of it back", timeout=180_000)
    after = served.store.load(served.plan_id)
    fillers = [p for p in after.plan.pieces if p.is_filler]
    assert len(fillers) >= 3 and after.revision == before.revision + 1
    expect(page.locator("#pieces > .piece.filler")).to_have_count(len(fillers))
    page.locator("#undo").click()
    expect(page.locator("#pieces > .piece.filler")).to_have_count(0)
    assert served.store.load(served.plan_id).plan == before.plan


def test_on_a_phone_panel_and_sheet_are_seen_together_and_who_draws_has_the_sheet(page: Page, served: Served) -> None:
    open_tie_in(page, served)
    page.set_viewport_size({"width": 390, "height": 844})
    page.locator("[data-open=left]").click()
    page.locator("#gap-fold [data-goal]").first.click()
    expect(page.locator("#goal")).to_be_visible()
    table, panel = page.locator("#table").bounding_box(), page.locator("#right").bounding_box()
    assert table and panel and table["height"] > 200 and panel["y"] >= table["y"] + table["height"]
    page.locator("#goal [data-act=leave]").click()
    page.locator("[data-act=brush]").click()
    expect(page.locator("#right")).to_be_hidden()
    page.get_by_role("button", name="Leave it").click()
    expect(page.locator("body.tracing")).to_have_count(0)
    expect(page.locator("#notice")).to_be_hidden()
