"""Grips of a filler pulled with mouse, finger and keys; given up, refused, put back."""

from __future__ import annotations

import re

import numpy as np
import pytest
from desk_server import Served
from playwright.sync_api import Page, expect

from composer.compose.gaps import survey
from composer.filler.ground import Wish
from composer.filler.proposals import propose
from composer.filler.shaped import smooth
from composer.plan.scene import scene
from composer.plan.shape import shape_of
from composer.plan.twins import surface_of
from web.goals import piece_json

pytestmark = pytest.mark.browser
SLOW = 90_000


def tied_in(served: Served, kind: str = "wind") -> str:
    """The demo with one filler in its widest gap; its id."""
    store, pid = served.store, served.plan_id
    plan = store.load(pid).plan
    laid = scene(plan, "left_arm", surface_of(plan, "left_arm"), store.gallery)
    found = survey(laid)
    goal = {"gap": [[round(float(v), 6) for v in found.gaps[0].centre]]}
    p = propose(laid, found, goal, [kind], plan.settings.hand, Wish(), 1, 1, plan.settings)[0]
    store.commit(pid, {"do": "place", "piece": piece_json(p, "left_arm", "filler", store.keep_drawing(p.drawing))})
    return "filler"


def opened(page: Page, served: Served, i: str) -> None:
    page.goto(f"{served.url}/plans/{served.plan_id}/tie-in/left_arm")
    page.locator("body.ready").wait_for()
    page.locator("#lists [data-goal]").first.wait_for(timeout=SLOW)
    page.evaluate("i => document.querySelector(`[data-pick='${i}']`).click()", i)
    page.locator(".pull.of-line").first.wait_for(timeout=SLOW)


def middle(page: Page, which: str = ".pull.of-line", n: int = 1) -> tuple[float, float]:
    """Where a grip is; made anew after an answer, one that goes while it is looked at is looked for once more."""
    grip = page.locator(which).nth(n)
    grip.wait_for(timeout=SLOW)
    box = grip.bounding_box()
    if box is None:
        grip.wait_for(timeout=SLOW)
        box = grip.bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def revision(served: Served) -> int:
    return served.store.load(served.plan_id).revision


def drawn(page: Page, served: Served, before: int) -> None:
    """Wait until one step more is kept and its picture is there."""
    page.wait_for_function("r => JSON.parse(document.getElementById('desk-data').textContent).revision > r", arg=before,
                           timeout=SLOW)
    expect(page.locator(".piece.redrawing")).to_have_count(0, timeout=SLOW)


def test_with_the_mouse_the_line_is_pulled_and_put_back(page: Page, served: Served) -> None:
    i = tied_in(served)
    opened(page, served, i)
    before, plan = revision(served), served.store.load(served.plan_id).plan
    x, y = middle(page)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 14, y - 18, steps=4)
    assert revision(served) == before, "nothing is sent while the hand moves"
    page.keyboard.press("Escape")
    page.mouse.up()
    assert middle(page) == pytest.approx((x, y), abs=0.6), "given up"
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 14, y - 18, steps=4)
    page.mouse.up()
    drawn(page, served, before)
    expect(page.locator("#undo")).to_contain_text("pull the line of wind")
    now = served.store.load(served.plan_id).plan
    assert now.piece(i).art != plan.piece(i).art and revision(served) == before + 1
    assert [p for p in now.pieces if p.id != i] == [p for p in plan.pieces if p.id != i]
    assert middle(page) == pytest.approx((x + 14, y - 18), abs=1.5)
    page.get_by_role("button", name="Back to how it was proposed", exact=True).click()
    drawn(page, served, before + 1)
    assert served.store.load(served.plan_id).plan.piece(i).art == plan.piece(i).art
    expect(page.get_by_role("button", name="Back to how it was proposed", exact=True)).to_have_count(0)


