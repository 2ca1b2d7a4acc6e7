"""The pen's path over a bank of cloud: arcs that curl into their own lobe, doubled contours, trails.

Everything in bank coordinates (see `cloud_bank`), mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from composer.filler.cloud_bank import Row, Shape


@dataclass(frozen=True)
class Line:
    """A stroke: centre line (n, 2), width at each vertex in mm, how its two ends finish, the row."""

    path: np.ndarray
    width: np.ndarray
    start: str
    end: str
    row: int


@dataclass(frozen=True)
class Pen:
    """Widths in mm of the outline, the inner and the fine line, and the centre distance that
    keeps the line gap (`pitch_mm`); `least_mm` is the thinnest that a tip may run."""

    outline_mm: float
    line_mm: float
    fine_mm: float
    pitch_mm: float
    least_mm: float


def arc_steps(r: float, angle: float) -> int:
    """Vertices for an arc so that its chords fall at most 0.04 mm short."""
    return max(8, math.ceil(abs(angle) / math.sqrt(0.32 / r)))


@lru_cache(maxsize=512)
def _ramp(count: int) -> np.ndarray:
    """So many shares from 0 to 1, evenly apart."""
    out = np.linspace(0.0, 1.0, count)
    out.flags.writeable = False
    return out


def _arc(x: float, h: float, r: float | np.ndarray, angle: np.ndarray) -> np.ndarray:
    """Points (n, 2) about (x, h) at angles (radians)."""
    out = np.empty((len(angle), 2))
    out[:, 0] = x + r * np.cos(angle)
    out[:, 1] = h + r * np.sin(angle)
    return out


def curl(x: float, h: float, r: float, start: float, leave: float, pitch_mm: float, turns: float = 1.6) -> np.ndarray:
    """A lobe's arc from angle `start` (radians) clockwise to `leave`, then on inwards as a spiral.

    The radius falls evenly once the arc has left the outline (Archimedes), fast enough that the
    spiral clears its own arc by `pitch_mm` when it comes round under it. (n, 2) mm.
    """
    least = 0.62 * pitch_mm
    rate = pitch_mm / 2.6
    swing = min(max((r - least) / rate, 1.0), turns * 2 * math.pi)
    a = start + (leave - swing - start) * _ramp(arc_steps(r, start - leave + 0.85 * swing))
    past = np.maximum(leave - a, 0.0)
    return _arc(x, h, np.maximum(r - rate * past * past / (past + 0.5), 0.9 * least), a)


def crevice(a: np.ndarray | list[float], b: np.ndarray | list[float]) -> float | None:
    """Angle on circle a (x, h, r), radians in (-pi, pi], of its upper crossing with circle b."""
    d = math.hypot(b[0] - a[0], b[1] - a[1])
    if d >= a[2] + b[2] or d <= abs(a[2] - b[2]):
        return None
    base = math.atan2(b[1] - a[1], b[0] - a[0])
    half = math.acos(min(max((a[2] ** 2 + d * d - b[2] ** 2) / (2 * a[2] * d), -1.0), 1.0))
    best = max(base + half, base - half, key=math.sin)
    return math.atan2(math.sin(best), math.cos(best))


def runs(path: np.ndarray, width: np.ndarray, hidden: np.ndarray, row: int, start: str, end: str) -> list[Line]:
    """The visible stretches of a stroke; an end that goes under something is 'tucked'."""
    n = len(path)
    if hidden.any():
        edge = np.flatnonzero(np.diff(hidden)) + 1
        bounds = [0, *edge.tolist(), n]
        spans = [(i, j) for i, j in pairwise(bounds) if not hidden[i]]
    else:
        spans = [(0, n)]
    out = []
    for i, j in spans:
        a, b = max(i - 1, 0), min(j + 1, n)
        step = path[a + 1 : b] - path[a : b - 1]
        if float(np.hypot(step[:, 0], step[:, 1]).sum()) > 2.5:
            out.append(Line(path[a:b], width[a:b], start if i == 0 else "tucked", end if j == n else "tucked", row))
    return out


def bank_lines(shape: Shape, rows: list[Row], pen: Pen, wanted: list[np.ndarray]) -> list[Line]:
    """Strokes of a bank, the crest's first; of the lobes only those that `wanted` marks (a mask a row)."""
    out: list[Line] = []
    for k, row in enumerate(rows):
        width = pen.outline_mm if k == 0 else pen.line_mm
        if len(row.lobes):
            out += _lobes(row, k, rows[k + 1 :], wanted[k], width, pen)
        out += _trail(row, k, rows[k + 1 :], width)
    out.append(_underside(shape, rows[-1], rows[0].top[-1, 0], len(rows) - 1, pen.outline_mm))
    return out


_CROWN = np.linspace(np.radians(150), np.radians(30), 13)


