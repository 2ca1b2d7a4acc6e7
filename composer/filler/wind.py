"""Wind: long bars that follow the flow, evenly spaced, all heads one way; the hand-over between clouds.

Streamlines keep a distance from each other as in Jobard and Lefer, 'Creating evenly-spaced
streamlines of arbitrary density' (1997); among all that still fit, the longest is laid first.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import resample
from composer.art.drawing import Drawing, End, Layer
from composer.filler.closing import closed, sound
from composer.filler.cloud import pen_of
from composer.filler.cloud_ink import on_grid, ribbons
from composer.filler.cloud_lay import STEP, Field
from composer.filler.cloud_lines import Line, Pen
from composer.filler.cloud_stage import Stage, stage_of
from composer.filler.ground import Ground, Wish
from composer.filler.points import off_the_edge, pointed
from composer.plan.model import Hand

STYLES = {"bars": "Wind, long bars", "streamers": "Wind, curling streamers", "sweep": "Wind, broad sweep"}
CLEAR_MM, ALONG_MM, GRAZE_MM, LEAST_MM = 1.9, 1.3, 6.0, 14.0
"""Bars end so far from the edge of the open skin, or run on behind what lies in front; what stays nearer than the
second for longer than the third runs along it; the shortest bar."""
_APART = {"bars": 9.0, "streamers": 12.0, "sweep": 15.0}
_LONG = {"bars": 170.0, "streamers": 130.0, "sweep": 190.0}


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "bars") -> Drawing | None:
    """Wind over the ground, unclipped. None where no bar of 14 mm finds room."""
    stage = stage_of(ground, wish)
    pen = pen_of(hand, wish, ground.line_gap_mm)
    apart = max(_APART[style] * wish.size * (1.35 - 0.58 * wish.density), 2.4 * pen.pitch_mm)
    field = Field(ground, ground.free)
    way = 1.0 if rng.uniform() < 0.5 else -1.0
    paths = streamlines(field, stage, ground, apart, _LONG[style] * wish.size, rng)
    if not paths:
        return None
    cut = [part for p in paths for part in clear_of(p, ground)]
    if not cut:
        return None
    bars = [Bar(p if way > 0 else p[::-1], apart, style, rng) for p in cut]
    return ink(bars, stage, pen, hand, ground, wish)


def clear_of(path: np.ndarray, ground: Ground) -> list[np.ndarray]:
    """A bar's path (n, 2) in parts, without stretches that run along the edge of the open skin, and without ends that
    would come to lie just before it. A part shorter than LEAST_MM is left away."""
    far = shapely.distance(ground.free.boundary, shapely.points(path))
    shown = shapely.contains_xy(ground.free, path[:, 0], path[:, 1])
    turns = np.flatnonzero(np.diff(np.concatenate([[0], (far < ALONG_MM).astype(int), [0]]))).reshape(-1, 2)
    gone = np.zeros(len(path), bool)
    for i, j in turns:
        gone[i:j] = (j - i) * STEP > GRAZE_MM
    out = []
    for i, j in np.flatnonzero(np.diff(np.concatenate([[0], (~gone).astype(int), [0]]))).reshape(-1, 2):
        while j - i > 2 and shown[i] and far[i] < CLEAR_MM:
            i += 1
        while j - i > 2 and shown[j - 1] and far[j - 1] < CLEAR_MM:
            j -= 1
        if (j - i) * STEP >= LEAST_MM:
            out.append(path[i:j])
    return out


OPEN = 0.98
"""A streamer's two edges stay so many pitches apart."""