def test_with_a_finger_the_edge_is_pulled_and_grips_are_wide_enough(touch: Page, served: Served) -> None:
    i = tied_in(served, "cloud")
    opened(touch, served, i)
    sizes = touch.locator(".pull:visible").evaluate_all("bs => bs.map(b => Math.min(b.offsetWidth, b.offsetHeight))")
    assert min(sizes) >= 44
    at = np.array([middle(touch, ".pull:visible", n) for n in range(len(sizes))])
    apart = np.abs(at[:, None] - at[None]).max(axis=2)[np.triu_indices(len(at), 1)]
    assert len(at) >= 3 and apart.min() >= 43.9        # no hit area lies in another
    expect(touch.locator("#pull-how")).to_contain_text("Come closer for more grips")
    before = revision(served)
    cdp = touch.context.new_cdp_session(touch)
    x, y = middle(touch, ".pull.of-edge:visible", 0)
    for kind, at in (("touchStart", (x, y)), ("touchMove", (x + 6, y + 6)), ("touchMove", (x + 14, y + 16)),
                     ("touchEnd", None)):
        points = [{"x": at[0], "y": at[1]}] if at else []
        cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    drawn(touch, served, before)
    recipe = served.store.load(served.plan_id).plan.piece(i).recipe
    assert recipe and len(shape_of(recipe).edge) > 20 and not shape_of(recipe).spine
    expect(touch.locator("#undo")).to_contain_text("pull the edge of cloud")


def test_with_keys_a_grip_is_named_and_nudged_by_millimetres(page: Page, served: Served) -> None:
    i = tied_in(served)
    opened(page, served, i)
    before = revision(served)
    grip = page.get_by_role("button", name="grip 2 of", exact=False).and_(page.locator(".of-line"))
    grip.focus()
    expect(grip).to_have_accessible_name(re.compile("Line of Wind, long bars, grip 2 of [345]"))
    old = np.array(page.evaluate("i => fetch(`${document.getElementById('desk').dataset.base}/handles?id=${i}`)"
                                 ".then(r => r.json())", i)["line"])
    grip.press("ArrowUp")
    grip.press("Escape")
    assert page.locator(".pull").count() > 4, "still selected"
    grip.press("Shift+ArrowUp")
    grip.press("ArrowUp")
    grip.press("Enter")
    drawn(page, served, before)
    recipe = served.store.load(served.plan_id).plan.piece(i).recipe
    assert recipe and revision(served) == before + 1
    new = np.array(shape_of(recipe).spine)
    assert new[3, 1] - old[3, 1] == pytest.approx(6.0, abs=0.4)
    expect(page.locator(":focus")).to_have_accessible_name(re.compile("Line of Wind, long bars, grip 2 of [345]"))


def test_what_cannot_be_drawn_leaves_the_old_and_says_why(page: Page, served: Served) -> None:
    i = tied_in(served, "rope")
    opened(page, served, i)
    before, count = revision(served), page.locator(".pull.of-line").count()
    line = page.locator("#handles path.line").get_attribute("d")
    x, y = middle(page, n=0)
    u, v = middle(page, n=count - 1)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(u + 600, v, steps=3)
    page.mouse.up()
    expect(page.locator("#notice")).to_contain_text("ull it", timeout=SLOW)
    expect(page.locator(".piece.redrawing")).to_have_count(0)
    page.evaluate("document.getElementById('notice').hidden = true")  # which takes some of the table's height
    expect(page.locator("#handles path.line")).to_have_attribute("d", str(line))
    assert revision(served) == before


def test_the_line_on_the_sheet_is_the_line_that_is_drawn(page: Page, served: Served) -> None:
    """The page's spline against the server's (scipy)."""
    opened(page, served, tied_in(served))
    p = [[0, 0], [12, 9], [30, -4], [41, 3], [44, 20]]
    got = page.evaluate("p => import('/static/js/spline.js').then(m => m.smooth(p, 1))", p)
    want = smooth(np.array(p, float), 1.0)
    assert len(got) == len(want) and np.allclose(got, want, atol=1e-9)
