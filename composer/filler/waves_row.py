"""One row of water, drawn straight: swell lines under it, crests that curl and break on it.

Row coordinates are mm: x along the row towards the side that crests break to, h above the base.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from composer.art.brush import arc_length, resample, spline
from composer.filler.cloud_lines import Line, Pen

BACK = ((-0.16, -0.02), (0.06, 0.02), (0.26, 0.15), (0.43, 0.42), (0.55, 0.71), (0.66, 0.92), (0.77, 1.0))
LIP = ((0.77, 1.0), (0.88, 0.97), (0.97, 0.85), (1.0, 0.68), (0.965, 0.52))
UNDER = ((0.965, 0.52), (0.935, 0.63), (0.865, 0.715), (0.775, 0.68))
FACE = ((0.775, 0.68), (0.715, 0.54), (0.70, 0.38), (0.745, 0.21), (0.86, 0.07), (1.02, 0.0))
CHORD = ((0.965, 0.52), (0.93, 0.40), (0.925, 0.26), (0.98, 0.12), (1.12, 0.0))
"""A breaking wave by control points, in shares of its length and height: its back, the lip to its
tip, the lip's underside, the hollow face down to the trough, and where the face ends in front."""

ROUND = ((-0.16, -0.02), (0.06, 0.02), (0.28, 0.16), (0.45, 0.40), (0.58, 0.56), (0.68, 0.58), (0.78, 0.47),
         (0.92, 0.16), (1.12, 0.0))
"""A wave that does not break."""


@dataclass(frozen=True)
class Look:
    """Pen, distance of rows in mm, darkness and density 0..1."""

    pen: Pen
    row_mm: float
    dark: float
    density: float


@dataclass
class Form:
    """A crest ready to be bent: rings (n, 2) and lines."""

    body: np.ndarray
    lines: list[Line] = field(default_factory=list)
    black: list[np.ndarray] = field(default_factory=list)
    white: list[np.ndarray] = field(default_factory=list)
    drops: list[tuple[np.ndarray, float]] = field(default_factory=list)


@dataclass(frozen=True)
class Crest:
    """One wave of a row: where its back begins, its length and height in mm, whether it breaks."""

    x: float
    length: float
    height: float
    breaks: bool

    def curve(self, points: tuple[tuple[float, float], ...]) -> np.ndarray:
        """A curve of the wave, smooth, vertices about half a millimetre apart."""
        return spline(np.array(points) * (self.length, self.height) + (self.x, 0.0), step_mm=1.2)

    def form(self, look: Look) -> Form:
        """The crest with foam, stripes and black."""
        return breaking(self, look) if self.breaks else rolling(self, look)


def ramp(path: np.ndarray, width: float, at: tuple[float, ...], share: tuple[float, ...]) -> np.ndarray:
    """Widths along a path: `share` of `width` at the shares `at` of its length."""
    t = arc_length(path)
    return width * np.interp(t / max(t[-1], 1e-9), at, share)


def rolling(c: Crest, look: Look) -> Form:
    """A crest that does not break: its outline and lines that follow its back."""
    top = c.curve(ROUND)
    low = np.array([[top[-1, 0], -0.1 * c.height], [top[0, 0], -0.1 * c.height]])
    pen = look.pen
    lines = [Line(top, ramp(top, pen.outline_mm, (0, 0.3, 0.7, 1), (0.3, 1, 1, 0.3)), "tip", "tip", 0)]
    n = int(0.52 * c.height / pen.pitch_mm)
    for k in range(1, n):
        inner = (top - (c.x + 0.62 * c.length, 0)) * (1 - 0.62 * k / n, 1) + (c.x + 0.62 * c.length - 0.2 * k, 0)
        inner = inner * (1, 1) - (0, k * pen.pitch_mm)
        inner = inner[inner[:, 1] > 0.1 * c.height]
        if len(inner) > 6:
            lines.append(Line(inner, ramp(inner, pen.line_mm, (0, 0.5, 1), (0.3, 1, 0.3)), "tip", "tip", 0))
    return Form(np.vstack([top, low]), lines)


