"""The turntable in a real Chromium (software GL): turning, pinching, keys, picking, mirror, drawn views."""

from __future__ import annotations

from pathlib import Path

import pytest
from desk_server import FLAGS, Served, chromium
from playwright.sync_api import Browser, Page, expect

pytestmark = pytest.mark.browser
AXE = Path(__file__).parent / "lib" / "axe.min.js"
SIZES = [(1440, 900), (1180, 820), (390, 844)]
STATE = """async () => { const { shown } = await import("/static/js/round/round.js"); const l = shown.look;
  return { u: l.u, zoom: l.zoom, tilt: l.tilt, along: l.along, mirror: shown.stage.mirror, rings: shown.stage.rings,
           fine: shown.stage.tiles.fine.size, moving: Boolean(l.moving) }; }"""
PIXEL = """async ([u, s]) => { const { shown } = await import("/static/js/round/round.js"); const st = shown.stage;
  const box = st.stand.getBoundingClientRect(); const [x, y] = st.pixel(st.grid.at(u, s));
  return [x + box.left, y + box.top]; }"""


def show(page: Page, served: Served, query: str = "", part: str = "left_arm") -> None:
    page.goto(f"{served.url}/plans/{served.plan_id}/round/{part}{query}")
    page.wait_for_selector("#stand[data-ready]", timeout=60_000)


def still(page: Page) -> dict:
    """The state once nothing moves."""
    page.wait_for_timeout(450)
    while (now := page.evaluate(STATE))["moving"]:
        page.wait_for_timeout(50)
    return now


def turn(a: float, b: float) -> float:
    return abs((a - b + 0.5) % 1.0 - 0.5)


def test_buttons_go_round_and_say_where(page: Page, served: Served) -> None:
    show(page, served)
    for word, u in (("Outer side", 0.25), ("Back", 0.5), ("Inner side", -0.25), ("Front", 0.0)):
        page.get_by_role("link", name=word, exact=True).click()
        assert turn(still(page)["u"], u) < 1e-6
        expect(page.locator("#where")).to_have_text(word)
    show(page, served, part="right_arm")
    page.get_by_role("link", name="Outer side", exact=True).click()
    assert turn(still(page)["u"], -0.25) < 1e-6


def test_the_skin_follows_the_hand(page: Page, served: Served) -> None:
    """A drag of so many pixels moves the skin under it by about as many, either way round."""
    for query, flip in (("", 1), ("?mirror=1", -1)):
        show(page, served, query)
        x, y = page.evaluate(PIXEL, [0.0, 300.0])
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 12, y, steps=3)
        page.mouse.move(x + 30, y, steps=4)
        page.mouse.up()
        after = still(page)
        assert -after["u"] * flip > 0.02
        moved = page.evaluate(PIXEL, [0.0, 300.0])[0] - x
        assert moved == pytest.approx(30, abs=12)


def test_wheel_keys_and_limits(page: Page, served: Served) -> None:
    show(page, served)
    x, y = page.evaluate(PIXEL, [0.03, 404.0])
    page.mouse.move(x, y)
    for _ in range(6):
        page.mouse.wheel(0, -240)
    near = still(page)
    assert near["zoom"] > 4
    nx, ny = page.evaluate(PIXEL, [0.03, 404.0])
    assert (nx, ny) == (pytest.approx(x, abs=40), pytest.approx(y, abs=40))   # what lay under the pointer stays
    page.wait_for_selector("#stand:not([data-fine='0'])")
    page.locator("#stand").focus()
    page.keyboard.press("0")
    assert still(page)["zoom"] == pytest.approx(1.0)
    page.keyboard.press("3")
    assert turn(still(page)["u"], 0.5) < 1e-6
    page.keyboard.press("ArrowRight")
    assert turn(still(page)["u"], 0.5) == pytest.approx(1 / 32, abs=1e-6)
    page.keyboard.press("m")
    page.keyboard.press("l")
    now = still(page)
    assert now["mirror"] and now["rings"]
    expect(page.locator("#where")).to_contain_text("as in the mirror")
    for _ in range(40):
        page.keyboard.press("+")
    assert still(page)["zoom"] <= 14


