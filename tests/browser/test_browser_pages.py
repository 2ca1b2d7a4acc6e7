"""Start, tape, print; every page at three sizes, against WCAG 2.2 by axe-core (an open rule set)."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from desk_server import Served, drawn
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser
AXE = Path(__file__).parent / "lib" / "axe.min.js"
SIZES = {"large": (1440, 900), "middle": (1180, 820), "small": (390, 844)}


def test_a_plan_from_the_first_tape_to_the_sheet(page: Page, bare: Served) -> None:
    page.goto(bare.url)
    page.get_by_label("New plan").fill("River study")
    page.get_by_role("button", name="Begin").click()
    expect(page.locator("h1")).to_have_text("River study")
    page.get_by_role("button", name="Unroll the sheet").click()
    expect(page.locator("#measure-notice")).to_contain_text("Nothing was saved")
    assert page.locator(".problem").count() == 11, "all that is missing is said at once, at its field"
    values = {"wrist": "17.2", "forearm": "28", "elbow": "26,8 cm", "upper_arm": "330 mm", "armpit": "35",
              "deltoid": "40", "wrist_to_forearm": "19", "forearm_to_elbow": "6", "elbow_to_upper_arm": "12",
              "upper_arm_to_armpit": "60 mm", "armpit_to_deltoid": "2 3/8 in"}
    for name, value in values.items():
        page.locator(f"#m-{name}").fill(value)
    page.locator("#m-wrist").fill("172")
    page.get_by_role("button", name="Unroll the sheet").click()
    expect(page.locator("#field-wrist .problem")).to_contain_text("172")
    expect(page.locator("#measure-notice")).to_contain_text("Nothing was saved")
    expect(page.locator("#m-wrist")).to_be_focused()
    assert bare.store.load(page.url.split("/")[4]).plan.parts == ()
    page.locator("#m-wrist").fill("17.2")
    page.locator("#m-wrist").press("Tab")
    expect(page.locator("#look svg.arm")).to_be_visible()
    page.get_by_role("button", name="Unroll the sheet").click()
    page.wait_for_url(re.compile("/compose/left_arm"))
    plan = bare.store.load(page.url.split("/")[4]).plan
    assert plan.part("left_arm").measures["armpit_to_deltoid"] == pytest.approx(2.375 * 25.4)
    assert plan.part("left_arm").measures["upper_arm"] == 330


def test_units_change_what_is_shown_and_nothing_else(page: Page, served: Served) -> None:
    page.goto(f"{served.url}/plans/{served.plan_id}/measure/left_arm")
    before = served.store.load(served.plan_id).plan.part("left_arm").measures
    page.locator("label:has-text('in') >> nth=-1").click()
    expect(page.locator("#m-wrist")).to_have_value("6.85")
    page.get_by_role("button", name="Save the measures").click()
    page.wait_for_url(re.compile("/compose/left_arm"))
    plan = served.store.load(served.plan_id).plan
    assert plan.settings.unit == "in"
    for name, mm in before.items():
        assert plan.part("left_arm").measures[name] == pytest.approx(mm, abs=0.13), "within the figure shown, 0.01 in"


def test_print_page_and_files(page: Page, served: Served) -> None:
    page.goto(f"{served.url}/plans/{served.plan_id}/print")
    expect(page.locator(".map")).to_have_count(1)
    upright = page.locator(".map .page").count()
    page.locator("label:has-text('A3')").click()
    expect(page.locator("figcaption")).to_contain_text("A3")
    assert 1 <= page.locator(".map .page").count() < upright
    with page.expect_download() as got:
        page.get_by_role("link", name=re.compile("Take the PDF")).click()
    data = Path(got.value.path()).read_bytes()
    assert data.startswith(b"%PDF-") and got.value.suggested_filename == "estuary-sleeve-a3.pdf"
    with page.expect_download() as got:
        page.get_by_role("link", name=re.compile("SVG of the left arm")).click()
    assert b"<svg" in Path(got.value.path()).read_bytes()[:400]


def test_delete_and_put_back_export_and_bring_in(page: Page, served: Served, tmp_path: Path) -> None:
    page.goto(served.url)
    page.locator("details.more summary").click()
    with page.expect_download() as got:
        page.get_by_role("link", name="Export").click()
    kept = tmp_path / got.value.suggested_filename
    got.value.save_as(kept)
    page.get_by_role("button", name="Delete").click()
    expect(page.locator(".undo-line")).to_be_visible()
    expect(page.locator(".plan")).to_have_count(0)
    page.get_by_role("button", name="Put it back").click()
    expect(page.locator(".plan")).to_have_count(1)
    page.locator("#import-file").set_input_files(kept)
    page.get_by_role("button", name="Bring in", exact=True).click()
    page.wait_for_url(re.compile("/compose/left_arm"))
    assert len(served.store.plans()) == 2
    (tmp_path / "cut.sleevewright").write_bytes(kept.read_bytes()[:2000])
    page.goto(served.url)
    page.locator("#import-file").set_input_files(tmp_path / "cut.sleevewright")
    page.get_by_role("button", name="Bring in", exact=True).click()
    expect(page.locator("main.fault p").first).to_contain_text("plan file")
    assert len(served.store.plans()) == 2


@pytest.mark.parametrize("size", SIZES)
def test_every_page_fits_and_passes_axe(page: Page, served: Served, size: str) -> None:
    if not AXE.exists():
        pytest.fail(f"{AXE} is missing; `python3 run.py test` fetches it.")
    width, height = SIZES[size]
    page.set_viewport_size({"width": width, "height": height})
    base = f"{served.url}/plans/{served.plan_id}"
    for path in (served.url, f"{base}/measure/left_arm", f"{base}/compose/left_arm",
                 f"{base}/compose/left_arm?sel=demo5", f"{base}/tie-in/left_arm", f"{base}/print"):
        page.goto(path)
        if "/compose/" in path or "/tie-in/" in path:
            page.locator("body.ready").wait_for()
            page.locator("body:not(.waiting)").wait_for(timeout=60_000)
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, f"{path} is {wide} px wide at {size}"
        page.evaluate(AXE.read_text())
        found = page.evaluate("""() => axe.run(document, { runOnly: { type: 'tag',
            values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] } })""")
        said = [(v["id"], [n["html"][:140] for n in v["nodes"][:3]]) for v in found["violations"]]
        assert said == [], f"{path} at {size}: {said}"


@pytest.mark.parametrize("size", SIZES)
def test_the_sheet_is_seen_whole_and_nothing_covers_it(page: Page, served: Served, size: str) -> None:
    width, height = SIZES[size]
    page.set_viewport_size({"width": width, "height": height})
    page.goto(f"{served.url}/plans/{served.plan_id}/compose/left_arm")
    page.locator("body.ready").wait_for()
    page.wait_for_timeout(300)
    drawn(page)
    sheet, table = page.locator("#sheet .skin-sheet").bounding_box(), page.locator("#table").bounding_box()
    assert sheet and table
    assert sheet["x"] >= table["x"] and sheet["x"] + sheet["width"] <= table["x"] + table["width"]
    assert sheet["y"] >= table["y"] and sheet["y"] + sheet["height"] <= table["y"] + table["height"]
    assert sheet["height"] > 0.5 * table["height"] or sheet["width"] > 0.85 * table["width"]
    for box in page.locator(".bar button:visible, .foot button:visible, .rule, .steps a").evaluate_all(
            "els => els.map(e => { const r = e.getBoundingClientRect(); return [r.x, r.y, r.right, r.bottom]; })"):
        apart = (box[2] <= sheet["x"] or box[0] >= sheet["x"] + sheet["width"] or box[3] <= sheet["y"]
                 or box[1] >= sheet["y"] + sheet["height"])
        assert apart, "a control lies over the sheet"
    small = page.locator("button:visible, .steps a:visible, a.button:visible, summary:visible").evaluate_all(
        """els => els.filter(e => { const r = e.getBoundingClientRect(); return r.height < 43.5; })
           .map(e => e.textContent.trim() + ' ' + e.getBoundingClientRect().height)""")
    assert small == [], "every target is 44 px high"
