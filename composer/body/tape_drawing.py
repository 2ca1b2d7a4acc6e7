"""A hanging arm, a standing leg or the trunk, sketched by us, with the tape where it belongs for one measure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np

from composer.body import arm_sketch, leg_sketch, trunk_sketch
from composer.body.fields import Field
from composer.body.kinds import called, fields_of, kind_of
from composer.body.sketch import PAPER, PENCIL, WASH, Point, curve, drawn, filled, normals, page, path, pen, ribbon

_WIDTH = 8.0
"""Width of the tape in drawing units; wider than a true one, so that it reads when small."""
_TRUNK_WIDTH = 11.0
TRUNK_VIEW = (10, 0, 220, 256)
"""What of the page shows of the trunk, which ends below the lower edge: x, y, width, height in units."""


@dataclass(frozen=True)
class _Sketch:
    """A part drawn: both ends of each level that is taped round, how to draw it, and the way of the tape for a
    length: along the outer contour of a limb, or as `run` says."""

    ends: dict[str, tuple[Point, Point]]
    draw: Callable[[], str]
    outer: tuple[Point, ...] = ()
    run: Callable[[str], list[Point]] | None = None


_SKETCHES = {
    "arm": _Sketch(arm_sketch.LEVEL_ENDS, arm_sketch.arm_svg, tuple(arm_sketch.OUTER)),
    "leg": _Sketch(leg_sketch.LEVEL_ENDS, leg_sketch.leg_svg, tuple(leg_sketch.OUTER)),
    **{part: _Sketch(trunk_sketch.LEVEL_ENDS, partial(trunk_sketch.trunk_svg, back),
                     run=partial(trunk_sketch.run_of, back=back))
       for part, back in (("chest", False), ("upper_back", True))},
}


def _tape(line: np.ndarray, across: np.ndarray, every: float = 4.0) -> str:
    fill, edges, marks = ribbon(line, across, every)
    return filled(fill, WASH) + drawn(marks, 0.9) + filled(edges)


def _round(sketch: _Sketch, level: str, width: float = _WIDTH) -> str:
    """A tape round the limb at a level: front half bowed down, its loose end hanging free."""
    a, b = (np.array(p) for p in sketch.ends[level])
    size = float(np.hypot(*(b - a)))
    along = (b - a) / size
    down = np.array([-along[1], along[0]])
    bow = 0.15 * size
    theta = np.linspace(0.02, np.pi - 0.02, 60)
    front = (a + b) / 2 + np.outer(-np.cos(theta), along) * (size / 2 + 1.2) + np.outer(np.sin(theta), down) * bow
    back = (a + b) / 2 + np.outer(-np.cos(theta), along) * (size / 2 + 1.2) - np.outer(np.sin(theta), down) * bow
    hang = np.array([0.0, 1.0])
    start = (a + b) / 2 - 0.30 * size * along + 0.80 * bow * down
    tail = curve([tuple(start), tuple(start - 8 * along + 5 * hang), tuple(start - 17 * along + 9 * hang),
                  tuple(start - 23 * along + 19 * hang), tuple(start - 22 * along + 31 * hang)], 1.2)
    behind = drawn(path(back), 1.1, dash="2.5 3")
    tip = tail[-4:]
    cap = path(np.concatenate([tip + normals(tip, 4.2), (tip - normals(tip, 4.2))[::-1]]), closed=True)
    return (behind + _tape(tail, normals(tail, width / 2)) + filled(cap)
            + _tape(front, np.broadcast_to(down * width / 2, front.shape)))


def _run(sketch: _Sketch, lower: str, upper: str) -> str:
    """A tape along the outer side from one level up to the next, with both levels marked."""
    outer = curve(sketch.outer, 0.6)
    i, j = (int(np.argmin(np.hypot(*(outer - sketch.ends[name][0]).T))) for name in (upper, lower))
    line = outer[i : j + 1]
    line = line - normals(line, 8.5)
    marks = ""
    for name in (lower, upper):
        a, b = (np.array(p) for p in sketch.ends[name])
        size = np.hypot(*(b - a))
        along = (b - a) / size
        down = np.array([-along[1], along[0]]) * 0.13 * size
        ring = curve([tuple(a - 9 * along - 0.3 * down), tuple(a), tuple((a * 3 + b) / 4 + 0.75 * down),
                      tuple((a + b) / 2 + down), tuple((a + b * 3) / 4 + 0.75 * down), tuple(b)], 1.2)
        marks += drawn(path(ring), 1.4, dash="5 3")
    return marks + _laid(line)


def _laid(line: np.ndarray, width: float = _WIDTH) -> str:
    """A tape laid along a line (n, 2), with a stroke across either end."""
    ends = "".join(pen([tuple(p - 9 * n), tuple(p), tuple(p + 9 * n)], 2.6, 0.6, 0.6)
                   for p, n in zip(line[[0, -1]], normals(line, 1.0)[[0, -1]], strict=True))
    return _tape(line, normals(line, width / 2)) + filled(ends)


def _ruler() -> str:
    """A ruler level across the fullest part of the chest, and beside the drawing the same seen from above: what
    is read is how far the breastbone lies behind it."""
    y = 138.0
    line = np.linspace((56.0, y), (184.0, y), 60)
    above = [(26.0 + 1.1 * x, 224.0 + 0.9 * d) for x, d in
             ((0, -16), (10, -2), (24, 4), (38, 0), (48, -9), (58, 0), (72, 4), (86, -2), (96, -16))]
    middle = 26.0 + 1.1 * 48
    edge = np.linspace((30.0, 232.5), (128.0, 232.5), 40)
    box = path(np.array([(16.0, 198.0), (142.0, 198.0), (142.0, 247.0), (16.0, 247.0)]), closed=True)
    back = filled(box, PAPER) + drawn(box, 0.8, PENCIL)
    arrow = (pen([(middle, 217.6), (middle, 223.0), (middle, 228.4)], 1.8, 0.8, 0.8, 0.3)
             + "".join(pen([(middle - 2.6, y0), (middle, y1), (middle + 2.6, y0)], 1.6, 0.6, 0.6, 0.3)
                       for y0, y1 in ((220.6, 217.0), (225.6, 229.0))))
    return (_tape(line, normals(line, _TRUNK_WIDTH / 2)) + back + filled(pen(above, 2.2), PENCIL)
            + _tape(edge, normals(edge, 2.8)) + filled(arrow))


@lru_cache(maxsize=64)
def tape_svg(field_name: str, kind: str = "") -> str:
    """The drawing for one measure as an SVG string (page 240 x 320, scales freely).

    `kind` is 'arm' or 'leg' or the name of a part, chest and back too; without it the measure's own name
    tells, since arms and legs share none. Raises KeyError with a sentence for a name that is no measure there.
    """
    name = kind or ("leg" if field_name in kind_of("leg").by_name else "arm")
    f: Field | None = next((f for f in fields_of(name) if f.name == field_name), None)
    if f is None:
        raise KeyError(f"'{field_name[:40]}' is no measure of {called(name)}; there is nothing to draw.")
    sketch = _SKETCHES[name] if name in _SKETCHES else _SKETCHES[kind_of(name).name]
    if f.kind == "girth":
        tape = _round(sketch, f.level, _WIDTH if sketch.run is None else _TRUNK_WIDTH)
    elif sketch.run is None:
        tape = _run(sketch, f.from_level, f.level)
    else:
        way = sketch.run(f.name)
        tape = _laid(curve(way, 1.2), _TRUNK_WIDTH) if way else _ruler()
    return page(f"{f.label}: {f.where}", sketch.draw() + tape, (0, 0, 240, 320) if sketch.run is None else TRUNK_VIEW)
