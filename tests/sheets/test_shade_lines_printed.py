"""Shade lines on the layout sheet: dashed, with ticks on the shaded side, named on the cover."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest

from composer.demo import bare_demo
from composer.plan.model import Plan
from composer.plan.steps import apply
from composer.sheets.layout import layout_pdf
from composer.sheets.sheet_art import sheet_art
from composer.sheets.svg import layout_svg

STEP = {"do": "shade", "part": "left_arm", "add": {"id": "a", "points": [[-0.5, 150.0], [0.0, 150.0], [0.45, 150.0]]}}


@pytest.fixture(scope="module")
def lined() -> tuple[Plan, dict]:
    plan, gallery = bare_demo()
    return apply(plan, STEP), gallery


def test_the_line_lies_where_it_was_drawn_and_its_ticks_on_the_shaded_side(lined: tuple[Plan, dict]) -> None:
    art = sheet_art(*lined[:1], "left_arm", lined[1])
    skin = art.sheet.to_skin(np.concatenate(art.shade))
    assert np.abs(skin[:, 1] - 150).max() < 0.1
    foot, tip = (art.sheet.to_skin(np.array([t[k] for t in art.shade_ticks]))[:, 1] for k in (0, 1))
    assert len(foot) > 15 and (tip - foot > 2).all(), "shaded above"


def test_it_is_printed_and_named_only_where_there_is_one(lined: tuple[Plan, dict]) -> None:
    plan, gallery = lined
    text = pypdfium2.PdfDocument(layout_pdf(plan, gallery, ["left_arm"]))[0].get_textpage().get_text_range()
    assert "background is shaded up to here" in " ".join(text.split())
    assert b"shade-lines" in layout_svg(plan, "left_arm", gallery)
    assert b"shade-lines" not in layout_svg(bare_demo()[0], "left_arm", gallery)
