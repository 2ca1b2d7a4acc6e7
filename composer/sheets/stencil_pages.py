"""Stencils laid out on pages: small ones nested, large ones over pages that fit together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.sheets.calibrate import Correction
from composer.sheets.cover import part_name
from composer.sheets.furniture import footer
from composer.sheets.leaf import Leaf
from composer.sheets.leaf_strokes import leaf_strokes
from composer.sheets.letters import width_mm, wrap
from composer.sheets.nest import Placed, nest
from composer.sheets.page_pdf import pages_pdf
from composer.sheets.paper import Frame, both_ways, frame
from composer.sheets.slits import Cut
from composer.sheets.stencil import Stencil
from composer.sheets.strokes import Block, Page, Stroke, Thing, Words, combined
from composer.sheets.tiles import Tile, Tiling, tile

GAP_MM = 4.0
ROLL_MOST_MM = 2400.0
MIRROR = np.array([[-1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])


@dataclass(frozen=True)
class Ready:
    """A stencil with its papers; `twin` says which of two sides it is, '' when there is only one."""

    stencil: Stencil
    cut: Cut
    twin: str = ""


@dataclass(frozen=True)
class Print:
    """How to print: paper by name or a roll of `roll_mm`, which face, which printer's correction."""

    paper: str = "A4"
    mirrored: bool = False
    roll_mm: float | None = None
    correction: Correction = field(default_factory=Correction)

    @property
    def face(self) -> str:
        return "mirrored" if self.mirrored else "plain"


@dataclass(frozen=True)
class _Item:
    """A paper with its caption, mirrored already where it is to be."""

    things: tuple[Thing, ...]
    matrix: np.ndarray
    caption: tuple[Thing, ...]
    form: BaseGeometry
    name: str


def stencil_pages(ready: Sequence[Ready], how: Print | None = None) -> list[Page]:
    """All pages, in order. Raises ValueError with a sentence for an unknown paper, a roll that is too
    narrow, or nothing to print."""
    how = how or Print()
    if not ready:
        raise ValueError("Choose at least one piece to print a stencil of.")
    page = _frame(how)
    items = [_item(r, leaf, how) for r in ready for leaf in r.cut.leaves]
    grow = max(how.correction.across, how.correction.along, 1.0)
    width, height = (v / grow for v in page.window)
    forms = [i.form for i in items]
    placed, wide = nest(forms, width, height, GAP_MM)
    upright, more = nest(forms, width, height, GAP_MM, (0,))
    if how.roll_mm is None and more == wide and _pages(upright) == _pages(placed):
        placed = upright
    if how.roll_mm and wide:
        raise ValueError(f"A roll of {how.roll_mm:g} mm is too narrow for '{items[wide[0]].name}'; use a wider roll, "
                         "or paper, which is printed over several pages.")
    title = ready[0].stencil.plan_title
    sheets: list[tuple[Frame, list[Block], str]] = []
    for n in sorted({p.page for p in placed}):
        on = [p for p in placed if p.page == n]
        here = _short(page, items, on) if how.roll_mm else page
        sheets.append((here, _nested(here, items, on, grow), ""))
    for i in wide:
        sheets += _tiled(items[i], how)
    return [_page(f, blocks, f"{title}: stencils, page {k} of {len(sheets)}, {how.face}", how, extra)
            for k, (f, blocks, extra) in enumerate(sheets, 1)]


def _pages(placed: Sequence[Placed]) -> int:
    return len({p.page for p in placed})


def stencil_pdf(ready: Sequence[Ready], how: Print | None = None, more: Sequence[Page] = ()) -> bytes:
    """The pages as PDF bytes, with further pages behind them. Raises ValueError as `stencil_pages` does."""
    pages = [*stencil_pages(ready, how), *more]
    return pages_pdf(pages, f"{ready[0].stencil.plan_title}: stencils")


def _frame(how: Print) -> Frame:
    if how.roll_mm is None:
        return frame(how.paper)
    if not 80 <= how.roll_mm <= 1200:
        raise ValueError(f"A roll of {how.roll_mm:g} mm can't be used here; give its width as 80 to 1200 mm.")
    return Frame(how.roll_mm, ROLL_MOST_MM)


def leaf_name(ready: Ready, leaf: Leaf) -> str:
    """What is written on a paper: the piece, the side where there are two, the letter where there are several."""
    return ", ".join(v for v in (ready.stencil.title, ready.twin, leaf.name and f"paper {leaf.name}") if v)


def caption_of(ready: Ready, leaf: Leaf, mirrored: bool) -> tuple[str, str]:
    """The two lines under a paper."""
    s, n = ready.stencil, len(ready.cut.leaves)
    of = f" of {n}" if leaf.name else ""
    up = "ink side up" if mirrored else "this side up"
    words = [s.plan_title, part_name(s.part).lower(), *([s.date] if s.date else []), "1:1", up]
    return leaf_name(ready, leaf) + of, ", ".join(words)


