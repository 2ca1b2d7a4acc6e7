"""Chest, back and both shoulders in print: at 1:1, each part on its own sheet, the midline and levels drawn."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pikepdf
import pytest

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.plan.model import Plan
from composer.plan.steps import apply
from composer.plan.twins import surface_of
from composer.sheets.layout import layout_pdf
from composer.sheets.paper import frame
from composer.sheets.sheet_art import sheet_art
from composer.sheets.svg import MARGIN_MM, layout_svg
from composer.sheets.wide_art import parts_of, wide_art, wide_of

_T = np.linspace(0, 2 * np.pi, 90, endpoint=False)
RING = np.column_stack([22 * np.cos(_T), 30 * np.sin(_T)])
BUOY = Drawing((RING,), (Layer("line", (RING, RING * 0.9)),), (), {})
GALLERY = {BUOY.digest: BUOY}
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def plan() -> Plan:
    out = Plan("estuary", "Estuary")
    for part, m in (("left_arm", TYPICAL_MM), ("right_arm", TYPICAL_MM), ("chest", PANEL_TYPICAL_MM["chest"])):
        out = apply(out, {"do": "measure", "part": part, "measures": m})
    for n, (part, u, s) in enumerate((("chest", 0.09, 200.0), ("left_arm", 0.22, 400.0), ("left_arm", -0.02, 468.0))):
        out = apply(out, {"do": "place", "piece": {"id": f"b{n}", "part": part, "art": BUOY.digest, "title": f"B{n}",
                                                   "u": u, "s_mm": s}})
    for n in (0, 1):
        out = apply(out, {"do": "twin", "id": f"b{n}", "new_id": f"t{n}", **({"axis_u": 0.0} if n == 0 else {})})
    return out


def test_the_chest_prints_its_levels_midline_and_what_reaches_in(plan: Plan) -> None:
    art = sheet_art(plan, "chest", GALLERY)
    assert [name for name, *_ in art.levels] == ["armpits"] and art.axes[0][0] == "midline"
    assert np.allclose(art.axes[0][1][:, 0], 0) and {p.piece.id for p in art.pieces} == {"b0", "t0", "b2"}
    panel = surface_of(plan, "chest")
    assert art.border == pytest.approx(panel.to_mm(panel.outline))


def test_the_wide_sheet_has_every_piece_once_where_its_part_lies(plan: Plan) -> None:
    art, wide = wide_art(plan, "shoulders", GALLERY), wide_of(plan, "shoulders")
    assert parts_of("shoulders", plan) == ("chest", "left_arm", "right_arm")
    assert sorted(p.piece.id for p in art.pieces) == ["b0", "b1", "b2", "t0", "t1"]
    middles = {p.piece.id: np.concatenate(p.silhouette).mean(axis=0) for p in art.pieces}
    for one, two in (("b0", "t0"), ("b1", "t1")):   # both sides were taped alike
        assert middles[two] == pytest.approx(middles[one] * (-1, 1), abs=0.05)
    piece = plan.piece("b1")
    at = wide.part("left_arm").to_wide(np.array([[piece.u, piece.s_mm]]))[0]
    assert np.hypot(*(middles["b1"] - at)) < 2.0
    box = np.ptp(np.concatenate(next(p for p in art.pieces if p.piece.id == "b0").silhouette), axis=0)
    assert box == pytest.approx((44, 60), rel=0.06)   # true size, but for what the panel's sheet is off by


def test_the_svg_is_at_one_to_one_with_the_midline_upright(plan: Plan) -> None:
    root = ElementTree.fromstring(layout_svg(plan, "shoulders", GALLERY))
    border = wide_of(plan, "shoulders").border
    width = float(root.get("width").removesuffix("mm"))
    assert width == pytest.approx(np.ptp(border[:, 0]) + 2 * MARGIN_MM, abs=0.01)
    assert root.get("viewBox").split()[2] == f"{width:.2f}"
    (line,) = [p for p in root.iter(f"{SVG}path") if p.get("id") == "line-midline"]
    xy = np.array(re.findall(r"-?[\d.]+", line.get("d")), float).reshape(-1, 2)
    assert np.ptp(xy[:, 0]) < 1e-6 and np.ptp(xy[:, 1]) > 200
    assert xy[0, 0] == pytest.approx(MARGIN_MM - border[:, 0].min(), abs=0.01)
    mirrored = ElementTree.fromstring(layout_svg(plan, "shoulders", GALLERY, mirrored=True))
    assert mirrored.get("width") == root.get("width")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_pdf_has_the_pages_that_the_sheet_needs(plan: Plan, paper: str) -> None:
    import io

    data = layout_pdf(plan, GALLERY, ["shoulders"], paper)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        w, h = frame(paper).window
        border = wide_of(plan, "shoulders").border
        least = np.ptp(border[:, 0]) * np.ptp(border[:, 1]) / (w * h)
        assert 0.45 * least < len(pdf.pages) - 2 < 2.2 * least + 2
        assert str(pdf.Root.ViewerPreferences.PrintScaling) == "/None"


def test_a_wide_sheet_without_its_chest_is_refused_in_words(plan: Plan) -> None:
    with pytest.raises(ValueError, match="tape it, then both shoulders"):
        layout_svg(plan, "shoulders_back", GALLERY)
