"""Paper against its standards."""

from __future__ import annotations

import pytest
from reportlab.lib import pagesizes

from composer.sheets.paper import PAPERS, POINT_MM


@pytest.mark.parametrize(("name", "n"), [("A3", 3), ("A4", 4)])
def test_a_series_by_the_rule_of_iso_216(name: str, n: int) -> None:
    """ISO 216:2007, clause 4: A0 has 1 m2 at 1 : sqrt 2; each next size halves the long side, and
    sizes are rounded down to whole mm."""
    short, long = 841, 1189
    for _ in range(n):
        short, long = long // 2, short
    assert PAPERS[name] == (short, long)


@pytest.mark.parametrize(("name", "inches"), [("Letter", (8.5, 11)), ("Tabloid", (11, 17))])
def test_american_sizes(name: str, inches: tuple[float, float]) -> None:
    """ANSI/ASME Y14.1: sheet A is 8.5 x 11 in, sheet B 11 x 17 in."""
    assert PAPERS[name] == pytest.approx([v * 25.4 for v in inches])


def test_legal() -> None:
    """CSS Paged Media Module Level 3, 7.1: legal is 8.5 x 14 in."""
    assert PAPERS["Legal"] == pytest.approx((8.5 * 25.4, 14 * 25.4))


@pytest.mark.parametrize("name", PAPERS)
def test_against_an_independent_library(name: str) -> None:
    theirs = {"A4": pagesizes.A4, "A3": pagesizes.A3, "Letter": pagesizes.LETTER, "Legal": pagesizes.LEGAL,
              "Tabloid": pagesizes.TABLOID}[name]
    assert [v * POINT_MM for v in theirs] == pytest.approx(PAPERS[name], abs=0.01)
