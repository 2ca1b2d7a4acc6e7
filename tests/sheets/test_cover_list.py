"""The list after the cover: numbers for what has one on the cover, sizes and places as laid."""

from __future__ import annotations

import numpy as np
import pypdfium2

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM
from composer.plan.model import Plan
from composer.plan.steps import apply
from composer.sheets.cover import numbered
from composer.sheets.layout import layout_pdf
from composer.sheets.sheet_art import sheet_art

BAR = Drawing((np.array([(-60.0, -4.0), (60.0, -4.0), (60.0, 4.0), (-60.0, 4.0)]),),
              (Layer("black", (np.array([(-60.0, -4.0), (60.0, -4.0), (60.0, 4.0), (-60.0, 4.0)]),)),))
GALLERY = {BAR.digest: BAR}


def laid(*places: tuple[str, float, bool]) -> Plan:
    """Bars on the left arm: title, mm up from the wrist, whether it is background."""
    plan = apply(Plan("p", "Ebb"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    for n, (title, s, filler) in enumerate(places):
        piece = {"id": f"p{n}", "part": "left_arm", "art": BAR.digest, "title": title, "u": 0.0, "s_mm": s}
        if filler:
            piece["recipe"] = {"kind": "wind", "seed": 1, "goal": {}, "params": {}}
        plan = apply(plan, {"do": "place", "piece": piece})
    return plan


def test_main_pieces_are_numbered_from_the_wrist_up_and_background_has_no_number() -> None:
    plan = laid(("Upper", 300.0, False), ("Gust", 100.0, True), ("Lower", 200.0, False))
    rows = [(n, p.title) for n, p in numbered(plan, [sheet_art(plan, "left_arm", GALLERY)])]
    assert rows == [(1, "Lower"), (2, "Upper"), (0, "Gust")]


def test_each_part_has_its_rows_and_what_is_more_than_a_page_goes_on_under_the_same_heading() -> None:
    plan = laid(*((f"Bar {n}", 20.0 + 8.0 * n, False) for n in range(50)))
    pages = pypdfium2.PdfDocument(layout_pdf(plan, GALLERY))
    texts = [pages[i].get_textpage().get_text_range() for i in (1, 2)]
    for text in texts:
        assert "Left arm" in text and "Up from the wrist" in text and "Width × height" in text
    assert "continued" not in texts[0] and "continued" in texts[1]
    listed = [n for n in range(50) if any(f"Bar {n}\r\n" in t or f"Bar {n} " in t for t in texts)]
    assert listed == list(range(50))
    assert "12.0 × 0.8 cm" in texts[0] and "2.0 cm" in texts[0]


def test_sittings_have_a_column_where_there_are_any() -> None:
    plan = laid(("Ebb tide with a name so long that it is cut short", 300.0, False), ("Gust", 100.0, True))
    bare = pypdfium2.PdfDocument(layout_pdf(plan, GALLERY))[1].get_textpage().get_text_range()
    plan = apply(plan, {"do": "change", "pieces": [{"id": "p0", "sitting": 12, "locked": True}]})
    text = pypdfium2.PdfDocument(layout_pdf(plan, GALLERY))[1].get_textpage().get_text_range()
    assert "Sitting" not in bare and "Sitting" in text
    row = next(line for line in text.splitlines() if "Ebb" in line)
    assert row.index("planned, locked") < row.index("12 ") < row.index("30.0 cm")
