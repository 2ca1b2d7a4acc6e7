"""What stands round the papers on a page: check rules, and a few lines that say what the page is."""

from __future__ import annotations

import numpy as np

from composer.sheets.letters import wrap
from composer.sheets.paper import Frame
from composer.sheets.strokes import Stroke, Thing, Words

CHECK_MM = 100.0
FACES = {
    "plain": "Plain, for hectograph paper: put it under this page, or run both through the copier; the page reads as "
             "the skin will.",
    "mirrored": "Mirrored, for a printer with stencil ink: it prints onto the transfer face, and pressing it on "
                "the skin turns it round.",
}
"""One sentence on which face needs which paper. Reasoned from how each transfers; common practice, no published
source, and pages on it disagree."""
CAUTION = ("Keep clear of moles and of broken or diseased skin. Lay it with the client standing at ease. Practice "
           "(EN 17169:2020) and the law where you work decide.")


def rule(x: float, y: float, length_mm: float, across: bool) -> list[Thing]:
    """A rule from (x, y) mm to the right or upwards: a tick every 5 mm, its length written at its end. Its
    length runs from middle to middle of the end ticks."""
    ticks = [(0.0, 0.0, length_mm, 0.0)]
    for i in range(0, int(length_mm) + 1, 5):
        ticks.append((i, 0.0, i, 3.2 if i % 50 == 0 else 2.0 if i % 10 == 0 else 1.2))
    lines = tuple(np.array([(x + a, y + b), (x + c, y + d)] if across else [(x - b, y + a), (x - d, y + c)])
                  for a, b, c, d in ticks)
    words = f"{length_mm:g} mm"
    label = (Words("note", words, x + length_mm + 2.0, y, 8.0) if across else
             Words("note", words, x + 0.8, y + length_mm + 2.0, 8.0, turn_deg=90.0))
    return [Stroke("note", lines, 0.2), label]


def footer(page: Frame, title: str, face: str, extra: str = "") -> list[Thing]:
    """The two check rules and what is written below them."""
    out = [*rule(page.left, 21.5, CHECK_MM, True), *rule(9.0, page.bottom, CHECK_MM, False)]
    room = page.width - page.left - page.right
    out.append(Words("note", title, page.left, 16.5, 9.0, "bold"))
    lines = [*wrap(FACES[face], "text", 7.5, room), *wrap(
        f"Print at 100 %; both rules must measure 100 mm. {extra} {CAUTION}".replace("  ", " "), "text", 7.0, room)]
    y = 13.0
    for line in lines[:4]:
        out.append(Words("note", line, page.left, y, 7.2, grey=0.25))
        y -= 3.0
    return out
