"""Plain fills that no artist would keep: what a measure of ornament has to tell from ornament."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely
from scipy.stats import qmc
from shapely.geometry.base import BaseGeometry

from composer.art.brush import stroke
from composer.art.drawing import Drawing, Layer, geometry_to_rings
from composer.filler.ground import Ground
from composer.plan.model import Hand

INK_SHARE = 0.17
HATCH_MM = 6.0
DOT_MM = 3.2


def _drawing(ink: BaseGeometry) -> Drawing:
    rings = tuple(geometry_to_rings(ink))
    return Drawing(rings, (Layer("line", rings),))


def random_strokes(ground: Ground, hand: Hand, rng: np.random.Generator) -> Drawing:
    """Bent strokes of any length, width, place and direction until the share of ink is usual."""
    x0, y0, x1, y1 = ground.free.bounds
    parts: list[BaseGeometry] = []
    for _ in range(600):
        n, turn = int(rng.integers(14, 60)), float(rng.uniform(-0.12, 0.12))
        a = float(rng.uniform(0, 2 * np.pi)) + turn * np.arange(n)
        path = rng.uniform((x0, y0), (x1, y1)) + np.cumsum(0.6 * np.column_stack([np.cos(a), np.sin(a)]), axis=0)
        wide = float(rng.choice([hand.fine_mm, hand.line_mm, hand.outline_mm]))
        parts.append(shapely.intersection(stroke(path, np.full(n, wide)), ground.free))
        if len(parts) % 8 == 0 and shapely.union_all(parts).area > INK_SHARE * ground.free.area:
            break
    return _drawing(shapely.union_all(parts))


def hatch(ground: Ground, hand: Hand, rng: np.random.Generator) -> Drawing:
    """Lines 6 mm apart, all along the flow in the middle, clipped."""
    x0, y0, x1, y1 = ground.free.bounds
    middle = np.array([ground.free.centroid.coords[0]])
    way, far = float(ground.flow(middle)[0]), 1.2 * float(np.hypot(x1 - x0, y1 - y0))
    d, n = np.array([np.cos(way), np.sin(way)]), np.array([-np.sin(way), np.cos(way)])
    first = float(rng.uniform(0, HATCH_MM))
    lines = [shapely.LineString([middle[0] + n * k - d * far, middle[0] + n * k + d * far])
             for k in np.arange(first - far, far, HATCH_MM)]
    ink = shapely.union_all([shapely.buffer(line, hand.outline_mm / 2) for line in lines])
    return _drawing(shapely.intersection(ink, ground.free))


def scatter(ground: Ground, hand: Hand, rng: np.random.Generator) -> Drawing:
    """Dots of one size on a Poisson disc (scipy.stats.qmc.PoissonDisk)."""
    x0, y0, x1, y1 = ground.free.bounds
    side = max(x1 - x0, y1 - y0)
    at = qmc.PoissonDisk(2, radius=DOT_MM / side, rng=rng).fill_space() * side + (x0, y0)
    at = at[shapely.contains_xy(shapely.buffer(ground.free, -hand.outline_mm / 2 - 0.2), at[:, 0], at[:, 1])]
    return _drawing(shapely.union_all(shapely.buffer(shapely.points(at), 0.6 * hand.outline_mm)))


PLAIN: dict[str, Callable[[Ground, Hand, np.random.Generator], Drawing]] = {
    "random strokes": random_strokes, "hatch": hatch, "Poisson-disc scatter": scatter}
