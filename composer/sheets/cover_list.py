"""What follows the cover: every piece and filler by part, with size, state and place, then the cautions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from composer.art.drawing import Drawing
from composer.body.kinds import LIMB_PARTS, kind_of
from composer.body.units import format_length
from composer.plan.model import Piece, Plan
from composer.sheets.cautions import CAUTIONS
from composer.sheets.cover import EDGE, numbered, part_name
from composer.sheets.letters import wrap, write
from composer.sheets.paper import POINT_MM, Frame
from composer.sheets.sheet_art import SheetArt

ROW_MM = 5.8
FOOT_MM = 24.0


def draw_list(canvas: Canvas, page: Frame, plan: Plan, arts: Sequence[SheetArt],
              gallery: Mapping[str, Drawing]) -> None:
    """The list on as many pages as it needs, part by part, main pieces before fillers; then the cautions."""
    rows = numbered(plan, arts)
    parts = list(dict.fromkeys(piece.part for _, piece in rows))
    stops = _stops(page, any(piece.sitting for _, piece in rows))
    y = _head(canvas, page, "Pieces and background")
    for part in parts:
        if y < FOOT_MM + 3 * ROW_MM:
            y = _next(canvas, page)
        y = _columns(canvas, page, stops, part, y)
        for n, piece in (row for row in rows if row[1].part == part):
            if y < FOOT_MM:
                y = _columns(canvas, page, stops, part, _next(canvas, page))
            _row(canvas, page, stops, n, piece, _size(piece, gallery, plan.settings.unit), plan.settings.unit, y)
            y -= ROW_MM
        y -= 5.0
    if not rows:
        canvas.setFillGray(0.3)
        write(canvas, EDGE, y, "Nothing is placed yet.", size_pt=10)
        y -= 8
    _cautions(canvas, page, y - 4)


def _stops(page: Frame, sittings: bool) -> tuple[float, ...]:
    """Where number, title, state, sitting, size and place stand; the place ends there. Without `sittings` there is no
    column for them, and the title has its room."""
    state, sitting = (0.43, 0.60) if sittings else (0.50, 0.67)
    return EDGE, EDGE + 9, page.width * state, page.width * sitting, page.width * 0.67, page.width - EDGE


def _columns(canvas: Canvas, page: Frame, stops: tuple[float, ...], part: str, y: float) -> float:
    """The part's name and what its columns hold; returns where its first row stands."""
    _, _, state, sitting, size, up = stops
    far = kind_of(part).far if part in LIMB_PARTS else "lower edge"
    canvas.setFillGray(0.05)
    write(canvas, EDGE, y, part_name(part), "head", 11)
    canvas.setFillGray(0.4)
    write(canvas, state, y, "State", size_pt=8)
    if sitting < size:
        write(canvas, sitting, y, "Sitting", size_pt=8)
    write(canvas, size, y, "Width × height", size_pt=8)
    write(canvas, up, y, f"Up from the {far}", size_pt=8, align="right")
    _rule(canvas, page, y - 2.0, 0.5)
    return y - 2.0 - ROW_MM * 0.8


def _row(canvas: Canvas, page: Frame, stops: tuple[float, ...], number: int, piece: Piece, size: str, unit: str,
         y: float) -> None:
    """One line: main pieces dark with their number on the cover, background lighter."""
    at, title_at, state_at, sitting_at, size_at, up_at = stops
    canvas.setFillGray(0.35 if piece.is_filler else 0.1)
    if number:
        write(canvas, at, y, str(number), "bold", 9)
    title = wrap(piece.title, "text", 9.5, state_at - title_at - 3)
    write(canvas, title_at, y, title[0] if len(title) == 1 else title[0] + " …", size_pt=9.5)
    state = "background" if piece.is_filler else piece.state
    write(canvas, state_at, y, state + (", locked" if piece.locked else ""), size_pt=9.5)
    if piece.sitting:
        write(canvas, sitting_at, y, str(piece.sitting), size_pt=9.5)
    write(canvas, size_at, y, size, size_pt=9.5)
    write(canvas, up_at, y, format_length(piece.s_mm, unit), size_pt=9.5, align="right")
    _rule(canvas, page, y - 1.7, 0.87)


def _rule(canvas: Canvas, page: Frame, y: float, grey: float) -> None:
    canvas.setStrokeGray(grey)
    canvas.setLineWidth(0.15 / POINT_MM)
    canvas.line(EDGE / POINT_MM, y / POINT_MM, (page.width - EDGE) / POINT_MM, y / POINT_MM)


def _next(canvas: Canvas, page: Frame) -> float:
    canvas.showPage()
    return _head(canvas, page, "Pieces and background, continued")


def _head(canvas: Canvas, page: Frame, title: str) -> float:
    canvas.setFillGray(0.05)
    write(canvas, EDGE, page.height - 24, title, "head", 14)
    return page.height - 36


def _cautions(canvas: Canvas, page: Frame, y: float) -> None:
    lines = [wrap(c, "text", 9, page.width - 2 * EDGE - 5) for c in CAUTIONS]
    if y - sum(map(len, lines)) * 4.2 - 20 < EDGE:
        canvas.showPage()
        y = page.height - 26
    canvas.setFillGray(0.05)
    write(canvas, EDGE, y, "Before it goes on skin", "head", 12)
    y -= 7
    for block in lines:
        canvas.setFillGray(0.15)
        write(canvas, EDGE, y, "–", size_pt=9)
        for line in block:
            write(canvas, EDGE + 4, y, line, size_pt=9)
            y -= 4.2
        y -= 1.4


def _size(piece: Piece, gallery: Mapping[str, Drawing], unit: str) -> str:
    wide, high = np.ptp(np.concatenate(gallery[piece.art].silhouette), axis=0) * piece.scale
    a, b = format_length(float(wide), unit), format_length(float(high), unit)
    return f"{a.split()[0]} × {b}"
