"""The Stencils page without a browser: choices, files, printers, and what comes back."""

from __future__ import annotations

import io
import re

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.demo import bare_demo
from composer.store.store import Store

AT = "/plans/{}/stencils/left_arm"


@pytest.fixture
def demo_id(store: Store) -> str:
    plan, gallery = bare_demo()
    for drawing in gallery.values():
        store.keep_drawing(drawing)
    return store.adopt(plan)


def text_of(pdf: bytes) -> list[str]:
    return [p.get_textpage().get_text_range() for p in pypdfium2.PdfDocument(pdf)]


def test_the_step_stands_along_the_top_and_leads_to_the_part(client: TestClient, demo_id: str) -> None:
    home = client.get(f"/plans/{demo_id}/print").text
    assert re.search(rf'href="/plans/{demo_id}/stencils/\w+"\s+data-step="stencils"', home)
    assert client.get(f"/plans/{demo_id}/stencils", follow_redirects=False).headers["location"].endswith("/left_arm")
    shown = client.get(AT.format(demo_id)).text
    assert 'aria-current="step">Stencils' in shown and shown.count('name="piece"') == 14
    assert "Lies flat in one paper" in shown and "page-1.svg?" in shown


def test_without_measures_it_leads_to_them_and_an_empty_part_says_so(client: TestClient, store: Store,
                                                                    plan_id: str) -> None:
    bare = store.create("Nothing yet")
    assert "/measure/left_arm" in client.get(f"/plans/{bare}/stencils", follow_redirects=False).headers["location"]
    assert "Nothing lies on this part yet" in client.get(AT.format(plan_id)).text
    assert client.get(AT.format(plan_id) + "/stencils.pdf").status_code == 422
    assert client.get(f"/plans/{plan_id}/stencils/right_arm/stencils.pdf").status_code == 404


def test_pages_are_seen_as_they_are_printed(client: TestClient, demo_id: str) -> None:
    query = "asked=1&piece=demo2&piece=demo5&twins=1&face=mirrored&paper=Letter"
    shown = client.get(f"{AT.format(demo_id)}?{query}").text
    count = int(re.search(r"Take the PDF, (\d+) pages", shown).group(1))  # type: ignore[union-attr]
    pdf = client.get(f"{AT.format(demo_id)}/stencils.pdf?{query}")
    assert pdf.headers["content-disposition"] == 'attachment; filename="estuary-sleeve-stencils-letter-mirrored.pdf"'
    pages = text_of(pdf.content)
    assert len(pages) == count >= 2 and "tape these points first" in pages[-1] and "stencil ink" in pages[0]
    for n in range(1, count + 1):
        picture = client.get(f"{AT.format(demo_id)}/page-{n}.svg?{query}")
        assert picture.headers["content-type"] == "image/svg+xml" and 'viewBox="0 0 215.9 279.4"' in picture.text
    assert client.get(f"{AT.format(demo_id)}/page-{count + 1}.svg?{query}").status_code == 404


def test_htmx_gets_the_body_alone(client: TestClient, demo_id: str) -> None:
    part = client.get(f"{AT.format(demo_id)}?asked=1", headers={"hx-request": "true"}).text
    assert "<html" not in part and "Choose a piece, and its paper is shown here." in part


def test_pictures_and_working_files(client: TestClient, demo_id: str) -> None:
    one = f"{AT.format(demo_id)}/picture.png?asked=1&piece=demo12"
    assert Image.open(io.BytesIO(client.get(f"{one}&dpi=150").content)).info["dpi"] == pytest.approx((150, 150), abs=1)
    assert "choose 72 to 1200" in client.get(f"{one}&dpi=9000").text
    assert "whole number of dpi" in client.get(f"{one}&dpi=many").text
    assert "holds one stencil" in client.get(f"{AT.format(demo_id)}/picture.png?asked=1&piece=demo12&piece=demo2").text
    svg = client.get(f"{AT.format(demo_id)}/working.svg?asked=1&piece=demo12")
    assert "data-stencil" in svg.text and svg.headers["content-disposition"].endswith('.svg"')


def test_what_was_drawn_over_comes_back_as_one_step(client: TestClient, store: Store, demo_id: str) -> None:
    svg = client.get(f"{AT.format(demo_id)}/working.svg?asked=1&piece=demo6").text
    new = svg.replace("</svg>", '<path d="M-3-3h6v6h-6z"/></svg>')
    before = store.load(demo_id).plan.piece("demo6")
    answer = client.post(f"{AT.format(demo_id)}/back", files={"file": ("over.svg", new, "image/svg+xml")})
    assert answer.status_code == 200 and "is back in its place" in answer.text
    kept = store.load(demo_id)
    after = kept.plan.piece("demo6")
    assert after.art != before.art and (after.u, after.s_mm, after.turn_deg) == (before.u, before.s_mm, before.turn_deg)
    assert kept.undo_label == "draw over curlew skull"
    assert store.undo(demo_id).plan.piece("demo6") == before


