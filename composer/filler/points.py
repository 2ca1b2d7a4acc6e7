"""Tips that are tips in ink: where a needle can go no finer, a stroke has to come from something wider.

A stroke whose width is reckoned down to nothing is drawn no finer than the needle, so its last stretch
runs at one width and ends blunt. Here that stretch is left away and the stroke swells from its tip on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from composer.art.brush import arc_length
from composer.filler.cloud_lines import Line

RISE = 0.4
"""How fast a stroke swells behind its tip at the least, in needle widths a mm."""
OVER_MM = 3.0
"""Over what length it swells."""
EASE_MM = 9.0
"""Over what length after that a fine stroke falls back to its own width."""
KNOTS_MM = np.array([0.5, 1.2, 2.2, OVER_MM])
SHORT_MM = 2.5
"""A stroke that is shorter once its hairs are gone is left away."""


def pointed(lines: Sequence[Line], least_mm: float) -> list[Line]:
    """Strokes with hairs thinner than `least_mm` cut from their tips, each tip coming from a width that the
    needle can thin out. Ends that are tucked or balls stay."""
    out = []
    for line in lines:
        if "tip" not in (line.start, line.end):
            out.append(line)
            continue
        s = arc_length(line.path)
        a = s[0] if line.start != "tip" else _reaches(s, line.width, least_mm)
        b = s[-1] if line.end != "tip" else s[-1] - _reaches(s[-1] - s[::-1], line.width[::-1], least_mm)
        if b - a < SHORT_MM:
            a, b = s[0], s[-1]
        if b - a < SHORT_MM:
            continue
        knots = [s[(s > a) & (s < b)], (a, b)]
        knots += [a + KNOTS_MM] if line.start == "tip" else []
        knots += [b - KNOTS_MM] if line.end == "tip" else []
        t = np.unique(np.concatenate(knots))
        t = t[(t >= a) & (t <= b)]
        back = np.full(len(t), np.inf)
        if line.start == "tip":
            back = np.minimum(back, t - a)
        if line.end == "tip":
            back = np.minimum(back, b - t)
        path = np.column_stack([np.interp(t, s, line.path[:, k]) for k in (0, 1)])
        swell = RISE * np.minimum(back, OVER_MM) * np.clip(1 - (back - OVER_MM) / EASE_MM, 0, 1)
        width = np.maximum(np.interp(t, s, line.width), least_mm * (1 + swell))
        width = np.minimum(width, least_mm * (1 + 1.1 * back))
        width[back == 0] = np.minimum(least_mm, line.width[[0, -1]].min())
        out.append(replace(line, path=path, width=width))
    return out


def _reaches(s: np.ndarray, width: np.ndarray, least_mm: float) -> float:
    """How far from its end (s 0) a stroke is as wide as the needle; 0 where it nowhere is."""
    wide = np.flatnonzero(width >= least_mm)
    if not len(wide) or wide[0] == 0:
        return 0.0
    i = int(wide[0])
    share = (least_mm - width[i - 1]) / max(width[i] - width[i - 1], 1e-9)
    return float(s[i - 1] + share * (s[i] - s[i - 1]))
