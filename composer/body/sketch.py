"""Pen and ink for the small body drawings: strokes that swell, taper and waver a little.

Drawing units of a 240 x 320 page, y down as on a screen. No art is laid on skin here, so this
needs nothing of the art room; strokes come out as SVG path data.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import numpy as np
from scipy.interpolate import CubicSpline

PENCIL, INK, WASH, PAPER = "#6d6250", "#5b3fa0", "#f1ecfa", "#f7f2e8"

Point = tuple[float, float]
Stroke = tuple[list[Point], float]
"""Points that a line goes through, and its width in units."""


def along(a: np.ndarray, b: np.ndarray, t: float, out: float) -> Point:
    """A point at share `t` of the way from a to b, `out` units to the left of it (y down)."""
    d = (b - a) / np.hypot(*(b - a))
    x, y = a + t * (b - a) + out * np.array([-d[1], d[0]])
    return float(x), float(y)


def in_pencil(shade: np.ndarray, groups: Sequence[tuple[Sequence[Stroke], float, float]]) -> str:
    """A body sketch: one faint wash within `shade` (n, 2), then strokes in groups of (strokes, opacity, step)."""
    parts = [filled(path(shade, closed=True), PENCIL, 0.1)]
    for strokes, opacity, step in groups:
        parts.append(filled("".join(pen(points, width, step=step) for points, width in strokes), PENCIL, opacity))
    return "".join(parts)


def curve(points: Sequence[Point], step: float = 3.0) -> np.ndarray:
    """Smooth line (n, 2) through the points, a vertex about every `step` units."""
    p = np.asarray(points, float)
    t = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(p, axis=0).T) ** 0.6)])
    fine = CubicSpline(t, p)(np.linspace(0, t[-1], 40 * len(p)))
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(fine, axis=0).T))])
    at = np.linspace(0, run[-1], max(4, int(run[-1] / step) + 1))
    return np.column_stack([np.interp(at, run, fine[:, 0]), np.interp(at, run, fine[:, 1])])


def path(line: np.ndarray, closed: bool = False) -> str:
    """SVG path data of a line (n, 2), in whole tenths of a unit (see `page`) and relative, to be short."""
    tenths = np.round(np.asarray(line) * 10).astype(int)
    steps = np.diff(tenths, axis=0)
    steps = steps[np.any(steps != 0, axis=1)]
    data = "".join(f"{x}" if k == 0 and x < 0 else f" {x}" for row in steps for k, x in enumerate(row))
    return f"M{tenths[0, 0]} {tenths[0, 1]}l{data.strip().replace(' -', '-')}{'z' if closed else ''}"


def drawn(data: str, width: float, colour: str = INK, dash: str = "") -> str:
    """An even line along path data; `width` and `dash` in units."""
    dashes = f' stroke-dasharray="{" ".join(str(round(10 * float(d))) for d in dash.split())}"' if dash else ""
    return f'<path d="{data}" fill="none" stroke="{colour}" stroke-width="{round(width * 10)}"{dashes}/>'


def filled(data: str, colour: str = INK, opacity: float = 1.0) -> str:
    """Filled path data."""
    faint = f' fill-opacity="{opacity:g}"' if opacity < 1 else ""
    return f'<path d="{data}" fill="{colour}"{faint}/>'


def page(title: str, body: str, view: tuple[int, int, int, int] = (0, 0, 240, 320)) -> str:
    """The page as an SVG string: 240 x 320 units, or what of it lies in `view` (x, y, width, height), in tenths."""
    box = " ".join(str(10 * v) for v in view)
    return (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img"><title>{escape(title)}</title>'
            f"{body}</svg>")


def pen(points: Sequence[Point], width: float = 1.8, start: float = 0.15, end: float = 0.1, waver: float = 1.0,
        step: float = 2.6) -> str:
    """Path data of one inked line through the points.

    `width` at its belly, `start` and `end` the share of it at the two tips; `waver` how far the
    hand trembles (the same line always in the same way).
    """
    span = float(np.hypot(*np.diff(np.asarray(points, float), axis=0).T).sum())
    line = curve(points, min(step, span / 22))
    t = np.linspace(0, 1, len(line))
    seed = float(np.sum(line[0]) + line[-1, 1])
    shake = np.sin(11 * t + seed) * 0.6 + np.sin(29 * t + 2.1 * seed) * 0.4
    tip = np.minimum(1, np.minimum(start + (1 - start) * np.sqrt(t * 4), end + (1 - end) * np.sqrt((1 - t) * 3)))
    half = width / 2 * tip * (1 + 0.22 * waver * shake)
    across = _across(line)
    line = line + across * (0.25 * waver * np.sin(7 * t + seed))[:, None]
    return path(np.concatenate([line + across * half[:, None], (line - across * half[:, None])[::-1]]), closed=True)


def _across(line: np.ndarray) -> np.ndarray:
    d = np.gradient(line, axis=0)
    d /= np.maximum(np.hypot(*d.T), 1e-9)[:, None]
    return np.column_stack([-d[:, 1], d[:, 0]])


def ribbon(line: np.ndarray, across: np.ndarray, every: float = 4.0) -> tuple[str, str, str]:
    """A tape along `line` (n, 2), `across` (n, 2) from its middle to one edge at every point.

    Returns path data of its fill, its inked edges and its graduations (every fifth one right
    across, the others a third of the way).
    """
    edges = line + across, line - across
    ring = path(np.concatenate([edges[0], edges[1][::-1]]), closed=True)
    some = np.unique(np.linspace(0, len(line) - 1, 13).astype(int))
    inked = [pen([tuple(p) for p in e[some]], 1.7, 0.8, 0.8, 0.5) for e in edges]
    inked += [pen([tuple(a), tuple((a + b) / 2), tuple(b)], 1.7, 0.9, 0.9, 0.4)
              for a, b in ((edges[0][0], edges[1][0]), (edges[0][-1], edges[1][-1]))]
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    marks = []
    for k, at in enumerate(np.arange(every, run[-1] - 1.0, every)):
        i = int(np.searchsorted(run, at))
        marks.append(path(np.array([line[i] - across[i], line[i] + across[i] * (1.0 if k % 5 == 4 else -0.3)])))
    return ring, "".join(inked), "".join(marks)


def normals(line: np.ndarray, length: float) -> np.ndarray:
    """Vectors (n, 2) of `length` square to a line, to its right as it runs (y down)."""
    return _across(line) * length
