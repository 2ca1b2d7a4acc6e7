"""A printer's own error, measured once on a page with two long rules, and taken back in later prints."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from composer.plan.titles import printable
from composer.sheets.furniture import rule
from composer.sheets.page_pdf import pages_pdf
from composer.sheets.paper import Frame, frame
from composer.sheets.strokes import Block, Page, Stroke, Thing, Words

APART_MM, END_MM = 10.0, 6.0
"""The rule along the page begins so far above the one across it; how long the ticks at their ends are."""
MOST = 0.03
"""A printer that is further off is not off: it fits the page to its margins."""


@dataclass(frozen=True)
class Correction:
    """What lengths are multiplied by on this printer: `across` the page and `along` it (1: nothing)."""

    printer: str = ""
    across: float = 1.0
    along: float = 1.0

    @property
    def words(self) -> str:
        """What stands on a corrected page."""
        if not self.printer:
            return ""
        return (f"Corrected for {self.printer}: {100 * (self.across - 1):+.2f}% across, "
                f"{100 * (self.along - 1):+.2f}% along.")

    def matrix(self, page: Frame) -> np.ndarray:
        """The affine map 2x3 that stretches a page about its middle; a page on its side changes places."""
        kx, ky = (self.across, self.along) if page.height >= page.width else (self.along, self.across)
        return np.array([[kx, 0.0, page.width * (1 - kx) / 2], [0.0, ky, page.height * (1 - ky) / 2]])


def lengths(paper: str) -> tuple[float, float]:
    """The two rules of the calibration page, mm: as long as fits, in whole centimetres."""
    page = frame(paper)
    return 10.0 * math.floor((page.width - 30) / 10), 10.0 * math.floor((page.height - 46) / 10)


def corrected(printer: str, paper: str, across_mm: float, along_mm: float) -> Correction:
    """The correction from what a ruler says of the calibration page's two rules.

    Raises ValueError with a sentence when the printer has no name, or a length can't be right.
    """
    name = printable(printer)[:40]
    if not name:
        raise ValueError("Give the printer a name, so that its correction can be found again.")
    factors = []
    for what, wanted, found in zip(("across", "along"), lengths(paper), (across_mm, along_mm), strict=True):
        if not math.isfinite(found) or found <= 0:
            raise ValueError(f"The length {what} the page is missing; measure the rule from end to end, in mm.")
        if abs(found / wanted - 1) > MOST:
            raise ValueError(f"The rule {what} the page is {wanted:g} mm and was measured as {found:g} mm, off by "
                             f"{100 * abs(found / wanted - 1):.0f}%. A printer that far off fits the page to its "
                             "margins: print at 100 %, actual size, then measure again.")
        factors.append(wanted / found)
    return Correction(name, factors[0], factors[1])


def calibration_page(paper: str) -> Page:
    """The page with its two rules, plain, never corrected. Raises ValueError for an unknown paper."""
    page = frame(paper)
    across, along = lengths(paper)
    x, y = (page.width - across) / 2, (page.height - along) / 2 - APART_MM / 2
    up = y + APART_MM
    things: list[Thing] = [rule(x, y, across, True)[0], rule(x + 14, up, along, False)[0], Stroke("note", (
        *(np.array([(at, y), (at, y + END_MM)]) for at in (x, x + across)),
        *(np.array([(x + 14, at), (x + 14 - END_MM, at)]) for at in (up, up + along))), 0.2)]
    top = page.height - 30
    lines = [("head", 15.0, "Calibration page"), ("text", 10.0, "Print this page at 100 %, actual size, once for every "
             "printer and paper feed."), ("text", 10.0, "Measure both rules between their long end ticks with a "
             "steel rule, to a quarter of a mm."), ("text", 10.0, "Type both lengths on the Stencils page beside the "
             "printer's name.")]
    for face, size, words in lines:
        things.append(Words("note", words, x + 30, top, size, face))
        top -= 9 if face == "head" else 5.4
    things += [Words("note", f"Across: should be {across:g} mm", x + 30, y + END_MM, 11.0, "bold"),
               Words("note", f"Along: should be {along:g} mm", x + 30, up + along / 2, 11.0, "bold")]
    return Page(page.width, page.height, (Block(tuple(things)),))


def calibration_pdf(paper: str = "A4") -> bytes:
    """The calibration page as PDF."""
    return pages_pdf([calibration_page(paper)], "Calibration page")
