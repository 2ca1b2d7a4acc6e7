"""Pages of strokes as SVG, in plain groups with ids and names for people; 1 unit is 1 mm."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import numpy as np

from composer.sheets.letters import width_mm
from composer.sheets.strokes import MM_PER_PT, Block, Fill, Page, Stroke, Thing, Words

FACES = {"text": "Plain, 'Source Sans 3', sans-serif", "bold": "Plain, 'Source Sans 3', sans-serif",
         "head": "Book, 'Source Serif 4', serif"}


def page_svg(page: Page, label: str, fluid: bool = False) -> str:
    """One page as SVG 1.1 text, as it is printed. `fluid`: without a size of its own, for a screen."""
    size = "" if fluid else f' width="{page.width:g}mm" height="{page.height:g}mm"'
    body = "".join(_block(b, i, page.height) for i, b in enumerate(page.blocks))
    return (f'<svg xmlns="http://www.w3.org/2000/svg"{size} viewBox="0 0 {page.width:g} {page.height:g}" role="img" '
            f'aria-label="{escape(label)}">{body}</svg>')


def _block(block: Block, number: int, height: float) -> str:
    (a, b, e), (c, d, f) = block.matrix
    # page y runs up; SVG's runs down
    move = f'transform="matrix({a:.6g} {-c:.6g} {-b:.6g} {d:.6g} {e:.4f} {height - f:.4f})"'
    inner = f"<g {move}>{things_svg(block.things)}</g>"
    if block.clip is None:
        return inner
    x, y, w, h = block.clip
    return (f'<clipPath id="clip{number}"><rect x="{x:g}" y="{height - y - h:g}" width="{w:g}" height="{h:g}"/>'
            f'</clipPath><g clip-path="url(#clip{number})">{inner}</g>')


def things_svg(things: tuple[Thing, ...]) -> str:
    """Things as SVG elements, y down from the block's origin."""
    return "".join(thing_svg(t) for t in things)


def thing_svg(thing: Thing) -> str:
    """One thing as an SVG element (y turned down)."""
    if isinstance(thing, Fill):
        return f'<path d="{path_data(thing.rings, True)}" fill="{_grey(thing.grey)}" fill-rule="evenodd"/>'
    if isinstance(thing, Stroke):
        more = f' stroke-dasharray="{" ".join(f"{d:g}" for d in thing.dash_mm)}"' if thing.dash_mm else ""
        more += ' stroke-linecap="round"' if thing.round else ""
        return (f'<path d="{path_data(thing.lines, False)}" fill="none" stroke="{_grey(thing.grey)}" '
                f'stroke-width="{thing.width_mm:g}" stroke-linejoin="round"{more}/>')
    return _words(thing)


def _words(words: Words) -> str:
    anchor = {"left": "start", "right": "end", "centre": "middle"}[words.align]
    turn = f' transform="rotate({-words.turn_deg:.3f} {words.x:.3f} {-words.y:.3f})"' if words.turn_deg else ""
    bold = ' font-weight="600"' if words.face in ("bold", "head") else ""
    wide = width_mm(words.text, words.face, words.size_pt)   # as printed, whatever font there is to show it in
    return (f'<text x="{words.x:.3f}" y="{-words.y:.3f}" font-size="{words.size_pt * MM_PER_PT:.3f}" '
            f'textLength="{wide:.3f}" lengthAdjust="spacingAndGlyphs" '
            f'font-family="{FACES[words.face]}" fill="{_grey(words.grey)}" text-anchor="{anchor}"{bold}{turn}>'
            f'{escape(words.text)}</text>')


def _grey(value: float) -> str:
    level = round(255 * value)
    return f"#{level:02x}{level:02x}{level:02x}"


def path_data(lines: Sequence[np.ndarray], close: bool) -> str:
    """Path string in mm with two decimals, relative steps, y down."""
    out = []
    for line in lines:
        grid = np.rint(np.asarray(line) * (100, -100)).astype(int)
        if close or (len(grid) > 3 and np.array_equal(grid[0], grid[-1])):
            end, grid = "z", (grid if close else grid[:-1])
        else:
            end = ""
        moves = np.diff(grid, axis=0)
        steps = " ".join(f"{x / 100:g} {y / 100:g}" for x, y in moves.tolist())
        out.append(f"M{grid[0, 0] / 100:g} {grid[0, 1] / 100:g}l{steps}{end}".replace(" -", "-"))
    return "".join(out)