def _item(ready: Ready, leaf: Leaf, how: Print) -> _Item:
    things = leaf_strokes(leaf, leaf_name(ready, leaf))
    matrix = MIRROR if how.mirrored else np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    outline = shapely.transform(leaf.outline, lambda p: p @ matrix[:, :2].T)
    x0, y0, x1, _ = outline.bounds
    one, two = caption_of(ready, leaf, how.mirrored)
    room = max(x1 - x0, 42.0)
    said = [(v, "bold", 8.0, 0.15) for v in wrap(one, "bold", 8.0, room)]
    said += [(v, "text", 7.0, 0.3) for v in wrap(two, "text", 7.0, room)]
    wide = max(width_mm(v, face, size) for v, face, size, _ in said)
    middle = (x0 + x1) / 2
    caption = tuple(Words("caption", v, middle, y0 - 4.2 - 3.4 * k, size, face, grey, "centre")
                    for k, (v, face, size, grey) in enumerate(said))
    box = shapely.box(middle - wide / 2 - 1, y0 - 2.0 - 3.4 * len(said), middle + wide / 2 + 1, y0 - 0.5)
    return _Item(things, matrix, caption, shapely.union_all([outline, box]), one)


def _blocks(item: _Item, onto: np.ndarray, clip: tuple[float, float, float, float] | None = None) -> list[Block]:
    return [Block(item.things, combined(onto, item.matrix), clip, item.name), Block(item.caption, onto, clip)]


def _nested(page: Frame, items: Sequence[_Item], on: Sequence[Placed], grow: float) -> list[Block]:
    """Blocks of one page; the nest's corner is the upper left of the window (less what a correction takes)."""
    w, h = page.window
    left, top = page.left + (w - w / grow) / 2, page.bottom + h - (h - h / grow) / 2
    out: list[Block] = []
    for p in on:
        a = np.radians(p.turn_deg)
        c, s = round(float(np.cos(a))), round(float(np.sin(a)))
        out += _blocks(items[p.index], np.array([[c, -s, left + p.x], [s, c, top + p.y]]))
    return out


def _short(page: Frame, items: Sequence[_Item], on: Sequence[Placed]) -> Frame:
    """A roll's page, no longer than what lies on it (and its check rule)."""
    used = -min(p.put(items[p.index].form).bounds[1] for p in on)
    return Frame(page.width, max(used, 104.0) + 2.0 + page.top + page.bottom)


def _tiled(item: _Item, how: Print) -> list[tuple[Frame, list[Block], str]]:
    """One paper over several pages."""
    form = shapely.convex_hull(item.form)
    tiling = min((tile(np.asarray(form.exterior.coords)[:-1], f) for f in both_ways(how.paper)),
                 key=lambda t: len(t.tiles))
    return [(tiling.frame, _window(item, tiling, t), f"'{item.name}' on {len(tiling.tiles)} pages, this is "
             f"{t.number}: lay them so that the crosses meet.") for t in tiling.tiles]


def _window(item: _Item, tiling: Tiling, t: Tile) -> list[Block]:
    page = tiling.frame
    onto = np.array([[1.0, 0.0, page.left - t.x], [0.0, 1.0, page.bottom - t.y]])
    w, h = page.window
    corner = np.array([page.left, page.bottom])
    edge = np.array([(0, 0), (w, 0), (w, h), (0, h), (0, 0)]) + corner
    crosses = []
    for x, y in tiling.marks - (t.x, t.y) + corner:
        if page.left <= x <= page.left + w and page.bottom <= y <= page.bottom + h:
            crosses += [np.array([(x - 3.5, y), (x + 3.5, y)]), np.array([(x, y - 3.5), (x, y + 3.5)])]
    marks = (Stroke("note", (edge,), 0.15, 0.75, (1.2, 1.2)), Stroke("note", tuple(crosses), 0.2))
    return [*_blocks(item, onto, (page.left, page.bottom, w, h)), Block(marks)]


def _page(page: Frame, blocks: Sequence[Block], title: str, how: Print, extra: str) -> Page:
    """A page with its furniture, all of it corrected for the printer."""
    extra = " ".join(v for v in (extra, how.correction.words) if v)
    every = [*blocks, Block(tuple(footer(page, title, how.face, extra)))]
    k = how.correction.matrix(page)
    if how.correction.across == how.correction.along == 1.0:
        return Page(page.width, page.height, tuple(every))

    def clip(c: tuple[float, float, float, float] | None) -> tuple[float, float, float, float] | None:
        return c and (k[0, 0] * c[0] + k[0, 2], k[1, 1] * c[1] + k[1, 2], k[0, 0] * c[2], k[1, 1] * c[3])

    return Page(page.width, page.height,
                tuple(Block(b.things, combined(k, b.matrix), clip(b.clip), b.name) for b in every))