def test_a_tap_picks_the_piece_and_the_sheet_can_follow(page: Page, served: Served) -> None:
    show(page, served)
    page.evaluate("""() => { window.told = [];
      new BroadcastChannel("sleevewright").onmessage = e => told.push(e.data); }""")
    x, y = page.evaluate(PIXEL, [0.03, 404.0])
    page.mouse.click(x, y)
    expect(page.locator("#chosen h2")).to_have_text("The pilot's daughter")
    expect(page.locator("#chosen tr.best")).to_contain_text("front")
    page.wait_for_function("window.told.length > 0")
    assert page.evaluate("told.at(-1)") == {"plan": served.plan_id, "part": "left_arm", "piece": "demo3"}
    page.mouse.click(x + 330, y)
    expect(page.locator("#chosen h2")).to_have_count(0)
    page.mouse.click(x, y)
    page.get_by_role("link", name="Show on the sheet").click()
    page.wait_for_url("**/compose/left_arm?sel=demo3")
    expect(page.locator("#row-demo3")).to_have_attribute("aria-pressed", "true")


def test_picking_in_the_mirror_takes_the_mirrored_place(page: Page, served: Served) -> None:
    show(page, served, "?mirror=1&view=outer")
    plain = page.evaluate(PIXEL, [0.33, 172.0])
    page.mouse.click(*plain)
    expect(page.locator("#chosen h2")).to_have_text("Conger eel on an old anchor")


def test_the_list_turns_to_the_side_that_shows_a_piece_best(page: Page, served: Served) -> None:
    show(page, served)
    page.locator("[data-piece=demo4]").click()
    assert turn(still(page)["u"], 0.5) < 1e-6
    expect(page.locator("#chosen h2")).to_have_text("Octopus of the harbour wall")
    page.keyboard.press("Tab")
    page.locator("[data-piece=demo2]").focus()
    page.keyboard.press("Enter")
    assert turn(still(page)["u"], -0.25) < 1e-6


def test_poses_change_the_shape_and_keep_the_skin(page: Page, served: Served) -> None:
    show(page, served)
    reach = """async () => { const { shown } = await import("/static/js/round/round.js");
      const g = shown.stage.grid.at(0, 10); return [g[1], shown.stage.data.texture]; }"""
    relaxed = page.evaluate(reach)
    page.get_by_role("link", name="Bent").click()
    page.wait_for_selector("#stand[data-shown$=bent]")
    bent = page.evaluate(reach)
    assert bent[0] < relaxed[0] - 100 and bent[1] == relaxed[1]
    assert page.locator("#moved").is_hidden()
    page.get_by_role("button", name="Stretch").click()
    assert "folds" in page.locator("#moved").inner_text()
    page.get_by_role("link", name="Arm raised").click()
    page.wait_for_selector("#stand[data-shown$='arm raised']")
    assert page.evaluate(reach) == relaxed and "Drawn in its shape at rest" in page.locator("#moved").inner_text()
    assert page.get_by_role("button", name="Stretch").is_hidden()
    page.get_by_role("link", name="Relaxed").click()
    page.wait_for_selector("#stand[data-shown$=relaxed]")
    assert page.evaluate(reach)[0] == pytest.approx(relaxed[0])


def test_another_window_s_change_arrives(page: Page, served: Served) -> None:
    show(page, served)
    was = page.locator("#stand").get_attribute("data-shown")
    served.store.commit(served.plan_id, {"do": "remove", "ids": ["demo3"]}, "remove")
    page.wait_for_selector(f"#stand:not([data-shown='{was}'])", timeout=20_000)
    page.mouse.click(*page.evaluate(PIXEL, [0.03, 404.0]))
    page.wait_for_timeout(200)
    expect(page.locator("#chosen h2")).to_have_count(0)


