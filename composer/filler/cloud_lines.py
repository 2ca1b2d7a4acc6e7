"""The pen's path over a bank of cloud: arcs that curl into their own lobe, doubled contours, trails.

Everything in bank coordinates (see `cloud_bank`), mm.
"""

from __future__ import annotations

from dataclasses import dataclass

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
    return max(8, int(np.ceil(abs(angle) / np.sqrt(0.32 / r))))


def curl(x: float, h: float, r: float, start: float, leave: float, pitch_mm: float, turns: float = 1.6) -> np.ndarray:
    """A lobe's arc from angle `start` (radians) clockwise to `leave`, then on inwards as a spiral.

    The radius falls evenly once the arc has left the outline (Archimedes), fast enough that the
    spiral clears its own arc by `pitch_mm` when it comes round under it. (n, 2) mm.
    """
    least = 0.62 * pitch_mm
    rate = pitch_mm / 2.6
    swing = min(max((r - least) / rate, 1.0), turns * 2 * np.pi)
    a = np.linspace(start, leave - swing, arc_steps(r, start - leave + 0.85 * swing))
    past = np.maximum(leave - a, 0.0)
    rho = np.maximum(r - rate * past * past / (past + 0.5), 0.9 * least)
    return np.column_stack([x + rho * np.cos(a), h + rho * np.sin(a)])


def crevice(a: np.ndarray, b: np.ndarray) -> float | None:
    """Angle on circle a (x, h, r), radians in (-pi, pi], of its upper crossing with circle b."""
    d = float(np.hypot(b[0] - a[0], b[1] - a[1]))
    if d >= a[2] + b[2] or d <= abs(a[2] - b[2]):
        return None
    base = np.arctan2(b[1] - a[1], b[0] - a[0])
    half = np.arccos(np.clip((a[2] ** 2 + d * d - b[2] ** 2) / (2 * a[2] * d), -1, 1))
    best = max(base + half, base - half, key=np.sin)
    return float(np.angle(np.exp(1j * best)))


def runs(path: np.ndarray, width: np.ndarray, hidden: np.ndarray, row: int, start: str, end: str) -> list[Line]:
    """The visible stretches of a stroke; an end that goes under something is 'tucked'."""
    edge = np.diff(np.concatenate([[0], (~hidden).astype(int), [0]]))
    out = []
    for i, j in zip(np.flatnonzero(edge == 1), np.flatnonzero(edge == -1), strict=True):
        a, b = max(i - 1, 0), min(j + 1, len(path))
        if float(np.hypot(*np.diff(path[a:b], axis=0).T).sum()) > 2.5:
            ends = (start if i == 0 else "tucked", end if j == len(path) else "tucked")
            out.append(Line(path[a:b], width[a:b], *ends, row))
    return out


def bank_lines(shape: Shape, rows: list[Row], pen: Pen, wanted: list[np.ndarray]) -> list[Line]:
    """Strokes of a bank, the crest's first; of the lobes only those that `wanted` marks (a mask a row)."""
    out: list[Line] = []
    for k, row in enumerate(rows):
        width = pen.outline_mm if k == 0 else pen.line_mm
        for i in np.flatnonzero(wanted[k]).tolist():
            out += _lobe(row, i, k, rows[k + 1 :], width, pen)
        out += _trail(row, k, rows[k + 1 :], width)
    out.append(_underside(shape, rows[-1], rows[0].top[-1, 0], len(rows) - 1, pen.outline_mm))
    return out


def _lobe(row: Row, i: int, k: int, ahead: list[Row], width: float, pen: Pen) -> list[Line]:
    x, h, r = row.lobes[i]
    m, pitch, rank = len(row.lobes), pen.pitch_mm, row.rank
    left = crevice(row.lobes[i], row.lobes[i - 1]) if i else None
    right = crevice(row.lobes[i], row.lobes[i + 1]) if i + 1 < m else None
    left_front = i > 0 and rank[i - 1] < rank[i]
    right_front = i + 1 < m and rank[i + 1] < rank[i]
    start = np.radians(215) if left is None else left % (2 * np.pi)
    start = np.radians(262) if i == 0 and not ahead else start if start > 1.9 else np.pi
    leave = np.radians(-10) if right is None or right > 2.4 else right
    whisker = r > 1.7 * pitch
    start += np.radians(26) if whisker and i and not left_front else 0.0
    curls = not right_front and r > 1.3 * pitch
    big = int(np.argmax(row.lobes[:, 2])) if r > 2.2 * pitch and (k or not ahead) else -1
    if curls:
        path = curl(x, h, r, start, leave, pitch, 1.5 if i == big else 0.36)
    else:
        stop = leave - (np.radians(30) if whisker and not right_front else 0.0)
        a = np.linspace(start, stop, arc_steps(r, start - stop))
        path = np.column_stack([x + r * np.cos(a), h + r * np.sin(a)])
    others = row.lobes[rank < rank[i]]

    def under(p: np.ndarray, grow: float) -> np.ndarray:
        far = np.hypot(p[:, None, 0] - others[:, 0], p[:, None, 1] - others[:, 1])
        lost = (far < others[:, 2] + grow).any(axis=1)
        for front in ahead:
            lost |= front.hides(p, grow)
        return lost

    hidden = under(path, 0.0)
    arc = np.linspace(np.radians(150), np.radians(30), 13)
    if under(np.column_stack([x + r * np.cos(arc), h + r * np.sin(arc)]), 0.0).mean() > 0.72:
        return []
    t = np.linspace(0, 1, len(path))
    w = np.full(len(path), width)
    if i and not left_front and whisker:
        w *= np.clip(t / 0.14, 0.15, 1)
    w *= np.interp(t, [0, 0.4, 1], [1, 1, 0.3]) if curls else np.clip((1 - t) / 0.16, 0.15, 1) if not right_front else 1
    out = runs(path, w, hidden, k, "tip" if not left_front else "tucked", "tip" if not right_front else "tucked")
    if not curls and r > 1.8 * pitch:
        mid, half = (start + leave) / 2, (start - leave) / 2 * 0.6
        a = np.linspace(mid + half, mid - half, arc_steps(r, 2 * half))
        inner = np.column_stack([x + (r - pitch) * np.cos(a), h + (r - pitch) * np.sin(a)])
        s = np.sin(np.pi * np.linspace(0.04, 0.96, len(inner))) ** 0.8
        out += runs(inner, pen.fine_mm * 1.3 * s, under(inner, pitch), k, "tip", "tip")
    return out


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