@pytest.mark.parametrize(("data", "says"), [(b"", "empty"), (b"<svg xmlns='http://www.w3.org/2000/svg'/>",
                                                             "does not say where"), (b"\x89PNG", "whole XML")])
def test_a_wrong_file_is_told_and_changes_nothing(client: TestClient, store: Store, demo_id: str, data: bytes,
                                                  says: str) -> None:
    answer = client.post(f"{AT.format(demo_id)}/back", files={"file": ("x.svg", data, "image/svg+xml")})
    assert answer.status_code == 422 and says in answer.text
    assert store.load(demo_id).revision == 1


def test_a_printer_is_measured_used_and_forgotten(client: TestClient, store: Store, demo_id: str) -> None:
    assert client.get("/stencils/calibration-A4.pdf").content.startswith(b"%PDF")
    assert client.get("/stencils/calibration-A9.pdf").status_code == 404
    form = {"name": "Office", "across": "179,4", "along": "250.5", "paper": "A4", "query": "asked=1&piece=demo12"}
    answer = client.post(f"{AT.format(demo_id)}/printer", data=form).text
    assert "Corrected for Office: +0.33% across, -0.20% along." in answer and "<option selected>Office" in answer
    pdf = client.get(f"{AT.format(demo_id)}/stencils.pdf?asked=1&piece=demo12&printer=Office").content
    assert "Corrected for Office" in text_of(pdf)[0]
    bad = client.post(f"{AT.format(demo_id)}/printer", data={**form, "across": "wide"})
    assert bad.status_code == 422 and "across the page must be a number" in bad.text
    assert "fits the page" in client.post(f"{AT.format(demo_id)}/printer", data={**form, "across": "150"}).text
    client.post(f"{AT.format(demo_id)}/printer/forget", data={"name": "Office", "query": ""})
    assert store.printers.all() == []


def test_a_wish_that_cannot_be_is_told_on_the_page(client: TestClient, demo_id: str) -> None:
    shown = client.get(f"{AT.format(demo_id)}?asked=1&piece=demo2&paper=roll&roll=81").text
    assert "too narrow for" in shown and "Take the PDF" not in shown
    odd = client.get(f"{AT.format(demo_id)}?asked=1&piece=nobody&piece=demo12&paper=A99&way=teeth&roll=x&face=up").text
    assert "Lies flat" in odd and 'value="A4" selected' in odd


def test_what_paper_puts_up_with_is_kept_checked_and_undone(client: TestClient, store: Store, demo_id: str) -> None:
    at, query = AT.format(demo_id), "asked=1&piece=demo1"
    assert "What your paper puts up with" in client.get(f"{at}?{query}").text
    form = {"warn": "3", "act": "4,5", "mm": "2", "query": query}
    answer = client.post(f"{at}/paper", data=form)
    assert answer.status_code == 200 and "count for every stencil" in answer.text and "Back to usual" in answer.text
    kept = store.load(demo_id)
    assert kept.plan.settings.extra["paper"] == {"warn": 0.03, "act": 0.045, "mm": 2.0}
    assert kept.undo_label == "change what paper puts up with" and 'value="4.5"' in client.get(f"{at}?{query}").text
    for bad, says in (({"act": "much"}, "no number"), ({"mm": "40"}, "0.3 to 10 mm"), ({"warn": "9"}, "come first")):
        refused = client.post(f"{at}/paper", data={**form, **bad})
        assert refused.status_code == 422 and says in refused.text
    assert store.load(demo_id).revision == kept.revision
    back = client.post(f"{at}/paper", data={**form, "usual": "1"})
    assert "usual counts again" in back.text and "Back to usual</button>" not in back.text
    store.undo(demo_id)
    assert "paper" not in store.undo(demo_id).plan.settings.extra


def test_over_a_seam_there_is_a_paper_for_each_part(client: TestClient, store: Store, demo_id: str) -> None:
    for part in ("chest", "upper_back"):
        store.commit(demo_id, {"do": "measure", "part": part, "measures": PANEL_TYPICAL_MM[part]}, "measure")
    piece = store.load(demo_id).plan.piece("demo4")
    store.commit(demo_id, {"do": "place", "piece": {"id": "over", "part": "chest", "art": piece.art, "u": 0.14,
                                                    "title": "Octopus", "s_mm": 300.0, "scale": 0.8}}, "place")
    at = f"/plans/{demo_id}/stencils/chest?asked=1&piece=over"
    shown = client.get(at).text
    assert "Octopus, chest." in shown and "Octopus, upper back." in shown and "meet on the seam" in shown
    assert "picture.png" not in shown
    text = " ".join(text_of(client.get(at.replace("chest?", "chest/stencils.pdf?")).content))
    text = re.sub(r"\s+", " ", text)
    assert "Octopus, upper back" in text and "Octopus, chest" in text
    never = client.get(f"{at}&way=whole").text
    assert "Octopus, upper back." not in never and "picture.png" in never


