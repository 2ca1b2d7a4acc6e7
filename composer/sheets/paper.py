"""Paper sizes in mm, portrait: ISO 216:2007 (A series), ANSI/ASME Y14.1 (A and B sheets), legal (8.5 x 14 in,
CSS Paged Media Level 3, 7.1)."""

from __future__ import annotations

from dataclasses import dataclass

PAPERS: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "Letter": (215.9, 279.4),
    "Legal": (215.9, 355.6),
    "Tabloid": (279.4, 431.8),
}
POINT_MM = 25.4 / 72
"""PDF user unit in mm (ISO 32000-1, 8.3.2.3)."""


@dataclass(frozen=True)
class Frame:
    """A printed page, mm, origin at its lower left corner: the window through which the sheet
    shows, with room left for the rules, the label and what a printer cannot reach."""

    width: float
    height: float
    left: float = 17.0
    right: float = 8.0
    top: float = 8.0
    bottom: float = 27.0

    @property
    def window(self) -> tuple[float, float]:
        """Width and height of the window."""
        return self.width - self.left - self.right, self.height - self.top - self.bottom


def both_ways(paper: str) -> tuple[Frame, Frame]:
    """The page upright and on its side. Raises ValueError naming the papers there are."""
    upright = frame(paper)
    return upright, Frame(upright.height, upright.width)


def frame(paper: str) -> Frame:
    """The page of that name. Raises ValueError naming the papers there are."""
    for name, (w, h) in PAPERS.items():
        if name.lower() == paper.lower():
            return Frame(w, h)
    raise ValueError(f"There is no paper called '{paper}' here; use {', '.join(PAPERS)}.")
