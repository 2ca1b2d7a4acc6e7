"""The pen's way over a bank of cloud: lobes that run on inwards as hooks and curls, echoes, lines of flow.

Everything in bank coordinates (see `cloud_crest`), mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from composer.filler.cloud_crest import Crest, arc_steps


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


LEAST_RUN_MM = 2.5
"""Shorter stretches of a stroke are left away."""


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
        if float(np.hypot(step[:, 0], step[:, 1]).sum()) > LEAST_RUN_MM:
            out.append(Line(path[a:b], width[a:b], start if i == 0 else "tucked", end if j == n else "tucked", row))
    return out


CURL_DEG, HOOK_DEG, WIDE_HOOK_DEG, WHISKER_DEG = 330.0, 72.0, 96.0, 32.0
"""How far a lobe's line runs on inwards: as a curl, as a hook in a small and in a large lobe, at its other side."""
CURLS = 2
"""So many of a bank's largest lobes curl, and the nose where it is large."""
TIP = 0.55
"""Width of the two lines that run into a bank's tip there, as a share of the outline's, so that they end in one."""
FLOWS = ((0.34, 0.40), (0.46, 0.18))
"""Lines of flow within the body: where each begins, as a share of the length, and how high, of the thickness."""


def bank_lines(bank: Crest, pen: Pen) -> list[Line]:
    """Strokes of a bank from the nose on, then its tail, its underside and what flows within."""
    return contour(bank, pen, True) + _flows(bank, pen)


def contour(bank: Crest, pen: Pen, echoed: bool = False) -> list[Line]:
    """A bank's outline from the nose on, with its hooks and curls, then its tail and underside. `echoed`: large lobes
    doubled by a fine line."""
    pitch, out = pen.pitch_mm, []
    for i, (swing, before, curled, chosen) in enumerate(lobe_ways(bank, pen)):
        r = bank.lobes[i][2]
        out.append(_lobe(bank, i, swing, before, curled, pen))
        if echoed and r > 2.5 * pitch and not (chosen and swing):
            out.append(_echo(bank, i, pen))
    for path in (bank.tail, bank.under[::-1]):
        out.append(Line(path, foot_widths(np.linspace(0, 1, len(path)), pen), "tucked", "tip", 0))
    return out


def lobe_ways(bank: Crest, pen: Pen) -> list[tuple[float, bool, bool, bool]]:
    """Of each lobe from the nose on how far (radians) its line may run on inwards, 0 where it stands behind the next
    one; whether it runs in at its other side too; whether it curls, and whether it would if there were room."""
    lobes, pitch, last = bank.lobes, pen.pitch_mm, len(bank.lobes) - 1
    order = sorted(range(len(lobes)), key=lambda i: -lobes[i][2])
    rank = {i: k for k, i in enumerate(order)}
    curls = {*order[:CURLS], *([0] if lobes[0][2] > 1.6 * pitch else [])}
    out = []
    for i, r in enumerate(lobe[2] for lobe in lobes):
        ahead = i < last and rank[i] < rank[i + 1]        # it stands before the next one, and runs on into the body
        curled = ahead and i in curls and r > 1.9 * pitch
        most = math.radians(CURL_DEG if curled else WIDE_HOOK_DEG if r > 2 * pitch else HOOK_DEG)
        out.append((most if ahead else 0.0, i > 0 and rank[i] < rank[i - 1], curled, i in curls))
    return out


def foot_widths(share: np.ndarray, pen: Pen) -> np.ndarray:
    """Widths (n,) of the tail and the underside at shares (n,) of the way to the tip."""
    return pen.outline_mm * np.interp(share, [0, 0.45, 1], [1, 0.87, TIP])


SOFT, HOLLOW = 0.45, 0.36
"""Over what angle (radians) a line leaves its circle, and how near to the middle it comes at the least, in pitches."""