def streamlines(field: Field, stage: Stage, ground: Ground, apart: float, longest_mm: float,
                rng: np.random.Generator) -> list[np.ndarray]:
    """Evenly spaced streamlines (n, 2), STEP apart, the longest first, each seen somewhere."""
    x0, y0, x1, y1 = stage.target.bounds
    gx, gy = np.meshgrid(np.arange(x0, x1 + apart, apart * 0.7), np.arange(y0, y1 + apart, apart * 0.7))
    seeds = np.column_stack([gx.ravel(), gy.ravel()]) + rng.uniform(-0.3, 0.3, (gx.size, 2)) * apart
    seeds = seeds[shapely.contains_xy(stage.target, seeds[:, 0], seeds[:, 1])]
    if not len(seeds):
        return []
    half = longest_mm / 2
    back, on = field.trace(seeds, -1.0, half, 45.0), field.trace(seeds, 1.0, half, 45.0)
    lines = np.concatenate([back[:, :0:-1], on], axis=1)
    m, n, _ = lines.shape
    flat = lines.reshape(-1, 2)
    home = shapely.difference(shapely.intersection(ground.region, stage.room), shapely.buffer(ground.edge, 1.5))
    shapely.prepare(home)
    ok = shapely.contains_xy(home, flat[:, 0], flat[:, 1]).reshape(m, n)
    view = shapely.contains_xy(ground.free, flat[:, 0], flat[:, 1]).reshape(m, n)
    most = longest_mm * rng.uniform(0.55, 1.0, m)
    out = pulled(ground, home)
    for line in out:
        ok &= _far_from(flat, line, apart).reshape(m, n)
    while len(out) < 80:
        first, last = _runs(ok, n // 2)
        cap = (most / STEP / 2).astype(int)
        first, last = np.maximum(first, n // 2 - cap), np.minimum(last, n // 2 + cap)
        at = np.arange(n)
        span = (at >= first[:, None]) & (at <= last[:, None])
        worth = (span & view).sum(axis=1) + 0.25 * (last - first)
        worth = np.where(ok[:, n // 2], worth, 0)
        i = int(np.argmax(worth))
        if (last[i] - first[i]) * STEP < LEAST_MM or (span[i] & view[i]).sum() * STEP < 8.0:
            break
        line = lines[i, first[i] : last[i] + 1]
        out.append(line)
        ok &= _far_from(flat, line, apart).reshape(m, n)
    return out


def _far_from(at: np.ndarray, line: np.ndarray, apart: float) -> np.ndarray:
    """Which places (k, 2) lie farther than `apart` from a streamline."""
    return ((at[:, None, :] - line[None, ::2, :]) ** 2).sum(axis=2).min(axis=1) > apart * apart


def pulled(ground: Ground, home: BaseGeometry) -> list[np.ndarray]:
    """The line that the artist pulled the filler along as the first streamline: what of it lies in `home`, the
    longest stretch."""
    if len(ground.spine) < 2:
        return []
    line = resample(np.array(ground.spine), STEP)
    ok = shapely.contains_xy(home, line[:, 0], line[:, 1])
    cut = np.flatnonzero(np.diff(np.concatenate([[0], ok.astype(int), [0]]))).reshape(-1, 2)
    first, last = max(cut, key=lambda r: r[1] - r[0], default=(0, 0))
    return [line[first:last]] if (last - first) * STEP >= LEAST_MM else []


def _runs(ok: np.ndarray, middle: int) -> tuple[np.ndarray, np.ndarray]:
    """First and last index of the unbroken run through the middle of each row."""
    left = np.argmax(~ok[:, middle::-1], axis=1)
    left = np.where(ok[:, middle::-1].all(axis=1), middle + 1, left)
    right = np.argmax(~ok[:, middle:], axis=1)
    right = np.where(ok[:, middle:].all(axis=1), ok.shape[1] - middle, right)
    return middle - np.maximum(left - 1, 0), middle + np.maximum(right - 1, 0)


FULLEST, RISE = 0.27, 0.42
"""A bar is fullest after so much of its length; how it swells from its head to there, to fall again without a break."""


class Bar:
    """One bar of wind: its head is where the path begins."""

    def __init__(self, path: np.ndarray, apart: float, style: str, rng: np.random.Generator) -> None:
        self.path, self.apart, self.style = path, apart, style
        t = np.linspace(0, 1, len(path))
        tangent = np.gradient(path, axis=0)
        tangent /= np.maximum(np.hypot(tangent[:, 0], tangent[:, 1]), 1e-9)[:, None]
        self.side = np.column_stack([-tangent[:, 1], tangent[:, 0]])
        if self.side[:, 1].mean() < 0:
            self.side = -self.side
        self.tangent = tangent
        length = len(path) * STEP
        belly = min(0.5 * apart, 0.09 * length) * float(rng.uniform(0.75, 1.0))
        self.width = belly * (t / FULLEST) ** RISE * ((1 - t) / (1 - FULLEST)) ** (RISE * (1 - FULLEST) / FULLEST)

    @property
    def upper(self) -> np.ndarray:
        """The edge that bellies out, from head to tail."""
        return self.path + self.side * self.width[:, None]

    def body(self) -> BaseGeometry:
        """The bar as an area: the path below, the belly above."""
        return shapely.union_all(sound(Polygon(np.vstack([self.path, self.upper[::-1]]))))

    def shade(self, share: float) -> BaseGeometry:
        """The low part of the bar, from a little behind the head."""
        t = np.linspace(0, 1, len(self.path))
        w = self.width * share * np.clip((t - 0.06) / 0.3, 0, 1) ** 0.7
        return shapely.union_all(sound(Polygon(np.vstack([self.path, (self.path + self.side * w[:, None])[::-1]]))))

    def lines(self, pen: Pen) -> list[Line]:
        """Its strokes: the low edge strong, the belly lighter, meeting in the tips."""
        t = np.linspace(0, 1, len(self.path))
        out_to = 0.5 if self.style == "streamers" else 0.3      # its washes go with it to its end
        low = pen.outline_mm * np.interp(t, [0, 0.15, 0.5, 1], [0.5, 1, 0.9, out_to])
        high = pen.line_mm * np.interp(t, [0, 0.1, 0.5, 1], [0.5, 1, 0.8, 0.3])
        out = [Line(self.path, low, "tip", "tip", 0)]
        if self.width.max() > 1.15 * pen.pitch_mm:
            last = len(t)
            if self.style == "streamers":       # it ends open, before it would close up with the low edge
                last = max(4, int(np.flatnonzero(self.width > OPEN * pen.pitch_mm)[-1]) + 1)
                high = high * np.clip((t[last - 1] - t) / 0.2, 0.1, 1.0)
            out.append(Line(self.upper[:last], high[:last], "tip", "tip", 0))
        return out


def tails_drawn_out(lines: list[Line], bar: Bar, pen: Pen) -> list[Line]:
    """Strokes whose tips come from something wider, but for those at the head of the bar, where its edges meet."""
    held = [replace(line, start="tucked") if (line.path[0] == bar.path[0]).all() or (line.path[0] == bar.upper[0]).all()
            else line for line in lines]
    return [replace(line, start="tip") for line in pointed(held, pen)]


def ink(bars: list[Bar], stage: Stage, pen: Pen, hand: Hand, ground: Ground, wish: Wish) -> Drawing | None:
    """The bars as one drawing."""
    lines, light, mid, bodies = [], [], [], []
    for bar in bars:
        drawn = bar.lines(pen)
        kept = off_the_edge(drawn, ground.free.boundary)
        # the two edges of a bar meet in its tips, those of a streamer in its head; what ends by itself is drawn out
        lines += kept if len(drawn) > 1 and bar.style != "streamers" else tails_drawn_out(kept, bar, pen)
        if len(drawn) > 1:
            bodies.append(bar.body())
            if hand.dark > 0.05:
                light.append(bar.shade(0.62))
                mid.append(bar.shade(0.28))
    strokes = ribbons(lines, pen.least_mm)
    black = closed(stage.kept(shapely.union_all(strokes)), ground.line_gap_mm, pen.least_mm)
    outline = stage.kept(shapely.union_all([*bodies, black]))
    layers = [Layer(role, on_grid(shapely.union_all(g))) for role, g in (("light", light), ("mid", mid)) if g]
    layers.append(Layer("line", on_grid(black)))
    ends = tuple(End(round(float(x), 3), round(float(y), 3), how) for line in lines
                 for (x, y), how in zip(line.path[[0, -1]], (line.start, line.end), strict=True))
    return Drawing(on_grid(outline), tuple(layers), ends, {})