def breaking(c: Crest, look: Look) -> Form:
    """A crest that curls over."""
    pen = look.pen
    back, lip, under, face, chord = (c.curve(p) for p in (BACK, LIP, UNDER, FACE, CHORD))
    low = np.array([[chord[-1, 0], -0.1 * c.height], [back[0, 0], -0.1 * c.height]])
    form = Form(np.vstack([back, lip[1:], chord[1:], low]))
    form.lines.append(Line(back, ramp(back, pen.outline_mm, (0, 0.4, 1), (0.3, 1, 1)), "tip", "tucked", 0))
    form.lines.append(Line(face, ramp(face, pen.outline_mm, (0, 0.5, 1), (1, 0.9, 0.3)), "tucked", "tip", 0))
    hollow(form, c, under, face, chord, look)
    fan(form, back[int(0.16 * len(back)) : int(0.9 * len(back))], face[::-1], look)
    if c.height > 6.5 * pen.pitch_mm:
        for x, h, r in ((1.08, 0.98, 0.95), (1.03, 1.16, 0.65)):
            form.drops.append((np.array([c.x + x * c.length, h * c.height]), r * pen.outline_mm))
    foam(form, c, np.vstack([back[int(0.74 * len(back)) :], lip[1:]]), look)
    return form


def hollow(form: Form, c: Crest, under: np.ndarray, face: np.ndarray, chord: np.ndarray, look: Look) -> None:
    """Black under the lip, running out down the face in spikes."""
    pen = look.pen
    inner = np.vstack([under, face[1:]])
    n = 60
    a, b = resample(inner, arc_length(inner)[-1] / n), resample(chord, arc_length(chord)[-1] / n)
    m = min(len(a), len(b))
    a, b = a[:m], b[:m]
    t = np.linspace(0, 1, m)[:, None]
    deep = 0.35 + 0.4 * look.dark
    edge = a + (b - a) * np.clip(1.15 - t / deep, 0, 1) ** 0.8 * 0.98
    stop = int(m * min(deep * 1.15, 0.95))
    form.black.append(np.vstack([a[:stop], edge[:stop][::-1]]))
    for share in (0.5, 0.95):
        line = (a + (b - a) * share)[int(0.30 * m) : int((0.92 - 0.1 * share) * m)]
        if float(np.hypot(*(b[m // 2] - a[m // 2]))) * 0.5 > pen.pitch_mm or share > 0.9:
            width = ramp(line, pen.outline_mm * 1.3, (0, 0.3, 1), (1, 0.9, 0.3))
            form.lines.append(Line(line, width, "tucked", "tip", 0))


def fan(form: Form, back: np.ndarray, face: np.ndarray, look: Look) -> None:
    """Stripes between the back and the face, from the base up; where they close up every other one
    ends."""
    pen, m = look.pen, 48
    b = resample(back, arc_length(back)[-1] / (m - 1))[:m]
    f = resample(face, arc_length(face)[-1] / (m - 1))[:m]
    m = min(len(b), len(f))
    b, f = b[:m], f[:m]
    wide = np.hypot(*(f - b).T)
    n = max(1, int(wide[3] / (pen.pitch_mm * (1.9 - 0.6 * look.density))))
    n = 1 << max(0, int(np.floor(np.log2(n)))) if n < 4 else n
    for j in range(1, n):
        level = (j & -j)
        room = wide * min(level, n - j, j) / n if level > 1 else wide / n
        ok = room > pen.pitch_mm * 1.02
        top = int(np.argmin(ok)) if not ok.all() else m
        start = 2 + (j % 2) * 3
        if top - start < 10:
            continue
        line = (b + (f - b) * j / n)[start:top]
        form.lines.append(Line(line, ramp(line, pen.line_mm * 1.15, (0, 0.35, 1), (0.4, 1, 0.3)), "tip", "tip", 0))


def foam(form: Form, c: Crest, over: np.ndarray, look: Look) -> None:
    """The broken lip: lobes along its top, claws over its front, fingers that hang into the hollow."""
    least = 0.5 * (look.pen.pitch_mm + 0.2)
    r0 = max(0.088 * c.height, least)
    over = resample(over, 0.5)
    s = arc_length(over)
    t = np.gradient(over, axis=0)
    t /= np.hypot(t[:, 0], t[:, 1])[:, None]
    inward = np.column_stack([t[:, 1], -t[:, 0]])
    share = s / s[-1]
    band = 1.75 * r0 * np.clip((share - 0.08) / 0.3, 0, 1) ** 0.7 * np.clip(1.35 - 0.5 * share, 0, 1)
    form.white.append(np.vstack([over, (over + inward * band[:, None])[::-1]]))
    along, j = 0.2 * s[-1], 0
    while along < s[-1]:
        i = min(int(np.searchsorted(s, along)), len(s) - 1)
        r = max(r0 * (1.2, 0.8, 1.0)[j % 3] * (0.62 + 0.45 * share[i]), least)
        if share[i] < 0.5 or c.height < 11 * least:
            form.white.append(over[i] + inward[i] * 0.5 * r + r * RING)
        else:
            form.white.append(finger(over[i] + inward[i] * 1.2 * r, t[i] * 0.75 - inward[i], 2.1 * r, 0.92 * r, 1.0))
        along += 1.7 * r
        j += 1
    n = int(np.clip(0.62 * s[-1] / (2.4 * r0 + 0.5), 2, 5))
    at = (0.36 + 0.62 * (np.arange(n) + 0.3) / n) * (len(over) - 1)
    roots = (over + inward * band[:, None])[at.astype(int)]
    apart = np.hypot(*np.diff(roots, axis=0).T)
    root = MEET * np.maximum(np.append(apart, 0.0), np.append(0.0, apart))
    for k, i in enumerate(at.astype(int)):
        turn = np.radians(268 - 66 * (k + 0.5) / n)
        way = np.array([np.cos(turn), np.sin(turn)])
        long = r0 * (2.6, 1.7, 2.2)[k % 3]
        half = max(0.74 * r0, least)
        form.white.append(finger(over[i] + inward[i] * band[i] * 0.95, way, long, half, -0.55, root[k]))


MEET, SPLAY = 0.58, 0.75
"""Fingers begin so wide (half), as a share of their distance, that they meet; over what share of its length one
narrows from its root."""
_TURN = np.linspace(0, 2 * np.pi, 20, endpoint=False)
RING = np.column_stack([np.cos(_TURN), np.sin(_TURN)])


def finger(at: np.ndarray, way: np.ndarray, length: float, half: float, hook: float,
           root: float = 0.0) -> np.ndarray:
    """A finger of foam from `at` towards `way`, bent by `hook` to the right: ring (n, 2). `root`: how wide (half) it
    begins, if that is more: two that meet at their roots leave the black between them a point."""
    way = way / np.hypot(*way)
    side = np.array([way[1], -way[0]])
    u = np.linspace(0, 1, 8)[:, None]
    line = at + way * length * u + side * 0.5 * hook * length * u**2
    w = half * (1.0 - 0.15 * u) + max(root - half, 0.0) * np.clip(1 - u / SPLAY, 0, 1) ** 1.5
    tt = np.gradient(line, axis=0)
    tt /= np.hypot(tt[:, 0], tt[:, 1])[:, None]
    nn = np.column_stack([-tt[:, 1], tt[:, 0]])
    a = np.linspace(np.pi / 2, -np.pi / 2, 7)[1:-1, None]
    cap = line[-1] + w[-1] * (np.sin(a) * nn[-1] + np.cos(a) * tt[-1])
    return np.vstack([line + nn * w, cap, (line - nn * w)[::-1]])


def straight_row(crests: list[Crest], length: float, look: Look) -> np.ndarray:
    """Ring of the water under a row's crests, down behind the row before it."""
    x = np.arange(0, length + 2, 2.0)
    return np.vstack([np.column_stack([x, heave(crests, x)]), [[length, -1.6 * look.row_mm], [0, -1.6 * look.row_mm]]])


def heave(crests: list[Crest], x: np.ndarray) -> np.ndarray:
    """How far the water is lifted at x under the crests (mm), sinking into the troughs between."""
    at = np.array([c.x + 0.78 * c.length for c in crests])
    turn = np.interp(x, at, np.arange(len(at)) * 2 * np.pi)
    return 0.14 * np.interp(x, at, [c.height for c in crests]) * np.cos(turn)


def row_lines(crests: list[Crest], length: float, look: Look, rng: np.random.Generator) -> list[Line]:
    """Long swell lines under the crests, that rise and sink with them, less and less with depth."""
    pen = look.pen
    out = []
    x = np.arange(0, length, 1.2)
    lift = heave(crests, x)
    n = int(1.1 * look.row_mm / pen.pitch_mm)
    for k in range(1, n + 1):
        raised = np.where(lift > 0, lift * max(0.2, 1 - 0.1 * k), lift)
        h = raised - (k - 0.35) * pen.pitch_mm * (1.65 - 0.5 * look.density)
        at = float(rng.uniform(-1, 0)) * 30
        while at < length:
            run = float(rng.uniform(1.0, 1.8)) * 2.0 * look.row_mm + 10
            m = (x >= at) & (x <= at + run)
            if m.sum() > 6:
                p = np.column_stack([x[m], h[m]])
                out.append(Line(p, ramp(p, pen.outline_mm, (0, 0.45, 1), (0.3, 1.1, 0.3)), "tip", "tip", 0))
            at += run + 5.0
    return out
