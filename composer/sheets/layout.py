"""The layout sheet: cover, list, then each part at exactly 1:1 over pages that fit together."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from composer.art.drawing import Drawing
from composer.body.joins_wide import WIDE
from composer.plan.model import Plan
from composer.sheets.cover import draw_cover, part_name
from composer.sheets.cover_list import draw_list
from composer.sheets.letters import write
from composer.sheets.names import NAME_PT, Name, names_on
from composer.sheets.paper import POINT_MM, Frame, both_ways, frame
from composer.sheets.pdf_art import draw_whole, piece_text, to_page
from composer.sheets.pdf_file import end_form, new_pdf
from composer.sheets.sheet_art import SheetArt, sheet_art
from composer.sheets.tiles import Tile, Tiling, tile
from composer.sheets.unrolled import OnSheet
from composer.sheets.wide_art import wide_art

CHECK_MM = 100.0
Progress = Callable[[int, int, str], None]


def layout_pdf(plan: Plan, gallery: Mapping[str, Drawing], parts: Sequence[str] | None = None, paper: str = "A4",
               mirrored: bool = False, progress: Progress | None = None) -> bytes:
    """The layout sheet as PDF bytes (vector, fonts embedded, print scaling off).

    `parts` defaults to those on which something lies, or to all where nothing does. Raises
    ValueError or KeyError with a sentence for an unknown paper or part, or a plan with no part.
    """
    used = [p.name for p in plan.parts if plan.on(p.name)] or [p.name for p in plan.parts]
    names = used if parts is None else list(parts)
    if not names:
        raise ValueError("The plan has no part yet; measure an arm first, then print.")
    page = frame(paper)
    say = progress or (lambda done, total, what: None)
    arts: list[SheetArt] = []
    ready: dict[str, dict[str, list[str]]] = {}
    for i, name in enumerate(names):
        say(i, len(names) + 1, f"drawing the {name.replace('_', ' ')}")
        ready[name] = {}
        arts.append(wide_art(plan, name, gallery) if name in WIDE else
                    sheet_art(plan, name, gallery, _into(ready[name])))
    pages = _pages(arts, paper, mirrored)
    canvas, out = new_pdf(page, f"{plan.title}: layout sheet")
    maps = {art.part: _form(canvas, art, mirrored, ready[art.part]) for art in arts}
    how = ("mirrored, for ink printed straight onto the transfer face" if mirrored else
           "plain, to lie over hectograph paper")
    draw_cover(canvas, page, plan, arts, f"Layout sheet on {paper}: {', '.join(map(part_name, names)).lower()}; "
               f"1:1 pages {how}.")
    canvas.showPage()
    draw_list(canvas, page, plan, arts, gallery)
    canvas.showPage()
    say(len(names), len(names) + 1, "cutting into pages")
    for art, tiling, t in pages:
        canvas.setPageSize((tiling.frame.width / POINT_MM, tiling.frame.height / POINT_MM))
        _window(canvas, art.part, maps[art.part], tiling.frame, t)
        _names(canvas, names_on(art, tiling, t, mirrored), mirrored)
        _furniture(canvas, plan, art, tiling, t, mirrored)
        canvas.showPage()
    canvas.save()
    say(len(names) + 1, len(names) + 1, "done")
    return out.getvalue()


def _pages(arts: Sequence[SheetArt], paper: str, mirrored: bool) -> list[tuple[SheetArt, Tiling, Tile]]:
    out = []
    for art in arts:
        outline = art.border * (-1, 1) if mirrored else art.border
        tiling = min((tile(outline, way) for way in both_ways(paper)), key=lambda t: len(t.tiles))
        out += [(art, tiling, t) for t in tiling.tiles]
    return out


def _into(ready: dict[str, list[str]]) -> Callable[[OnSheet], None]:
    """Keeps how a piece is drawn, so that this is worked out beside the cut of others."""
    def keep(on: OnSheet) -> None:
        ready[on.piece.id] = piece_text(on)
    return keep


def _form(canvas: Canvas, art: SheetArt, mirrored: bool, ready: Mapping[str, Sequence[str]]) -> np.ndarray:
    """Put the part's sheet at 1:1 into the file once, as a form that all its tiles show; returns the map
    2x3 from sheet mm to the form's mm."""
    matrix, (width, height) = to_page(art, mirrored)
    canvas.beginForm(art.part, 0, 0, width / POINT_MM, height / POINT_MM)
    draw_whole(canvas, art, matrix, ready)
    end_form(canvas, art.part)
    return matrix


