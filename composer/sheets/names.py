"""Names of levels and landmark lines on the pages of a sheet: each whole on a page, never cut at its edge."""

from __future__ import annotations

from dataclasses import dataclass

from composer.sheets.letters import width_mm
from composer.sheets.sheet_art import SheetArt
from composer.sheets.tiles import Tile, Tiling

NAME_PT = 7.5
_UP_MM, _DOWN_MM = 2.6, 0.8
"""How far letters reach above and below their baseline."""
_CLEAR_MM = 1.0


@dataclass(frozen=True)
class Name:
    """A name on a page: lower left end of its baseline (x, y) and its width, mm of the page. `moved`: it had to give
    way to the page's edge and may lie over art, so it needs white behind it."""

    text: str
    x: float
    y: float
    width: float
    moved: bool


def names_on(art: SheetArt, tiling: Tiling, page: Tile, mirrored: bool) -> list[Name]:
    """The names that this page shows. A name stands on every page that holds all of it; one that no page holds
    stands, moved inwards, where its line ends."""
    out = []
    for text, at, box in _boxes(art, mirrored):
        if _holds(tiling, page, box):
            out.append(_placed(text, tiling, page, box, False))
        elif not any(_holds(tiling, t, box) for t in tiling.tiles):
            home = next((t for t in tiling.tiles if _inside(tiling, t, at)), None)
            if home == page:
                out.append(_placed(text, tiling, page, box, True))
    return out


Box = tuple[float, float, float]
"""Lower left end of a baseline and the width of the name, mm of the (mirrored) sheet."""


def _boxes(art: SheetArt, mirrored: bool) -> list[tuple[str, tuple[float, float], Box]]:
    """Every name, where its line ends, and where it would stand."""
    out = []
    for text, x, y, share in (
            *((name, float(line[-1, 0]) + 1.5, float(line[-1, 1]) - 1.0, 0.0) for name, _, line in art.levels),
            *((name, float(line[1, 0]), float(line[1, 1]) + 1.5, 0.5) for name, line in art.axes)):
        if text:
            wide = width_mm(text, "text", NAME_PT)
            left = x - share * wide
            out.append((text, (-x if mirrored else x, y), (-left - wide if mirrored else left, y, wide)))
    return out


def _window(tiling: Tiling, page: Tile) -> tuple[float, float, float, float]:
    w, h = tiling.frame.window
    return page.x, page.y, page.x + w, page.y + h


def _holds(tiling: Tiling, page: Tile, box: Box) -> bool:
    x0, y0, x1, y1 = _window(tiling, page)
    x, y, wide = box
    return x0 + _CLEAR_MM <= x and x + wide <= x1 - _CLEAR_MM and y0 + _DOWN_MM <= y and y + _UP_MM <= y1


def _inside(tiling: Tiling, page: Tile, at: tuple[float, float]) -> bool:
    x0, y0, x1, y1 = _window(tiling, page)
    return x0 - 2.0 <= at[0] <= x1 + 2.0 and y0 - 2.0 <= at[1] <= y1 + 2.0


def _placed(text: str, tiling: Tiling, page: Tile, box: Box, moved: bool) -> Name:
    x0, y0, x1, y1 = _window(tiling, page)
    x = max(x0 + _CLEAR_MM, min(box[0], x1 - _CLEAR_MM - box[2]))
    y = max(y0 + _DOWN_MM, min(box[1], y1 - _UP_MM))
    return Name(text, x - page.x + tiling.frame.left, y - page.y + tiling.frame.bottom, box[2], moved)