def fall(r: float, swing: float, pitch_mm: float, curled: bool) -> tuple[float, float]:
    """How far (radians) a lobe's line runs on inwards where it may as far as `swing`, and by how much it falls in on
    the way, mm a radian."""
    rate = pitch_mm / (1.9 if curled else 2.4)
    return min(swing, max((r - 0.42 * pitch_mm) / rate + 0.35, 0.6)), rate


def inwards(r: float, swing: float, pitch_mm: float, curled: bool) -> tuple[np.ndarray, np.ndarray]:
    """How a lobe's line runs on into it: angles past the crevice (n,) up to `swing` radians and the radius at each.

    It leaves its circle softly and then falls in evenly (Archimedes), a curl fast enough that it ends open.
    """
    swing, rate = fall(r, swing, pitch_mm, curled)
    past = np.linspace(0, swing, arc_steps(r, 0.8 * swing))[1:]
    return past, np.maximum(r - rate * past * past / (past + SOFT), HOLLOW * pitch_mm)


def whisker_steps(r: float) -> int:
    """Places of the line at a lobe's other side, the one on its circle among them."""
    return max(6, arc_steps(r, math.radians(WHISKER_DEG)))


def _lobe(bank: Crest, i: int, swing: float, before: bool, curled: bool, pen: Pen) -> Line:
    """One lobe's line, clockwise."""
    (x, h, r), (start, end), w = bank.lobes[i], bank.arcs[i], pen.outline_mm
    a = np.linspace(start, end, arc_steps(r, start - end))
    parts = [(a, np.full(len(a), r), np.full(len(a), w))]
    if swing:
        past, radius = inwards(r, swing, pen.pitch_mm, curled)
        parts.append((end - past, radius, w * np.interp(past / past[-1], [0, 0.5, 1], [1, 0.8, 0.25])))
    if before:
        back = np.linspace(1, 0, whisker_steps(r))[:-1]
        parts.insert(0, (start + math.radians(WHISKER_DEG) * back, r * (1 - 0.12 * back ** 2), w * (1 - 0.8 * back)))
    angle, radius, width = (np.concatenate(p) for p in zip(*parts, strict=True))
    path = np.column_stack([x + radius * np.cos(angle), h + radius * np.sin(angle)])
    return Line(path, width, "tip" if before else "tucked", "tip" if swing else "tucked", 0)


def _echo(bank: Crest, i: int, pen: Pen) -> Line:
    """The fine line that doubles a large lobe, a pitch within it."""
    (x, h, r), (start, end) = bank.lobes[i], bank.arcs[i]
    half, middle, r = 0.36 * (start - end), (start + end) / 2 + 0.1, r - 1.02 * pen.pitch_mm
    a = np.linspace(middle + half, middle - half, arc_steps(r, 2 * half))
    swell = np.sin(np.pi * np.linspace(0.03, 0.97, len(a))) ** 0.8
    return Line(np.column_stack([x + r * np.cos(a), h + r * np.sin(a)]), 1.35 * pen.fine_mm * swell, "tip", "tip", 0)


def _flows(bank: Crest, pen: Pen) -> list[Line]:
    """Lines within the body that sink towards the tail, where they have room on both sides."""
    out, tip, pitch = [], bank.tail[-1, 0], pen.pitch_mm
    for begin, high in FLOWS:
        first = begin * bank.shape.length_mm
        x = np.linspace(first, tip, 60)
        h = high * bank.shape.thick_mm * ((tip - x) / (tip - first)) ** 1.5
        above = bank.roof(x) - h
        room = (h > 1.1 * pitch) & (above > 1.15 * pitch)
        if not room.any():
            continue
        b = len(x) - 1 - int(np.argmax(room[::-1]))
        a = b - int(np.argmin(room[b::-1])) + 1 if not room[: b + 1].all() else 0
        if x[b] - x[a] < 3.2 * pitch:
            continue
        share = np.linspace(0, 1, b - a + 1)
        swell = np.sin(np.pi * (0.03 + 0.94 * share ** 0.8)) ** 0.7
        out.append(Line(np.column_stack([x[a : b + 1], h[a : b + 1]]), 1.6 * pen.fine_mm * swell, "tip", "tip", 0))
    return out