def _window(canvas: Canvas, form: str, matrix: np.ndarray, page: Frame, t: Tile) -> None:
    """The bit of the form that this tile shows."""
    # form mm = sheet mm * (+-1, 1) + shift; a tile's corner is given in the (mirrored) sheet's mm
    x, y = page.left - t.x - matrix[0, 2], page.bottom - t.y - matrix[1, 2]
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(*(v / POINT_MM for v in (page.left, page.bottom, *page.window)))
    canvas.clipPath(window, stroke=0, fill=0)
    canvas.translate(x / POINT_MM, y / POINT_MM)
    canvas.doForm(form)
    canvas.restoreState()


def _names(canvas: Canvas, names: Sequence[Name], mirrored: bool) -> None:
    """Names of levels and landmark lines on a page; mirrored with the art."""
    for n in names:
        canvas.saveState()
        canvas.translate((n.x + (n.width if mirrored else 0.0)) / POINT_MM, n.y / POINT_MM)
        canvas.scale(-1 if mirrored else 1, 1)
        if n.moved:
            canvas.setFillGray(1.0)
            canvas.rect(-0.6 / POINT_MM, -0.9 / POINT_MM, (n.width + 1.2) / POINT_MM, 3.4 / POINT_MM, stroke=0, fill=1)
        canvas.setFillGray(0.35)
        write(canvas, 0.0, 0.0, n.text, size_pt=NAME_PT)
        canvas.restoreState()


def _furniture(canvas: Canvas, plan: Plan, art: SheetArt, tiling: Tiling, t: Tile, mirrored: bool) -> None:
    """What stands round the window: cut edge, crosses, two check rules, label, page map."""
    mm = 1 / POINT_MM
    page = tiling.frame
    w, h = page.window
    canvas.setStrokeGray(0.75)
    canvas.setLineWidth(0.15 * mm)
    canvas.setDash([1.2 * mm, 1.2 * mm])
    canvas.rect(page.left * mm, page.bottom * mm, w * mm, h * mm)
    canvas.setDash([])
    canvas.setStrokeGray(0.0)
    canvas.setLineWidth(0.2 * mm)
    for x, y in tiling.marks - (t.x, t.y) + (page.left, page.bottom):
        if page.left <= x <= page.left + w and page.bottom <= y <= page.bottom + h:
            canvas.line((x - 3.5) * mm, y * mm, (x + 3.5) * mm, y * mm)
            canvas.line(x * mm, (y - 3.5) * mm, x * mm, (y + 3.5) * mm)
            canvas.circle(x * mm, y * mm, 1.4 * mm)
    _rule(canvas, page.left, 19.0, True)
    _rule(canvas, 9.0, page.bottom, False)
    canvas.setFillGray(0.1)
    write(canvas, page.left, 11.5, f"{plan.title}: {part_name(art.part).lower()}, page {t.number} of "
          f"{len(tiling.tiles)}, {'mirrored' if mirrored else 'plain'}", "bold", 9)
    write(canvas, page.left, 7.0, "Print at 100 %. Both rules must measure 100 mm. Lay pages so that the crosses "
          "meet.", size_pt=8)
    _map(canvas, page, tiling, t)


def _rule(canvas: Canvas, x: float, y: float, across: bool) -> None:
    mm = 1 / POINT_MM
    canvas.setStrokeGray(0.0)
    canvas.setFillGray(0.0)
    canvas.setLineWidth(0.2 * mm)

    def line(a: float, b: float, c: float, d: float) -> None:
        canvas.line(*((v * mm) for v in ((x + a, y + b, x + c, y + d) if across else (x - b, y + a, x - d, y + c))))

    line(0, 0, CHECK_MM, 0)
    for i in range(0, 101, 5):
        line(i, 0, i, 3.2 if i % 50 == 0 else 2.0 if i % 10 == 0 else 1.2)
    if across:
        write(canvas, x + CHECK_MM + 2.5, y, "100 mm", size_pt=8)
    else:
        canvas.saveState()
        canvas.translate((x + 1.0) * mm, (y + CHECK_MM + 2.5) * mm)
        canvas.rotate(90)
        write(canvas, 0, 0, "100 mm", size_pt=8)
        canvas.restoreState()


def _map(canvas: Canvas, page: Frame, tiling: Tiling, here: Tile) -> None:
    mm = 1 / POINT_MM
    w, h = page.window
    unit = 17.0 / max(tiling.rows * h / w, tiling.columns, 1.0)
    x0 = page.width - page.right - tiling.columns * unit
    y0 = 5.0
    canvas.setLineWidth(0.2 * mm)
    for t in tiling.tiles:
        x, y = x0 + t.column * unit, y0 + t.row * unit * h / w
        canvas.setStrokeGray(0.3)
        canvas.setFillGray(0.2 if t == here else 1.0)
        canvas.rect(x * mm, y * mm, unit * mm, unit * h / w * mm, stroke=1, fill=1)
        canvas.setFillGray(1.0 if t == here else 0.2)
        write(canvas, x + unit / 2, y + unit * h / w / 2 - 0.9, str(t.number), "bold", 6.5, "centre")
