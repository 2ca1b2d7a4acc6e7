"""The exported SVG in an independent renderer (Chromium) against the same sheet as PDF (PDFium)."""

from __future__ import annotations

import io
from xml.etree import ElementTree

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from composer.demo import bare_demo
from composer.plan.steps import apply
from composer.sheets.paper import Frame
from composer.sheets.pdf_art import draw_whole, to_page
from composer.sheets.pdf_file import new_pdf
from composer.sheets.sheet_art import sheet_art
from composer.sheets.svg import MARGIN_MM, layout_svg

pytestmark = pytest.mark.browser
PX_MM = 96 / 25.4


@pytest.mark.parametrize("mirrored", [False, True])
def test_svg_and_pdf_show_the_same_ink_at_the_same_size(page, tmp_path, mirrored: bool) -> None:
    plan, gallery = bare_demo()
    plan = apply(plan, {"do": "remove", "ids": [p.id for p in plan.pieces[5:]]})
    svg = layout_svg(plan, "left_arm", gallery, mirrored)
    root = ElementTree.fromstring(svg)
    width, height = (float(root.get(k).removesuffix("mm")) for k in ("width", "height"))
    (tmp_path / "sheet.svg").write_bytes(svg)
    page.set_viewport_size({"width": int(np.ceil(width * PX_MM)), "height": int(np.ceil(height * PX_MM))})
    page.goto((tmp_path / "sheet.svg").as_uri())
    shown = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("L"))

    art = sheet_art(plan, "left_arm", gallery)
    matrix, size = to_page(art, mirrored, MARGIN_MM)
    canvas, pdf = new_pdf(Frame(*size), "one page")
    draw_whole(canvas, art, matrix)
    canvas.showPage()
    canvas.save()
    printed = np.squeeze(pypdfium2.PdfDocument(pdf.getvalue())[0].render(scale=96 / 72, grayscale=True).to_numpy())
    a, b = shown[: printed.shape[0], : printed.shape[1]] < 110, printed[: shown.shape[0], : shown.shape[1]] < 110
    h, w = min(a.shape[0], b.shape[0]), min(a.shape[1], b.shape[1])
    a, b = a[:h, :w], b[:h, :w]
    assert a.sum() > 20_000
    assert (a & b).sum() / (a | b).sum() > 0.85
    shift = np.array([np.mean(np.nonzero(m), axis=1) for m in (a, b)])
    assert np.abs(shift[0] - shift[1]).max() < 0.2 * PX_MM


def test_check_rule_of_the_svg_measures_100_mm(page, tmp_path) -> None:
    plan, gallery = bare_demo()
    (tmp_path / "sheet.svg").write_bytes(layout_svg(plan, "left_arm", gallery))
    page.goto((tmp_path / "sheet.svg").as_uri())
    size = page.evaluate("document.getElementById('check-rule-100-mm').getBoundingClientRect().width")
    assert size == pytest.approx(100 * PX_MM, abs=0.2 * PX_MM)
