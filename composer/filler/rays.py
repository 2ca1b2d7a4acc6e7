"""Rays: tapered strokes from a point behind a piece or from a far horizon, long and short in turn.

Between two rays a further one begins as soon as there is room for it, so that the spacing stays even
however far the rays spread.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing
from composer.filler.cloud import pen_of
from composer.filler.cloud_ink import ribbons
from composer.filler.cloud_lay import Field
from composer.filler.cloud_lines import Line, Pen
from composer.filler.ground import Ground, Wish
from composer.filler.masses import Mass, own_stage, paint, within
from composer.filler.points import pointed
from composer.plan.model import Hand

STYLES = {"point": "Rays from behind a piece", "horizon": "Rays from a horizon", "glory": "Rays, broad wedges"}
RHYTHM = (1.0, 0.46, 0.78, 0.38, 0.9, 0.52, 0.68, 0.42)
"""Lengths of neighbouring rays: long and short (common practice, no published source)."""


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "point") -> Drawing | None:
    """Rays over the ground, unclipped. Deterministic in `rng`. None where no ray finds room."""
    stage, home = own_stage(ground, wish)
    pen = pen_of(hand, wish, ground.line_gap_mm)
    if home.is_empty:
        return None
    centre = source(ground, style, rng)
    heavy = (4.4 if style == "glory" else 2.3) * pen.outline_mm
    lines, spots = fan(home, centre, heavy, pen, wish, style, rng)
    if not lines:
        return None
    dots = shapely.buffer(shapely.points(spots[:, :2]), spots[:, 2], quad_segs=4) if len(spots) else np.zeros(0, object)
    dots = dots[shapely.covers(home, dots)] if len(dots) else dots
    body = shapely.union_all([*ribbons(lines, pen.least_mm), *dots])
    made = paint([Mass(body, lines, list(dots))], stage, pen, ground.line_gap_mm)
    return made if made is None else replace(made, notes={**made.notes, "centre": [round(v, 2) for v in _xy(centre)]})


propose = draw


def source(ground: Ground, style: str, rng: np.random.Generator) -> complex:
    """Where the rays come from (x + iy, mm): behind a neighbour, or far below across the flow."""
    if ground.spine:
        return complex(*ground.spine[0])
    free = ground.free
    c = free.centroid
    middle, span = complex(c.x, c.y), float(np.sqrt(free.area))
    if style == "horizon" or not ground.ports:
        a = Field(ground, free).angle - np.pi / 2
        if np.sin(a) > 0.3:
            a += np.pi
        return complex(middle + (2.4 if style == "horizon" else 0.9) * span * np.exp(1j * a))
    port = ground.ports[int(rng.integers(0, len(ground.ports)))]
    return complex(port.x, port.y) - 0.34 * span * np.exp(1j * np.radians(port.out_deg))


def fan(home: BaseGeometry, centre: complex, heavy: float, pen: Pen, wish: Wish, style: str,
        rng: np.random.Generator) -> tuple[list[Line], np.ndarray]:
    """Rays about `centre` that are seen in `home`, each from where it has room to its length, and the
    dots (n, 3: x, y, radius in mm) that short ones run out into."""
    rim = np.concatenate([np.asarray(p.exterior.coords) for p in shapely.get_parts(home)])
    z = rim[:, 0] + 1j * rim[:, 1] - centre
    near, far = float(shapely.distance(home, shapely.Point(centre.real, centre.imag))), float(np.abs(z).max())
    mean = float(np.angle((z / np.maximum(np.abs(z), 1e-9)).sum()))
    off = np.angle(z * np.exp(-1j * mean))
    low, high = (float(off.min()), float(off.max())) if near > 0 else (-np.pi, np.pi)
    apart = (pen.pitch_mm + 0.8 * heavy) * (1.7 - 0.7 * wish.density) * wish.size
    first = max(near, 0.22 * far, 5.0)
    levels = max(0, int(np.ceil(np.log2(max(far / first, 1.0)))))
    base = apart / first
    n = max(3, int((high - low) / base) + 1)
    shift = float(rng.uniform(-0.4, 0.4)) * base
    start = int(rng.integers(0, len(RHYTHM)))
    out: list[Line] = []
    spots: list[tuple[float, float, float]] = []
    for level in range(levels + 1):
        count = n if level == 0 else n * 2 ** (level - 1)
        step = base / 2**level
        for k in range(count):
            angle = mean + low + shift + (k * step if level == 0 else (2 * k + 1) * step)
            share = RHYTHM[(start + k * (3 if level else 1)) % len(RHYTHM)]
            begin = first * 2**level * float(rng.uniform(1.02, 1.10)) if level else near + 0.5 + 4.0 * (1 - share)
            if level == 0:
                begin = max(begin, first * (1.0 if k % 2 else 0.62))
            end = begin + (0.2 + 0.8 * share) * (far - begin)
            t = np.linspace(0, 1, max(8, int((end - begin) / 0.8)))
            way = np.exp(1j * (angle + 0.06 * step * float(rng.uniform(-1, 1))))
            p = centre + (begin + t * (end - begin)) * way
            belly = heavy * (0.55 + 0.45 * share) * min(1.0, (end - begin) / 34.0)
            if style == "glory":
                width = belly * np.interp(t, [0, 0.82, 1], [0.12, 1.0, 0.15])
            else:
                width = belly * np.interp(t, [0, 0.16, 1], [0.25, 1.0, 0.1])
            if share < 0.6 and end < far:
                at = end + pen.pitch_mm
                for r in (0.8 * pen.outline_mm, 0.55 * pen.outline_mm):
                    spots.append((*_xy(centre + (at + r) * way), max(r, 0.62 * pen.fine_mm)))
                    at += 2 * r + pen.pitch_mm - 0.3
            out += within([Line(np.column_stack([p.real, p.imag]), width, "tip", "tip", 0)], home, 5.0)
    keep = [line for line in pointed(out, pen) if np.hypot(*(line.path[-1] - line.path[0])) > 6.0]
    return keep, np.array(spots).reshape(-1, 3)


def _xy(z: complex) -> tuple[float, float]:
    return float(z.real), float(z.imag)
