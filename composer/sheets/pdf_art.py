"""A sheet's vectors on a PDF canvas, at any scale, plain or mirrored."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from composer.sheets.paper import POINT_MM
from composer.sheets.pdf_path import fill_text
from composer.sheets.sheet_art import INK, SheetArt
from composer.sheets.unrolled import OnSheet, thinned

PENCIL = 0.55
SIMPLIFY_MM = 0.015
"""How far a printed edge may stray from the drawn one, mm at 1:1."""


def rings_path(canvas: Canvas, rings: list[np.ndarray], tolerance_mm: float = SIMPLIFY_MM):
    """A reportlab path of closed rings given in mm, to clip by or to stroke (`fill_rings` fills)."""
    path = canvas.beginPath()
    code = path._code
    for ring in thinned(rings, tolerance_mm):
        pts = (ring / POINT_MM).ravel().tolist()
        code.append("{:.2f} {:.2f} m".format(*pts[:2]))
        code.append(("{:.2f} {:.2f} l " * (len(ring) - 1)).format(*pts[2:]) + "h")
    return path


def piece_text(piece: OnSheet, scale: float = 1.0) -> list[str]:
    """What draws a piece on a PDF canvas, in a frame that shows the sheet at 1 : `scale`."""
    piece = piece.thinner(SIMPLIFY_MM * scale)
    paper = [] if piece.piece.recipe is not None else [fill_text(piece.silhouette, 1.0, scale)]
    return [text for text in (*paper, *(fill_text(rings, INK[role], scale) for role, rings in piece.layers)) if text]


def draw_art(canvas: Canvas, art: SheetArt, scale: float = 1.0,
             ready: Mapping[str, Sequence[str]] | None = None) -> None:
    """Draw the part without names in the canvas's present frame (points; origin at the sheet's own origin), which
    shows it at 1 : `scale`. `ready`: `piece_text` of pieces at that scale, by their ids, where it is there already."""
    canvas.saveState()
    canvas.clipPath(rings_path(canvas, [art.border]), stroke=0, fill=0)
    canvas.setLineWidth(0.2 / POINT_MM)
    canvas.setStrokeGray(PENCIL + 0.2)
    canvas.setDash([2.4 / POINT_MM, 1.6 / POINT_MM])
    for line in [lv[2] for lv in art.levels] + [a[1] for a in art.axes]:
        polyline(canvas, line)
    canvas.setDash([])
    for piece in art.pieces:
        canvas._code.extend((ready or {}).get(piece.piece.id) or piece_text(piece, scale))
    canvas.setStrokeGray(PENCIL)
    canvas.setLineWidth(0.35 * min(scale, 3.0) / POINT_MM)
    for line in art.shade_ticks:
        polyline(canvas, line)
    canvas.setDash([3.0 * scale / POINT_MM, 2.0 * scale / POINT_MM])
    for line in art.shade:
        polyline(canvas, line)
    canvas.setStrokeGray(0.33)
    canvas.setLineWidth(0.45 * min(scale, 3.0) / POINT_MM)
    canvas.setDash([v * scale / POINT_MM for v in (7.0, 2.0, 1.5, 2.0)])
    for line in art.sleeve:
        polyline(canvas, line)
    canvas.setDash([])
    canvas.restoreState()
    canvas.setLineWidth(0.3 / POINT_MM)
    canvas.setStrokeGray(PENCIL)
    canvas.drawPath(rings_path(canvas, [art.border]), stroke=1, fill=0)


def polyline(canvas: Canvas, line: np.ndarray) -> None:
    """An open line (n, 2), mm, stroked as the canvas is set."""
    path = canvas.beginPath()
    pts = (line / POINT_MM).tolist()
    path.moveTo(*pts[0])
    for p in pts[1:]:
        path.lineTo(*p)
    canvas.drawPath(path, stroke=1, fill=0)


def to_page(art: SheetArt, mirrored: bool, margin_mm: float = 20.0) -> tuple[np.ndarray, tuple[float, float]]:
    """The affine map 2x3 from sheet mm to the mm of one large page that holds the sheet at 1:1, and that
    page's size in mm."""
    x0, y0, x1, y1 = art.bounds
    across = [-1.0, 0.0, x1 + margin_mm] if mirrored else [1.0, 0.0, margin_mm - x0]
    return (np.array([across, [0.0, 1.0, margin_mm - y0]]),
            (x1 - x0 + 2 * margin_mm, y1 - y0 + 2 * margin_mm))


def draw_whole(canvas: Canvas, art: SheetArt, matrix: np.ndarray,
               ready: Mapping[str, Sequence[str]] | None = None) -> None:
    """Draw the sheet at 1:1 under an affine map 2x3 of mm (see `to_page`, and `draw_art` for `ready`)."""
    (a, b, e), (c, d, f) = matrix
    canvas.transform(a, c, b, d, e / POINT_MM, f / POINT_MM)
    draw_art(canvas, art, ready=ready)