def test_both_sides_over_their_armholes_come_in_a_paper_for_each_part(client: TestClient, store: Store) -> None:
    pid = store.create("Both armholes")
    for part, mm in (("left_arm", TYPICAL_MM), ("right_arm", TYPICAL_MM), ("chest", PANEL_TYPICAL_MM["chest"])):
        store.commit(pid, {"do": "measure", "part": part, "measures": dict(mm)})
    ring = np.array([[-40.0, -40.0], [40.0, -40.0], [40.0, 40.0], [-40.0, 40.0]])
    art = store.keep_drawing(Drawing((ring,), (Layer("line", (ring, ring * 0.9)),)))
    top = build_limb("left_arm", dict(TYPICAL_MM)).s_max
    store.commit(pid, {"do": "place", "piece": {"id": "b", "part": "left_arm", "art": art, "title": "Buoy", "u": 0.1,
                                                "s_mm": top}})
    page = client.get(f"/plans/{pid}/stencils/left_arm?asked=1&piece=b&twins=1&way=true")
    assert page.status_code == 200
    for title in ("Buoy, left", "Buoy, chest, left", "Buoy, right", "Buoy, chest, right"):
        assert title in page.text
    assert page.text.count("cut along it, one paper for the") == 2


def test_the_work_of_a_sitting_is_grouped_shown_and_undone(client: TestClient, store: Store, demo_id: str) -> None:
    at = AT.format(demo_id)
    assert "only groups what is to be stencilled" in client.get(at).text and "?sitting=" not in client.get(at).text
    form = {"query": "asked=1&piece=demo2&piece=demo12", "sitting": "2"}
    answer = client.post(f"{at}/sitting", data=form)
    assert "2 pieces are in sitting 2 now." in answer.text and "Heron on the mud bank, sitting 2" in answer.text
    kept = store.load(demo_id)
    assert kept.undo_label == "set the sitting of 2 pieces" and kept.plan.piece("demo12").sitting == 2
    link = re.search(r'href="([^"]*\?sitting=2[^"]*)"', answer.text).group(1).replace("&amp;", "&")  # type: ignore[union-attr]
    shown = client.get(link).text
    assert sorted(re.findall(r'name="piece" value="(\w+)" checked', shown)) == ["demo12", "demo2"]
    assert 'aria-current="true">Sitting 2' in shown and "piece=demo2" in shown
    text = "".join(text_of(client.get(link.replace("left_arm?", "left_arm/stencils.pdf?")).content))
    assert "Heron" in text and "moth" in text and "Octopus" not in text
    for bad, says in (({"sitting": "two"}, "whole number"), ({"sitting": ""}, "Type the number"),
                      ({"query": "asked=1"}, "Tick a piece first")):
        refused = client.post(f"{at}/sitting", data={**form, **bad})
        assert refused.status_code == 422 and says in refused.text
    assert "1 piece is in no sitting now." in client.post(
        f"{at}/sitting", data={"query": "asked=1&piece=demo2", "none": "1"}).text
    assert store.undo(demo_id).plan.piece("demo2").sitting == 2


def test_a_sitting_on_another_part_is_pointed_to(client: TestClient, store: Store, demo_id: str) -> None:
    piece = store.load(demo_id).plan.piece("demo5")
    store.commit(demo_id, {"do": "measure", "part": "chest", "measures": PANEL_TYPICAL_MM["chest"]}, "measure")
    store.commit(demo_id, {"do": "place", "piece": {"id": "tern", "part": "chest", "art": piece.art, "u": 0.1,
                                                    "title": "Tern", "s_mm": 150.0, "sitting": 5}}, "place")
    shown = client.get(AT.format(demo_id)).text
    link = r'<a href="/plans/[^"]*/stencils/chest\?sitting=5[^"]*">chest yoke</a>'
    assert re.search(f"Sitting 5 has work on the {link}", shown)


def test_the_desk_sets_the_sitting_of_one_and_of_several(client: TestClient, store: Store, demo_id: str) -> None:
    at = f"/plans/{demo_id}/desk/left_arm"
    one = client.post(f"{at}/field", data={"sel": "demo2", "name": "sitting", "value": "3"})
    assert one.status_code == 200 and store.load(demo_id).plan.piece("demo2").sitting == 3
    assert re.search(r'id="f-sitting"[^>]*value="3"', one.text)
    two = client.post(f"{at}/field", data={"sel": "demo2 demo4", "name": "sitting", "value": "4"}).text
    assert [store.load(demo_id).plan.piece(i).sitting for i in ("demo2", "demo4")] == [4, 4]
    assert re.search(r'id="f-sitting"[^>]*value="4"', two)
    client.post(f"{at}/field", data={"sel": "demo2", "name": "sitting", "value": ""})
    mixed = client.post(f"{at}/refresh", data={"sel": "demo2 demo4"}).text
    assert re.search(r'id="f-sitting"[^>]*placeholder="several"', mixed)
