"""The four sides on paper, measured on the raster of the PDF."""

from __future__ import annotations

import io

import numpy as np
import pypdfium2
import pytest
from reportlab.pdfgen.canvas import Canvas

from composer.art.drawing import Drawing, Layer
from composer.body.fields import TYPICAL_MM
from composer.plan.model import Plan
from composer.plan.steps import apply
from composer.sheets.four_views import draw_four, has_views
from composer.sheets.paper import POINT_MM
from composer.sheets.sheet_art import sheet_art
from composer.views.camera import NAMES

SQUARE = np.array([(-15.0, -15.0), (15.0, -15.0), (15.0, 15.0), (-15.0, 15.0)])
ART = Drawing((SQUARE,), (Layer("black", (SQUARE,)),))
PX_MM = 32.0


def cells(part: str, u: float) -> tuple[float, dict[str, np.ndarray]]:
    """Scale, and the ink of each view (bool pictures)."""
    plan = apply(Plan("p", "Estuary"), {"do": "measure", "part": part, "measures": TYPICAL_MM})
    plan = apply(plan, {"do": "place", "piece": {
        "id": "p0", "part": part, "art": ART.digest, "title": "Square", "u": u, "s_mm": 300.0}})
    art = sheet_art(plan, part, {ART.digest: ART})
    assert has_views(art)
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(132 / POINT_MM, 60 / POINT_MM))
    scale = draw_four(canvas, art, 0.0, 0.0, 132.0, 60.0, 4)
    canvas.save()
    grey = np.squeeze(pypdfium2.PdfDocument(out.getvalue())[0].render(
        scale=PX_MM * POINT_MM, grayscale=True).to_numpy())
    wide = round(34 * PX_MM)
    high, cell = round(53 * PX_MM), round(30 * PX_MM)
    return scale, {n: grey[:high, i * wide: i * wide + cell] < 70 for i, n in enumerate(NAMES)}


@pytest.mark.parametrize(("part", "u", "side"), [
    ("left_arm", 0.0, "front"), ("left_arm", 0.25, "outer"), ("right_arm", 0.25, "inner"), ("right_arm", 0.5, "back")])
def test_a_square_stands_on_its_side_at_the_stated_scale(part: str, u: float, side: str) -> None:
    scale, ink = cells(part, u)
    i = NAMES.index(side)
    assert ink[NAMES[(i + 2) % 4]].sum() == 0
    rows, columns = np.nonzero(ink[side])
    assert (np.ptp(rows) + 1) / PX_MM * scale == pytest.approx(30.0, abs=0.7)
    # a chord is a little shorter than its arc; a pixel is 0.3 mm of skin
    assert 28.5 < (np.ptp(columns) + 1) / PX_MM * scale < 30.8
    for other in (NAMES[(i + 1) % 4], NAMES[(i + 3) % 4]):
        assert 0.01 < ink[other].sum() / ink[side].sum() < 0.1   # half of it, all but edge on