def test_two_fingers_come_closer_one_turns(touch: Page, served: Served) -> None:
    show(touch, served)
    cdp = touch.context.new_cdp_session(touch)
    x, y = touch.evaluate(PIXEL, [0.0, 250.0])

    def send(kind: str, *points: tuple[float, float]) -> None:
        cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [
            {"x": px, "y": py, "id": i} for i, (px, py) in enumerate(points)]})

    send("touchStart", (x - 40, y), (x + 40, y))
    for d in range(50, 130, 10):
        send("touchMove", (x - d, y), (x + d, y))
    send("touchEnd")
    pinched = still(touch)
    assert pinched["zoom"] == pytest.approx(3, rel=0.25) and turn(pinched["u"], 0) < 1e-6
    touch.get_by_role("button", name="Whole").tap()
    assert still(touch)["zoom"] == pytest.approx(1.0)
    send("touchStart", (x, y))
    for d in range(5, 60, 5):
        send("touchMove", (x + d, y))
    send("touchEnd")
    assert still(touch)["u"] < -0.02
    touch.touchscreen.tap(*touch.evaluate(PIXEL, [0.03, 404.0]))
    expect(touch.locator("#chosen h2")).to_have_text("The pilot's daughter")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("query", ["?piece=demo1&rings=1&pose=arm+raised", "?still=1&piece=demo1"])
def test_it_fits_and_meets_wcag_aa(page: Page, served: Served, size: tuple[int, int], query: str) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto(f"{served.url}/plans/{served.plan_id}/round/left_arm{query}")
    if "still" not in query:
        page.wait_for_selector("#stand[data-ready]", timeout=60_000)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    box = page.locator("#stand").bounding_box()
    assert box and box["height"] >= 0.3 * size[1]
    cut = page.evaluate("""() => { const bar = document.querySelector(".bar"), edge = bar.getBoundingClientRect();
      return [...bar.querySelectorAll("a, button")].filter(e => e.offsetParent).filter(e => {
        const r = e.getBoundingClientRect(); return r.right > edge.right || r.bottom > edge.bottom; })
      .map(e => e.textContent.trim()); }""")
    assert cut == []
    small = page.evaluate("""() => [...document.querySelectorAll("main a, main button")].filter(e => e.offsetParent)
      .map(e => [e.textContent.trim(), e.getBoundingClientRect()]).filter(([, r]) => r.height < 43.5)
      .map(([t]) => t)""")
    assert [t for t in small if t] == []
    page.evaluate(AXE.read_text())
    found = page.evaluate("""async () => (await axe.run(document, { runOnly: { type: "tag",
      values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] } }))
      .violations.map(v => v.id + ": " + v.nodes.slice(0, 3).map(n => n.html.slice(0, 140)).join(" | "))""")
    assert found == []


def test_an_arm_with_nothing_on_it(page: Page, bare: Served) -> None:
    show(page, bare)
    expect(page.locator(".beside")).to_contain_text("Nothing placed yet.")


def test_without_webgl_drawn_views_take_over(served: Served, browser: Browser) -> None:
    """A browser with all GL switched off is sent to the drawn views, and can turn, mirror and pick there."""
    off = [f for f in FLAGS if "gl=" not in f and "swiftshader" not in f]
    plain = browser.browser_type.launch(executable_path=chromium(), args=[*off, "--disable-3d-apis"])
    try:
        page = plain.new_page(viewport={"width": 1180, "height": 820})
        page.goto(f"{served.url}/plans/{served.plan_id}/round/left_arm?view=outer")
        page.wait_for_url("**still=1**")
        expect(page.locator("#where")).to_have_text("Outer side")
        page.keyboard.press("ArrowRight")
        expect(page.locator("#where")).to_have_text("Front outer")
        page.get_by_role("button", name="As in the mirror").click()
        expect(page.locator("#where")).to_have_text("Front outer, as in the mirror")
        page.locator("svg.turned a[aria-label='The pilot\\'s daughter']").first.focus()
        page.keyboard.press("Enter")
        expect(page.locator("#chosen h2")).to_have_text("The pilot's daughter")
    finally:
        plain.close()
