"""The four sides of a part in small, for the cover of the layout sheet."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from composer.plan.model import PARTS
from composer.sheets.letters import write
from composer.sheets.paper import POINT_MM
from composer.sheets.pdf_art import PENCIL, polyline, rings_path
from composer.sheets.pdf_path import fill_rings
from composer.sheets.sheet_art import INK, SheetArt
from composer.views.four import four
from composer.views.surface import Surface
from composer.views.turned import Turned
from composer.views.worn import EDGE_MM, Worn

LABEL_MM = 5.0
GAP_MM = 4.0
FINE_MM = 0.02
"""How far a drawn line may stray on paper."""


def has_views(art: SheetArt) -> bool:
    """Whether there is anything to look at from four sides."""
    return art.part in PARTS and bool(art.pieces)


def _worn(art: SheetArt, fine_mm: float) -> list[Worn]:
    """The sheet's art, already cut where something lies in front, back on the skin, less what strays by
    `fine_mm` or less."""
    def skin(rings: list[np.ndarray]) -> tuple[np.ndarray, ...]:
        if not rings:
            return ()
        cuts = [0, *np.cumsum([len(r) for r in rings]).tolist()]
        us = art.sheet.to_skin(np.concatenate(rings))
        out = [us[a:b] for a, b in pairwise(cuts)]
        half = len(out) // 2
        # on the sheet what lies over the seam stands at both edges, one whole turn apart: keep one
        if len(out) == 2 * half and half and abs(abs(out[half][0, 0] - out[0][0, 0]) - 1) < 1e-3:
            out = out[:half]
        return tuple(out)

    worn = []
    for on in (p.thinner(fine_mm, 0.5 * EDGE_MM) for p in art.pieces):
        if on.silhouette:
            outline = skin(on.silhouette)
            worn.append(Worn(on.piece, outline, outline, tuple((role, skin(r)) for role, r in on.layers)))
    return worn


def draw_four(canvas: Canvas, art: SheetArt, x: float, y: float, width: float, height: float, columns: int) -> float:
    """Draw the four sides in a box of the page (mm; x, y its lower left corner), `columns` side by
    side; returns the scale N of 1 : N."""
    surface = Surface(art.sheet.limb, art.part)
    bare = four(surface, ())
    rows = -(-len(bare) // columns)
    cell_w, cell_h = (width - GAP_MM * (columns - 1)) / columns, height / rows
    boxes = [np.array([v.outline.min(axis=0), v.outline.max(axis=0)]) for _, v in bare]
    wide, high = np.array([b[1] - b[0] for b in boxes]).max(axis=0)
    scale = float(max(wide / cell_w, high / (cell_h - LABEL_MM - 2)))
    views = four(surface, _worn(art, FINE_MM * scale))
    for i, ((name, view), box) in enumerate(zip(views, boxes, strict=True)):
        cx = x + (i % columns) * (cell_w + GAP_MM) + cell_w / 2
        base = y + (rows - 1 - i // columns) * cell_h + LABEL_MM + 1
        canvas.saveState()
        canvas.translate((cx - box[:, 0].mean() / scale) / POINT_MM, (base - box[0, 1] / scale) / POINT_MM)
        canvas.scale(1 / scale, 1 / scale)
        _draw(canvas, view, scale)
        canvas.restoreState()
        canvas.setFillGray(0.3)
        word = name if name in ("front", "back") else f"{name} side"
        write(canvas, cx, base - 4.2, word, size_pt=7.5, align="centre")
    return scale


def _draw(canvas: Canvas, view: Turned, scale: float) -> None:
    canvas.saveState()
    canvas.clipPath(rings_path(canvas, [view.outline]), stroke=0, fill=0)
    canvas.setLineWidth(0.12 * scale / POINT_MM)
    canvas.setStrokeGray(PENCIL + 0.2)
    for _, line in view.levels[1:-1]:
        polyline(canvas, line)
    for p in view.pieces:
        if not p.piece.is_filler:
            fill_rings(canvas, p.silhouette, 1.0, scale)
        for role, rings in p.layers:
            fill_rings(canvas, rings, INK[role], scale)
    canvas.restoreState()
    canvas.setLineWidth(0.25 * scale / POINT_MM)
    canvas.setStrokeGray(PENCIL)
    canvas.drawPath(rings_path(canvas, [view.outline]), stroke=1, fill=0)

