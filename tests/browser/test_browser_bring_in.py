"""Bringing in a picture, by mouse, finger and keys; the page at three sizes, against WCAG 2.2 by axe-core."""

from __future__ import annotations

import base64
import sys
from pathlib import Path

import numpy as np
import pytest
import shapely
from desk_server import Served
from playwright.sync_api import Page, expect

sys.path.insert(0, str(Path(__file__).parents[1] / "art"))
from estuary_pictures import gull, lamp, on_mud, on_paper, outline_of, saved

pytestmark = pytest.mark.browser
AXE = Path(__file__).parent / "lib" / "axe.min.js"
SIZES = {"large": (1440, 900), "middle": (1180, 820), "small": (390, 844)}
W, H = 480, 640


@pytest.fixture(scope="module")
def gull_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("art") / "gull.jpg"
    file.write_bytes(saved(on_paper(*gull(640, 480)), "JPEG", quality=92))
    return file


@pytest.fixture(scope="module")
def lamp_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Before mud: no plain background, so it wants a line round it."""
    file = tmp_path_factory.mktemp("art") / "lamp.jpg"
    file.write_bytes(saved(on_mud(*lamp(W, H)), "JPEG", quality=95))
    return file


def bring(page: Page, served: Served, file: Path) -> None:
    page.goto(f"{served.url}/plans/{served.plan_id}/bring-in/left_arm")
    page.locator("#file").set_input_files(file)
    page.wait_for_url("**picture=*")
    settled(page)


def settled(page: Page) -> None:
    page.wait_for_timeout(900)  # a quick look, then the whole drawing when the hand rests
    page.locator("#answer:not([aria-busy]) svg").wait_for(state="attached")


def outline(page: Page) -> shapely.Geometry:
    """The silhouette as it is seen, in the picture's pixels."""
    d = page.locator("#found .line").get_attribute("d") or ""
    rings = [np.array(r.replace("Z", "").replace("L", " ").split(), float) for r in d.split("M")[1:]]
    return shapely.union_all([shapely.Polygon(r.reshape(-1, 2)) for r in rings])


def alike(a: shapely.Geometry, b: shapely.Geometry) -> float:
    return a.intersection(b).area / a.union(b).area


def rough() -> np.ndarray:
    return np.asarray(outline_of("lamp", W, H).buffer(16).simplify(8).exterior.coords)[:-1]


def true_lamp() -> shapely.Geometry:
    return shapely.Polygon(outline_of("lamp", W, H).exterior)


def test_a_photo_becomes_a_piece(page: Page, bare: Served, gull_file: Path) -> None:
    page.goto(f"{bare.url}/plans/{bare.plan_id}/compose/left_arm")
    page.get_by_role("link", name="Bring in a picture").click()
    page.locator("#file").set_input_files(gull_file)
    page.wait_for_url("**picture=*")
    settled(page)
    assert alike(outline(page), outline_of("gull", 640, 480)) > 0.97
    expect(page.locator("#said")).to_contain_text("What the skin can hold")
    expect(page.locator("#tone-table")).to_contain_text("Black")
    before = page.locator("#size-now").inner_text()
    page.get_by_label("Fineness").focus()
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    expect(page.locator("#o-fineness")).to_have_text("80%")
    settled(page)
    page.locator("label:has-text('its longer side')").click()
    page.locator("#b-long").fill("8")
    page.locator("#b-long").press("Tab")
    expect(page.locator("#size-now")).to_contain_text("8.0 by")
    assert page.locator("#size-now").inner_text() != before
    page.get_by_label("Name").fill("Gull over the bar")
    page.get_by_role("button", name="Lay it on the sheet").click()
    page.wait_for_url("**/compose/**")
    expect(page.locator("#f-title")).to_have_value("Gull over the bar")
    piece = bare.store.load(bare.plan_id).plan.pieces[0]
    drawing = bare.store.gallery[piece.art]
    assert np.ptp(np.concatenate(drawing.silhouette), axis=0).max() == pytest.approx(80, abs=0.3)


def test_a_line_round_it_with_the_mouse(page: Page, bare: Served, lamp_file: Path) -> None:
    bring(page, bare, lamp_file)
    expect(page.locator("input[value=frame]")).to_be_checked()
    page.locator("label:has-text('A line round it')").click()
    box = page.locator("#draw").bounding_box()
    k = box["width"] / W
    ring = rough()
    page.mouse.move(box["x"] + ring[0][0] * k, box["y"] + ring[0][1] * k)
    page.mouse.down()
    for x, y in ring[1:]:
        page.mouse.move(box["x"] + x * k, box["y"] + y * k, steps=3)
    page.mouse.up()
    settled(page)
    found = outline(page)
    assert alike(found, true_lamp()) > max(0.9, alike(shapely.Polygon(ring), true_lamp()) + 0.05)
    page.get_by_role("button", name="Take back").click()
    settled_fault = page.locator(".fault-line")
    expect(settled_fault).to_contain_text("Draw a line round the subject first")


