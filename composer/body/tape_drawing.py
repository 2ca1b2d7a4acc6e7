"""A hanging arm, sketched by us, with the tape where it belongs for one measure."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from composer.body.arm_sketch import LEVEL_ENDS, OUTER, arm_svg
from composer.body.fields import BY_NAME, Field
from composer.body.sketch import WASH, curve, drawn, filled, normals, page, path, pen, ribbon

_WIDTH = 8.0
"""Width of the tape in drawing units; wider than a true one, so that it reads when small."""


def _tape(line: np.ndarray, across: np.ndarray, every: float = 4.0) -> str:
    fill, edges, marks = ribbon(line, across, every)
    return filled(fill, WASH) + drawn(marks, 0.9) + filled(edges)


def _round(level: str) -> str:
    """A tape round the limb at a level: front half bowed down, its loose end hanging free."""
    a, b = (np.array(p) for p in LEVEL_ENDS[level])
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


def _run(lower: str, upper: str) -> str:
    """A tape along the outer side from one level up to the next, with both levels marked."""
    outer = curve(OUTER, 0.6)
    i, j = (int(np.argmin(np.hypot(*(outer - LEVEL_ENDS[name][0]).T))) for name in (upper, lower))
    line = outer[i : j + 1]
    line = line - normals(line, 8.5)
    marks = ""
    for name in (lower, upper):
        a, b = (np.array(p) for p in LEVEL_ENDS[name])
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
def tape_svg(field_name: str) -> str:
    """The drawing for one measure as an SVG string (page 240 x 320, scales freely).

    Raises KeyError with a sentence for a name that is no measure of an arm.
    """
    f: Field | None = BY_NAME.get(field_name)
    if f is None:
        raise KeyError(f"'{field_name[:40]}' is no measure of an arm; there is nothing to draw.")
    tape = _round(f.level) if f.kind == "girth" else _run(f.from_level, f.level)
    return page(f"{f.label}: {f.where}", arm_svg() + tape)
