"""A stencil's paper in strokes: what is to be tattooed in full black, all else light and broken."""

from __future__ import annotations

import numpy as np
import shapely

from composer.art.drawing import geometry_to_rings
from composer.sheets.leaf import Leaf
from composer.sheets.letters import width_mm
from composer.sheets.stencil_art import BLACK_LINE_MM, COLOUR_EVERY_MM, DOT_EVERY_MM, DOT_MM, OPEN, OPEN_DASH_MM, dots
from composer.sheets.stencil_labels import SIZE_PT, labels
from composer.sheets.strokes import MM_PER_PT, Fill, Stroke, Thing, Words, lines_of
from composer.sheets.unrolled import thinned

EDGE_GREY, CUT_GREY, MARK_GREY, HEALED_GREY, WORD_GREY, HATCH_GREY = 0.62, 0.3, 0.5, 0.6, 0.4, 0.72
MARKS = {"axis": (MARK_GREY, 0.25, (3.0, 0.8, 0.5, 0.8)), "level": (MARK_GREY, 0.2, (1.6, 0.9)),
         "side": (MARK_GREY, 0.2, (0.5, 0.8)), "shade": (MARK_GREY, 0.3, (2.4, 1.4)),
         "healed": (HEALED_GREY, 0.3, (0.9, 0.9))}
CROSS_MM = 1.1
HATCH_MM = 4.0
FINE_MM = 0.012
DOT_LONG = np.array([0.01, 0.0])
"""A dot is a line hardly longer than nothing, with round ends."""
GROUPS = {"freehand": "Freehand, where paper won't lie", "registration": "Lining up", "line-work": "Line work",
          "blacks": "Outlines of solid black", "shade-borders": "Borders of shades", "paper-edge": "Edge of the paper",
          "cuts": "Cuts", "ticks": "Ticks across the cuts", "words": "Words"}
"""Groups from back to front, and what people call them."""


def leaf_strokes(leaf: Leaf, name: str) -> tuple[Thing, ...]:
    """All that is printed on a paper, in its own mm, back to front. `name` is written along its rim."""
    out: list[Thing] = [*_freehand(leaf)]
    for mark in leaf.marks:
        grey, wide, dash = MARKS[mark.kind]
        out.append(Stroke("registration", lines_of(mark.lines), wide, grey, dash))
        if mark.kind == "axis":
            out.append(Stroke("registration", (_arrow(lines_of(mark.lines)),), wide, grey))
    art = leaf.art
    out.append(Fill("line-work", tuple(thinned(list(geometry_to_rings(art.lines)), FINE_MM))))
    out.append(Stroke("blacks", lines_of(art.blacks), BLACK_LINE_MM))
    r = CROSS_MM / 2
    out.append(Stroke("blacks", tuple(np.array([(x - d, y - r), (x + d, y + r)]) for x, y in art.crosses
                                      for d in (r, -r)), 0.25))
    for role, lines in art.borders:
        if role == OPEN:
            out.append(Stroke("shade-borders", lines_of(lines), 0.25, 0.0, OPEN_DASH_MM))
            continue
        spots = dots(lines, DOT_EVERY_MM.get(role, COLOUR_EVERY_MM))
        out.append(Stroke("shade-borders", tuple(np.stack([p, p + DOT_LONG]) for p in spots), DOT_MM, 0.0, (),
                          True))
    out += [Words("shade-borders", name, float(x), float(y) - 0.7, 5.5, "text", WORD_GREY, "centre")
            for name, ((x, y),) in art.names]
    out.append(Stroke("paper-edge", lines_of(shapely.boundary(leaf.outline)), 0.15, EDGE_GREY))
    out.append(Stroke("cuts", leaf.cuts, 0.25, CUT_GREY, (4.0, 1.0)))
    out.append(Stroke("ticks", tuple(t.line for t in leaf.ticks), 0.3, CUT_GREY))
    for t in leaf.ticks:
        if t.label:
            x, y = t.line[1] + (t.line[1] - t.line[0]) * 0.45
            out.append(Words("ticks", t.label, float(x), float(y) - 0.7, 5.0, "bold", CUT_GREY, "centre"))
    for letter, x, y in leaf.points:
        ring = np.array([(x + 1.7 * np.cos(a), y + 1.7 * np.sin(a)) for a in np.linspace(0, 2 * np.pi, 25)])
        ring[-1] = ring[0]
        out.append(Stroke("registration", (ring,), 0.2, CUT_GREY))
        out.append(Words("words", letter, x, y - 0.8, 6.5, "bold", CUT_GREY, "centre"))
    down = 0.29 * SIZE_PT * MM_PER_PT
    for la in labels(leaf, name, lambda words: width_mm(words, "text", SIZE_PT)):
        a = np.radians(la.turn_deg)
        out.append(Words("words", la.words, la.x + down * float(np.sin(a)), la.y - down * float(np.cos(a)), SIZE_PT,
                         "text", WORD_GREY, "centre", la.turn_deg))
    return tuple(t for t in out if isinstance(t, Words) or (t.rings if isinstance(t, Fill) else t.lines))


def _arrow(lines: tuple[np.ndarray, ...]) -> np.ndarray:
    """A small head at the upper end of the axis."""
    top = max(lines, key=lambda p: p[:, 1].max())
    top = top if top[-1, 1] >= top[0, 1] else top[::-1]
    along = (top[-1] - top[-2]) / max(float(np.hypot(*(top[-1] - top[-2]))), 1e-9)
    off, tip = np.array([-along[1], along[0]]), top[-1] - 0.6 * along
    return np.array([tip - 1.8 * along + off, tip, tip - 1.8 * along - off])


def _freehand(leaf: Leaf) -> list[Thing]:
    if leaf.freehand.is_empty:
        return []
    x0, y0, x1, y1 = leaf.freehand.bounds
    high = y1 - y0
    hatch = shapely.multilinestrings([[(x, y0), (x + high, y1)] for x in np.arange(x0 - high, x1, HATCH_MM)])
    spot = leaf.freehand.representative_point()
    return [Stroke("freehand", lines_of(shapely.intersection(hatch, leaf.freehand)), 0.15, HATCH_GREY),
            Stroke("freehand", lines_of(shapely.boundary(leaf.freehand)), 0.25, HATCH_GREY, (2.0, 1.2)),
            Words("freehand", "freehand", spot.x, spot.y, 8.0, "bold", WORD_GREY, "centre")]
