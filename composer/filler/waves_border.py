"""How water hands over to the water of the next filler: its lines end one sooner than the other, and between them the
other's come in. No straight edge of the one faces the other's.

Flat chart mm throughout.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.brush import arc_length
from composer.filler.cloud_lines import Line, Pen
from composer.filler.ground import Ground

COMB_MM, AT_BORDER_MM, OUT_MM = 10.0, 2.5, 5.0
"""Over what length water ends beside other water, its lines one sooner than the other; how near to the border
a line's end lies that does; over what length it thins out."""
STAGGER = (0.15, 0.8, 0.4, 1.0, 0.0, 0.65)
"""How far before the border neighbouring lines end, in that length."""


def open_border(home: BaseGeometry, ground: Ground, room: BaseGeometry) -> BaseGeometry:
    """Where water ends on open skin and other water may go on (a line): no piece hides its end there, no cuff bounds
    it."""
    shut = [shapely.buffer(ground.front, ground.skin_break_mm + 1.0, quad_segs=2), shapely.buffer(ground.edge, 3.0)]
    beyond = shapely.intersection(room.boundary, shapely.buffer(home.boundary, 0.5, quad_segs=1))
    return shapely.difference(home.boundary, shapely.union_all([*shut, shapely.buffer(beyond, 1.0, quad_segs=1)]))


def staggered(lines: list[Line], open_: BaseGeometry, rng: np.random.Generator) -> list[Line]:
    """Swell lines that end at an open border, each so far before it that no two neighbours end alike."""
    if open_.is_empty:
        return lines
    shapely.prepare(open_)
    out, turn = [], int(rng.integers(0, len(STAGGER)))
    for line in lines:
        s, path, width = arc_length(line.path), line.path, line.width
        a, b = 0.0, float(s[-1])
        ends = shapely.dwithin(open_, shapely.points(path[[0, -1]]), AT_BORDER_MM)
        if ends[0]:
            a = STAGGER[turn % len(STAGGER)] * COMB_MM
        if ends[1]:
            b -= STAGGER[(turn + 2) % len(STAGGER)] * COMB_MM
        turn += 1
        keep = (s >= a) & (s <= b)
        if keep.sum() > 3:
            t = np.minimum(s - a if ends[0] else np.inf, b - s if ends[1] else np.inf)
            out.append(replace(line, path=path[keep], width=(width * np.clip(t / OUT_MM, 0.1, 1.0))[keep]))
    return out


def combed(body: BaseGeometry, lines: list[Line], open_: BaseGeometry, pen: Pen) -> BaseGeometry | None:
    """What of a row hides the water of the next filler: along an open border only what lies about its lines, so that
    the one runs in between the lines of the other. None where it has no such border."""
    strip = shapely.buffer(open_, COMB_MM + 1.0, quad_segs=2)
    if open_.is_empty or not shapely.intersects(strip, body):
        return None
    drawn = shapely.multilinestrings([shapely.linestrings(line.path) for line in lines])
    held = shapely.buffer(drawn, 0.95 * pen.pitch_mm, quad_segs=3)
    return shapely.difference(body, shapely.difference(strip, held))