def test_taps_close_a_line_and_regions_take_lines_away(touch: Page, bare: Served, lamp_file: Path) -> None:
    bring(touch, bare, lamp_file)
    touch.locator("label:has-text('A line round it')").tap()
    box = touch.locator("#draw").bounding_box()
    k = box["width"] / W
    for x, y in rough():
        touch.touchscreen.tap(box["x"] + x * k, box["y"] + y * k)
    touch.get_by_role("button", name="Close the line").tap()
    settled(touch)
    assert alike(outline(touch), true_lamp()) > 0.88
    lines = touch.locator("#answer .line").get_attribute("d")
    touch.get_by_role("button", name="No lines here").tap()
    for x, y in ((150, 280), (330, 280), (330, 500), (150, 500)):
        touch.touchscreen.tap(box["x"] + x * k, box["y"] + y * k)
    touch.get_by_role("button", name="Close the line").tap()
    settled(touch)
    assert len(touch.locator("#answer .line").get_attribute("d") or "") < 0.9 * len(lines or "")


def test_a_scale_by_keys_alone(page: Page, bare: Served, gull_file: Path) -> None:
    bring(page, bare, gull_file)
    page.get_by_label("a scale on it").focus()
    page.keyboard.press("Space")
    expect(page.locator("#draw")).to_be_focused()
    page.keyboard.press("Enter")
    for _ in range(10):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator("#b-scale")).to_be_focused()
    expect(page.locator("#draw-how")).to_contain_text("type how far apart")
    assert page.locator("#answer .fault-line").count() == 0
    box = page.locator("#draw").bounding_box()
    px = 140 * 640 / box["width"]
    page.keyboard.type("2")
    page.keyboard.press("Tab")
    settled(page)
    x0, _, x1, _ = outline(page).bounds
    expect(page.locator("#size-now")).to_contain_text(f"{(x1 - x0) / px * 2:.1f} by")
    expect(page.locator("#draw .words.scale")).to_have_text("2 cm")


def test_dropped_and_pasted(page: Page, bare: Served, gull_file: Path) -> None:
    data = base64.b64encode(gull_file.read_bytes()).decode()
    give = """([kind, data]) => {
      const bytes = Uint8Array.from(atob(data), (c) => c.charCodeAt(0));
      const box = new DataTransfer();
      box.items.add(new File([bytes], "gull.jpg", { type: "image/jpeg" }));
      const goal = document.getElementById("desk") ?? document.body;
      const event = kind === "paste" ? new ClipboardEvent("paste", { clipboardData: box, bubbles: true })
        : new DragEvent("drop", { dataTransfer: box, bubbles: true, cancelable: true });
      goal.dispatchEvent(event);
    }"""
    for path, kind in (("bring-in/left_arm", "paste"), ("bring-in/left_arm", "drop"), ("compose/left_arm", "drop")):
        page.goto(f"{bare.url}/plans/{bare.plan_id}/{path}")
        page.wait_for_load_state("networkidle")
        page.evaluate(give, [kind, data])
        page.wait_for_url("**picture=*")
        page.locator("#answer svg").wait_for()


def test_a_bad_file_is_refused_in_words(page: Page, bare: Served, tmp_path: Path) -> None:
    page.goto(f"{bare.url}/plans/{bare.plan_id}/bring-in/left_arm")
    bad = tmp_path / "gull.png"
    bad.write_bytes(b"8BPS layered")
    page.locator("#file").set_input_files(bad)
    expect(page.locator("#notice")).to_contain_text("layered painting file")
    cut = tmp_path / "cut.jpg"
    cut.write_bytes(saved(gull(320, 240)[0], "JPEG")[:900])
    page.locator("#file").set_input_files(cut)
    expect(page.locator("#notice")).to_contain_text("cut short")


def test_an_svg_goes_straight_onto_the_shelf_and_what_was_left_out_of_it_is_told(page: Page, bare: Served,
                                                                              tmp_path: Path) -> None:
    file = tmp_path / "reed.svg"
    file.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60"><script>0'
                    '</script><path d="M5 5H55V55H5Z"/></svg>')
    page.goto(f"{bare.url}/plans/{bare.plan_id}/bring-in/left_arm")
    page.locator("#file").set_input_files(file)
    page.wait_for_url("**/compose/**")
    expect(page.locator("#notice")).to_contain_text("\u201creed\u201d is on the shelf. ")
    expect(page.locator("#notice")).to_contain_text("script")
    page.reload()
    expect(page.locator("#notice")).to_be_hidden()


@pytest.mark.parametrize("size", SIZES)
def test_reads_well_at_every_size(page: Page, bare: Served, gull_file: Path, size: str) -> None:
    w, h = SIZES[size]
    page.set_viewport_size({"width": w, "height": h})
    page.goto(f"{bare.url}/plans/{bare.plan_id}/bring-in/left_arm")
    _accessible(page)
    bring(page, bare, gull_file)
    _accessible(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= w
    small = page.evaluate("""() =>
      [...document.querySelectorAll("button, .button, summary, .choice label, input[type=range]")]
      .filter((e) => e.getClientRects().length && e.getBoundingClientRect().height < 43.5).map((e) => e.outerHTML)""")
    assert small == []
    if size == "small":
        page.get_by_role("button", name="Drawing", exact=True).click()
        expect(page.locator("#answer svg")).to_be_in_viewport()


def _accessible(page: Page) -> None:
    # The page's own rules forbid scripts from elsewhere; the checker is put in from outside of them.
    page.evaluate(AXE.read_text("utf-8"))
    found = page.evaluate("axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']})")
    assert [f"{v['id']}: {v['nodes'][0]['html'][:120]}" for v in found["violations"]] == []
