"""A hanging arm or a standing leg, sketched by us, with the tape where it belongs for one measure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from composer.body import arm_sketch, leg_sketch
from composer.body.fields import Field
from composer.body.kinds import kind_of
from composer.body.sketch import WASH, Point, curve, drawn, filled, normals, page, path, pen, ribbon

_WIDTH = 8.0
"""Width of the tape in drawing units; wider than a true one, so that it reads when small."""


@dataclass(frozen=True)
class _Sketch:
    """A limb drawn: its outer contour, outer and inner end of each level, and how to draw it."""

    outer: tuple[Point, ...]
    ends: dict[str, tuple[Point, Point]]
    draw: Callable[[], str]


_SKETCHES = {
    "arm": _Sketch(tuple(arm_sketch.OUTER), arm_sketch.LEVEL_ENDS, arm_sketch.arm_svg),
    "leg": _Sketch(tuple(leg_sketch.OUTER), leg_sketch.LEVEL_ENDS, leg_sketch.leg_svg),
}


def _tape(line: np.ndarray, across: np.ndarray, every: float = 4.0) -> str:
    fill, edges, marks = ribbon(line, across, every)
    return filled(fill, WASH) + drawn(marks, 0.9) + filled(edges)


def _round(sketch: _Sketch, level: str) -> str:
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
    return (behind + _tape(tail, normals(tail, _WIDTH / 2)) + filled(cap)
            + _tape(front, np.broadcast_to(down * _WIDTH / 2, front.shape)))


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
    ends = "".join(pen([tuple(p - 9 * n), tuple(p), tuple(p + 9 * n)], 2.6, 0.6, 0.6)
                   for p, n in zip(line[[0, -1]], normals(line, 1.0)[[0, -1]], strict=True))
    return marks + _tape(line, normals(line, _WIDTH / 2)) + filled(ends)


@lru_cache(maxsize=64)
def tape_svg(field_name: str, kind: str = "") -> str:
    """The drawing for one measure as an SVG string (page 240 x 320, scales freely).

    `kind` is 'arm' or 'leg' or the name of a part; without it the measure's own name tells, since
    arms and legs share none. Raises KeyError with a sentence for a name that is no measure there.
    """
    limb = kind_of(kind) if kind else kind_of("leg" if field_name in kind_of("leg").by_name else "arm")
    f: Field | None = limb.by_name.get(field_name)
    if f is None:
        raise KeyError(f"'{field_name[:40]}' is no measure of {limb.called}; there is nothing to draw.")
    sketch = _SKETCHES[limb.name]
    tape = _round(sketch, f.level) if f.kind == "girth" else _run(sketch, f.from_level, f.level)
    return page(f"{f.label}: {f.where}", sketch.draw() + tape)
