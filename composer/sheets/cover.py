"""The layout sheet's first page: the whole composition to scale, and the measures."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import shapely
from reportlab.pdfgen.canvas import Canvas

from composer.body.joins_wide import PAIRS, WIDE_NAMES
from composer.body.kinds import fields_of
from composer.body.units import format_length
from composer.plan.estimated import estimated_of
from composer.plan.model import Piece, Plan
from composer.sheets.four_views import draw_four, has_views
from composer.sheets.letters import width_mm, write
from composer.sheets.paper import POINT_MM, Frame
from composer.sheets.pdf_art import draw_art
from composer.sheets.sheet_art import SheetArt
from composer.sheets.wide_art import parts_of

SCALES = (1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5, 6, 7, 8, 9, 10, 12, 15)
EDGE = 16.0
TABLE_MM = 62.0
APART = 8.0


def part_name(part: str) -> str:
    """'left_arm' as people say it: 'Left arm'."""
    return WIDE_NAMES.get(part) or part.replace("_", " ").capitalize()


def numbered(plan: Plan, arts: Sequence[SheetArt]) -> list[tuple[int, Piece]]:
    """Pieces and fillers of the printed parts with the numbers they have on the cover: main pieces
    from the far end up, then fillers, which have none (0)."""
    out: list[Piece] = []
    for art in arts:
        shown = {x.piece.id for x in art.pieces}
        for part in parts_of(art.part, plan):
            on = [p for p in plan.on(part) if (art.part == part or p.id in shown) and p not in out]
            out += sorted((p for p in on if not p.is_filler), key=lambda p: (p.s_mm, p.u))
            out += sorted((p for p in on if p.is_filler), key=lambda p: (p.s_mm, p.u))
    count = itertools.count(1)
    return [(0 if p.is_filler else next(count), p) for p in out]


def measured_on(plan: Plan, arts: Sequence[SheetArt]) -> list[str]:
    """Parts whose measures stand on the cover, each once: of a wide sheet that in its middle, of one on which chest and
    back meet both."""
    every = (parts_of(art.part, plan)[: None if art.part in PAIRS else 1] for art in arts)
    return list(dict.fromkeys(part for parts in every for part in parts))


SHADED = "; dashed: background is shaded up to here, on the side of the ticks"
SLEEVE = "; dash and dot: the sleeve ends here"


def draw_cover(canvas: Canvas, page: Frame, plan: Plan, arts: Sequence[SheetArt], words: str) -> float:
    """Cover page; returns the scale N of 1 : N at which the parts stand."""
    w, h = page.width, page.height
    canvas.setFillGray(0.05)
    write(canvas, EDGE, h - 24, plan.title, "head", 20)
    canvas.setFillGray(0.3)
    write(canvas, EDGE, h - 31, words, "text", 10)
    taped = measured_on(plan, arts)
    bottom, across = EDGE + TABLE_MM, (w - 2 * EDGE - APART * (len(taped) - 1)) / len(taped)
    cells = _cells(arts, w - 2 * EDGE, h - 44 - bottom)
    scale = cells.scale
    numbers = {p.id: n for n, p in numbered(plan, arts) if n}
    for i, art in enumerate(arts):
        x0, y0, x1, y1 = art.bounds
        beside, below = (cells.beside, cells.below) if has_views(art) else (0.0, 0.0)
        sheet_w, room_h = cells.width - beside, cells.height - below
        row, column = divmod(i, cells.columns)
        short = cells.columns - min(len(arts) - row * cells.columns, cells.columns)   # a last row stands in the middle
        left = EDGE + (column + short / 2) * (cells.width + APART)
        low = h - 44 - (row + 1) * cells.height - row * APART
        half = (x1 - x0) / scale / 2
        cx = left + (half + 1 if beside else sheet_w / 2)   # the names of the levels need the room to the right
        base = low + below + (room_h - (y1 - y0) / scale) / 2
        canvas.saveState()
        canvas.translate((cx - (x0 + x1) / 2 / scale) / POINT_MM, (base - y0 / scale) / POINT_MM)
        canvas.scale(1 / scale, 1 / scale)
        draw_art(canvas, art, scale)
        _numbers(canvas, art, numbers, scale)
        canvas.restoreState()
        canvas.setFillGray(0.3)
        for name, (x, y), side in _level_ends(art):
            write(canvas, cx + (x - (x0 + x1) / 2) / scale + 1.2 * side, base + (y - y0) / scale - 1, name,
                  size_pt=_level_pt(scale), align="left" if side > 0 else "right")
        if beside:
            draw_four(canvas, art, left + sheet_w + 4, low + 4, beside - 4, cells.height - 8, 2)
        elif below:
            draw_four(canvas, art, left, low + 2, cells.width, below - 6, 4)
    for i, part in enumerate(taped):
        _measures(canvas, plan, part, EDGE + i * (across + APART), bottom - 8, across)
    more = SHADED * any(a.shade for a in arts) + SLEEVE * any(a.sleeve for a in arts)
    _scale_bar(canvas, EDGE, EDGE - 5, scale, more)
    return scale


@dataclass(frozen=True)
class _Cells:
    """How the parts stand on the cover: `columns` of cells `width` by `height` mm, of which the four views take
    `beside` or `below`, at 1 : `scale`."""

    scale: float
    columns: int
    width: float
    height: float
    beside: float
    below: float


def _cells(arts: Sequence[SheetArt], width: float, height: float) -> _Cells:
    """The arrangement in a room of mm at which the parts are largest; with as few rows as that takes."""
    found = []
    for columns in range(len(arts), 0, -1):
        rows = -(-len(arts) // columns)
        w, h = (width - APART * (columns - 1)) / columns, (height - APART * (rows - 1)) / rows
        views = [(min(0.25 * w, 90.0), 0.0), (0.0, min(0.42 * h, 110.0))] if any(map(has_views, arts)) else [(0.0, 0.0)]
        found += [_Cells(_scale(arts, w, h, *room), columns, w, h, *room) for room in views]
    return min(found, key=lambda c: c.scale)


def _scale(arts: Sequence[SheetArt], width: float, height: float, beside: float, below: float) -> float:
    """The largest of SCALES at which every sheet fits its cell, mm, with the views beside or below it."""
    def fits(art: SheetArt, scale: float) -> bool:
        x0, y0, x1, y1 = art.bounds
        seen = has_views(art)
        half = (x1 - x0) / 2
        reach = max([half / scale + 1] + [abs(x - x0 - half) / scale + 2 + width_mm(name, "text", _level_pt(scale))
                                          for name, (x, _), _ in _level_ends(art)])
        across = half / scale + 1 + reach if beside * seen else 2 * reach
        return across <= width - beside * seen and (y1 - y0 + 8) / scale <= height - below * seen

    return next((s for s in SCALES if all(fits(a, s) for a in arts)), SCALES[-1])


def _level_pt(scale: float) -> float:
    return 7 if scale < 6 else 6


def _level_ends(art: SheetArt) -> list[tuple[str, tuple[float, float], int]]:
    """Where each level is named: the end of its line that lies further out, and on which side of it the name stands."""
    middle, out = (art.bounds[0] + art.bounds[2]) / 2, []
    for name, _, line in art.levels:
        ends = [line[-1], line[0]] if art.part in WIDE_NAMES else [line[-1]]
        x, y = map(float, max(ends, key=lambda end: abs(end[0] - middle)))
        out.append((name, (x, y), 1 if x >= middle else -1))
    return out


def _numbers(canvas: Canvas, art: SheetArt, numbers: Mapping[str, int], scale: float) -> None:
    form = shapely.Polygon(art.border)
    for on in art.pieces:
        if on.piece.is_filler or not on.silhouette or on.piece.id not in numbers:
            continue
        most = max(map(len, on.silhouette))
        spots = [(r.min(axis=0) + r.max(axis=0)) / 2 for r in on.silhouette if len(r) >= 0.5 * most]
        inside = [s for s in spots if shapely.contains_xy(form, *s)]
        x, y = (inside or spots)[0]
        canvas.setFillGray(1.0)
        canvas.setStrokeGray(0.2)
        canvas.setLineWidth(0.25 * scale / POINT_MM)
        canvas.circle(x / POINT_MM, y / POINT_MM, 2.3 * scale / POINT_MM, stroke=1, fill=1)
        canvas.setFillGray(0.05)
        write(canvas, float(x), float(y) - 0.95 * scale, str(numbers[on.piece.id]), "bold", 7 * scale, "centre")


def _measures(canvas: Canvas, plan: Plan, part: str, x: float, y: float, width: float) -> None:
    canvas.setFillGray(0.05)
    write(canvas, x, y, part_name(part), "head", 12)
    taped, known = plan.part(part).measures, {f.name: f for f in fields_of(part)}
    guessed = estimated_of(plan.part(part))
    rows = [(f.label + (", estimated" if f.name in guessed else ""),
             taped[f.name]) for f in known.values() if f.name in taped]
    rows += [(f"Girth at {k[6:]} mm", v) for k, v in sorted(taped.items()) if k not in known]
    half = (len(rows) + 1) // 2 if width > 110 else len(rows)
    line = min(4.6, (TABLE_MM - 16) / max(half, 1))
    column = min(width / 2 - 4, 80) if half < len(rows) else min(width, 80)
    for i, (name, mm) in enumerate(rows):
        cx, cy = x + (i // half) * (column + 8), y - 6 - (i % half) * line
        canvas.setFillGray(0.25)
        value = format_length(mm, plan.settings.unit)
        room = column - width_mm(value, "bold", 8.5) - 1.5
        write(canvas, cx, cy, name, size_pt=8.5 * min(1.0, room / width_mm(name, "text", 8.5)))
        write(canvas, cx + column, cy, value, "bold", 8.5, "right")


def _scale_bar(canvas: Canvas, x: float, y: float, scale: float, more: str) -> None:
    canvas.setStrokeGray(0.1)
    canvas.setFillGray(0.1)
    canvas.setLineWidth(0.35 / POINT_MM)
    end = x + 100 / scale
    for a, b, c, d in ((x, y, end, y), (x, y - 1.2, x, y + 1.2), (end, y - 1.2, end, y + 1.2)):
        canvas.line(a / POINT_MM, b / POINT_MM, c / POINT_MM, d / POINT_MM)
    write(canvas, end + 2.5, y - 1.1, f"100 mm on skin; this page is at 1 : {scale:g}, the pages after the list "
          f"at 1 : 1{more}", size_pt=8.5)
