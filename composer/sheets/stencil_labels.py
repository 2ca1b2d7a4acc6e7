"""Where words stand on a stencil's paper: small, along its rim, clear of the art and of each other."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from composer.sheets.leaf import Leaf

SIZE_PT = 6.0
HIGH_MM = 2.3
"""Height that a line of these words takes."""
INSET_MM = 0.9
"""From the rim to the words."""


@dataclass(frozen=True)
class Label:
    """Words whose middle is at (x, y) mm, turned by `turn_deg` counter-clockwise."""

    words: str
    x: float
    y: float
    turn_deg: float


def labels(leaf: Leaf, name: str, width_mm: Callable[[str], float]) -> list[Label]:
    """The name, 'up' at the axis, and what levels and lines are called. What finds no room is left off.
    `width_mm` measures a line of words."""
    rim = leaf.outline.exterior if isinstance(leaf.outline, Polygon) else max(
        leaf.outline.geoms, key=lambda p: p.area).exterior
    off = shapely.union_all([shapely.box(*g.bounds) for g in shapely.get_parts(leaf.art.lines)
                             if g.area < 30] + [shapely.buffer(g, 0.4, quad_segs=1) for g in
                                               (*shapely.get_parts(leaf.art.lines), leaf.art.blacks) if g.area >= 30
                                               or g.geom_type != "Polygon"])
    shapely.prepare(off)
    taken: list[Polygon] = [shapely.buffer(shapely.linestrings(t.line), 0.8) for t in leaf.ticks]
    taken += [shapely.buffer(shapely.linestrings(c), 1.0) for c in leaf.cuts]
    taken += [shapely.buffer(g, 0.5) for m in leaf.marks if m.kind != "healed" for g in shapely.get_parts(m.lines)]
    taken += [shapely.Point(x, y).buffer(2.2) for _, x, y in leaf.points]
    out: list[Label] = []

    def put(words: str, places: Iterator[tuple[float, float]]) -> bool:
        wide = width_mm(words) + 1.2
        for at, shift in places:
            label, box = _at(rim, at, shift, words, wide)
            if leaf.outline.contains(box) and not off.intersects(box) and not any(box.intersects(t) for t in taken):
                out.append(label)
                taken.append(box)
                return True
        return False

    for mark in leaf.marks:
        if mark.label and mark.kind != "healed":
            ends = _ends(rim, mark.lines, top=mark.kind == "axis")
            for words in dict.fromkeys((mark.label, " ".join(mark.label.split()[-2:]))):
                wide = width_mm(words) + 1.2
                if put(words, ((e, d * (wide / 2 + more)) for more in (0.8, 3.0) for e in ends for d in (1, -1))):
                    break
    if name:
        x0, y0, x1, _ = leaf.outline.bounds
        start = rim.project(Point((x0 + x1) / 2, y0))
        around = [d for k in range(int(rim.length / 8)) for d in (4.0 * k, -4.0 * k)]
        put(name, (((start + d) % rim.length, 0.0) for d in around))
    return out


def _ends(rim: shapely.LinearRing, lines: shapely.Geometry, top: bool) -> list[float]:
    """Where stubs of a line meet the rim, as lengths along it; with `top` the highest only."""
    ends = [Point(g.coords[k]) for g in shapely.get_parts(lines) for k in (0, -1)]
    ends = [p for p in ends if rim.distance(p) < 0.5]
    if top and ends:
        ends = [max(ends, key=lambda p: p.y)]
    return [float(rim.project(p)) for p in ends]


def _at(rim: shapely.LinearRing, at: float, shift: float, words: str, wide: float) -> tuple[Label, Polygon]:
    """Words along the rim, inside it, and the box that they take."""
    at = (at + shift) % rim.length
    a, p, b = (np.asarray(rim.interpolate((at + d) % rim.length).coords[0]) for d in (-wide / 2, 0.0, wide / 2))
    along = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
    inward = np.array([-along[1], along[0]]) * (1 if rim.is_ccw else -1)
    sag = max(0.0, float((p - a) @ -inward), 0.0)
    middle = (a + b) / 2 + inward * (INSET_MM + HIGH_MM / 2) if sag > 0 else p + inward * (INSET_MM + HIGH_MM / 2)
    turn = float(np.degrees(np.arctan2(along[1], along[0])))
    turn = turn - 180 if turn > 90.001 else turn + 180 if turn <= -89.999 else turn
    x, y = wide / 2 * along, HIGH_MM / 2 * inward
    return Label(words, float(middle[0]), float(middle[1]), turn), Polygon(
        [middle - x - y, middle + x - y, middle + x + y, middle - x + y])