def _lobes(row: Row, k: int, ahead: list[Row], wanted: np.ndarray, width: float, pen: Pen) -> list[Line]:
    """Strokes of a row's lobes, but for those of which most lies under what is in front."""
    crowns = [_arc(x, h, r, _CROWN) for x, h, r in row.lobes[wanted].tolist()]
    if not crowns:
        return []
    of = np.repeat(np.flatnonzero(wanted), len(_CROWN))
    shown = _under(np.concatenate(crowns), of, row, ahead, 0.0).reshape(-1, len(_CROWN)).mean(axis=1) <= 0.72
    lobes = row.lobes.tolist()
    big = int(np.argmax(row.lobes[:, 2]))
    each = [_Lobe(lobes, row.rank, i, bool(ahead), i == big and (k > 0 or not ahead), pen)
            for i in np.flatnonzero(wanted)[shown].tolist()]
    if not each:
        return []
    paths = [lobe.path() for lobe in each]
    count = [len(p) for p in paths]
    hidden = np.split(_under(np.concatenate(paths), np.repeat([lobe.i for lobe in each], count), row, ahead, 0.0),
                      np.cumsum(count)[:-1])
    doubled = [lobe.inner() if lobe.doubled else np.zeros((0, 2)) for lobe in each]
    count = [len(p) for p in doubled]
    below = np.split(_under(np.concatenate(doubled), np.repeat([lobe.i for lobe in each], count), row, ahead,
                            pen.pitch_mm), np.cumsum(count)[:-1])
    out = []
    for lobe, path, gone, inner, lost in zip(each, paths, hidden, doubled, below, strict=True):
        ends = "tucked" if lobe.left_front else "tip", "tucked" if lobe.right_front else "tip"
        out += runs(path, width * lobe.taper(len(path)), gone, k, *ends)
        if lobe.doubled:
            swell = np.sin(np.pi * (0.04 + 0.92 * _ramp(len(inner)))) ** 0.8
            out += runs(inner, pen.fine_mm * 1.3 * swell, lost, k, "tip", "tip")
    return out


def _under(points: np.ndarray, of: np.ndarray, row: Row, ahead: list[Row], grow_mm: float) -> np.ndarray:
    """Which points (n, 2), each of the lobe `of` (n,) of a row, lie under lobes of the row that stand before their
    own, or under rows in front."""
    far = np.hypot(points[:, None, 0] - row.lobes[:, 0], points[:, None, 1] - row.lobes[:, 1])
    lost = ((far < row.lobes[:, 2] + grow_mm) & (row.rank < row.rank[of][:, None])).any(axis=1)
    for front in ahead:
        lost |= front.hides(points, grow_mm)
    return lost


class _Lobe:
    """One lobe of a row as the pen goes round it: lobes (x, h, radius) with their ranks, its place among them;
    whether rows stand before it, and whether it is the largest of a row that has it curl furthest."""

    def __init__(self, lobes: list[list[float]], rank: np.ndarray, i: int, ahead: bool, big: bool, pen: Pen) -> None:
        self.i, self.pen = i, pen
        self.x, self.h, self.r = lobes[i]
        last, pitch = i + 1 == len(lobes), pen.pitch_mm
        left = crevice(lobes[i], lobes[i - 1]) if i else None
        right = None if last else crevice(lobes[i], lobes[i + 1])
        self.left_front = bool(i > 0 and rank[i - 1] < rank[i])
        self.right_front = bool(not last and rank[i + 1] < rank[i])
        start = math.radians(215) if left is None else left % (2 * math.pi)
        start = math.radians(262) if i == 0 and not ahead else start if start > 1.9 else math.pi
        self.leave = math.radians(-10) if right is None or right > 2.4 else right
        self.whisker = self.r > 1.7 * pitch
        self.start = start + (math.radians(26) if self.whisker and i and not self.left_front else 0.0)
        self.curls = not self.right_front and self.r > 1.3 * pitch
        self.turns = 1.5 if big and self.r > 2.2 * pitch else 0.36
        self.doubled = not self.curls and self.r > 1.8 * pitch

    def path(self) -> np.ndarray:
        """The outline (n, 2), from the left round."""
        if self.curls:
            return curl(self.x, self.h, self.r, self.start, self.leave, self.pen.pitch_mm, self.turns)
        stop = self.leave - (math.radians(30) if self.whisker and not self.right_front else 0.0)
        steps = arc_steps(self.r, self.start - stop)
        return _arc(self.x, self.h, self.r, self.start + (stop - self.start) * _ramp(steps))

    def taper(self, count: int) -> np.ndarray:
        """Width along the outline, as a share of the pen's."""
        t, w = _ramp(count), np.ones(count)
        if self.i and not self.left_front and self.whisker:
            w *= np.clip(t / 0.14, 0.15, 1)
        if self.curls:
            w *= np.interp(t, [0, 0.4, 1], [1, 1, 0.3])
        elif not self.right_front:
            w *= np.clip((1 - t) / 0.16, 0.15, 1)
        return w

    def inner(self) -> np.ndarray:
        """The line (n, 2) that doubles the outline, a pitch inside it."""
        half = (self.start - self.leave) / 2 * 0.6
        a = (self.start + self.leave) / 2 + half * (1 - 2 * _ramp(arc_steps(self.r, 2 * half)))
        return _arc(self.x, self.h, self.r - self.pen.pitch_mm, a)


def _trail(row: Row, k: int, ahead: list[Row], width: float) -> list[Line]:
    """The line that closes a row: over the tail's edge, out to a tip."""
    last = row.lobes[-1] if len(row.lobes) else np.array([row.top[0, 0], 0.0, 0.0])
    path = row.top[row.top[:, 0] > last[0]]
    hidden = np.hypot(path[:, 0] - last[0], path[:, 1] - last[1]) < last[2]
    for front in ahead:
        hidden |= front.hides(path)
    return runs(path, width * np.linspace(1, 0.2, len(path)), hidden, k, "tucked", "tip")


def _underside(shape: Shape, front: Row, tip: float, row: int, width: float) -> Line:
    first = front.lobes[0] if len(front.lobes) else np.array([front.top[0, 0] + 2, 1.0, 2.0])
    a = np.radians(262)
    x = np.linspace(first[0] + first[2] * np.cos(a), tip, 90)
    t = np.linspace(0, 1, 90)
    h = (first[1] + first[2] * np.sin(a)) * (1 - t) ** 3 + 0.02 * shape.thick_mm * np.sin(3 * np.pi * t) * (1 - t)
    return Line(np.column_stack([x, h]), width * np.interp(t, [0, 0.6, 1], [1, 0.85, 0.2]), "tucked", "tip", row)
