"""How tones are marked on a stencil: blacks by a solid outline, borders of shading by dots, highlights left open.

The marking by solid and dotted outlines is common practice, no published source; the spacings are ours, a quarter and
more apart so that they are told apart at arm's length. Works on any drawing: mm, x right, y up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing
from composer.art.pixels import polygons

SPACING_MM = {"dark": 1.1, "mid": 1.8, "light": 2.9}
DOT_MM = 0.4
OPEN_DASH_MM, OPEN_GAP_MM = 2.2, 1.4
LEAST_MM2 = 3.0
"""Patches smaller than this carry no mark; they are drawn from the picture by eye."""

_ORDER = ("black", "dark", "mid", "light")


@dataclass(frozen=True)
class ToneMarks:
    """`solid`: outlines of blacks, closed rings (n, 2). `dots`: middles (n, 2) by step. `dashes`: strokes (n, 2) round
    highlights, and `open_at` (n, 2) where each is marked as open."""

    solid: tuple[np.ndarray, ...]
    dots: dict[str, np.ndarray]
    dashes: tuple[np.ndarray, ...]
    open_at: np.ndarray


def tone_marks(drawing: Drawing) -> ToneMarks:
    """The marks for a drawing's layers. A border between two steps is marked once, for the darker of them; borders that
    run along a line or along the silhouette need no mark."""
    by_role: dict[str, BaseGeometry] = {r: Polygon() for r in (*_ORDER, "line")}
    for layer in drawing.layers:
        by_role[layer.role] = by_role[layer.role].union(layer.area)
    outline = drawing.outline
    quiet = by_role["line"].buffer(0.35).union(outline.boundary.buffer(0.6))
    solid = tuple(np.asarray(r.coords)[:-1] for p in polygons(by_role["black"]) if p.area >= LEAST_MM2
                  for r in (p.exterior, *p.interiors))
    told = by_role["black"].boundary.buffer(0.5)
    dots = {}
    for role in _ORDER[1:]:
        rims = [r for p in polygons(by_role[role]) if p.area >= LEAST_MM2 for r in (p.exterior, *p.interiors)]
        rim = shapely.union_all(rims).difference(quiet.union(told)) if rims else LineString()
        dots[role] = _spaced(rim, SPACING_MM[role])
        told = told.union(by_role[role].boundary.buffer(0.5))
    covered = shapely.union_all([by_role[r] for r in (*_ORDER, "line")])
    lights = [p for p in polygons(outline.difference(covered).buffer(-0.3).buffer(0.3))
              if p.area >= LEAST_MM2 and p.exterior.distance(outline.boundary) > 0.8]
    dashes = tuple(d for p in lights for d in _dashed(np.asarray(p.exterior.coords)))
    at = np.array([p.representative_point().coords[0] for p in lights]).reshape(-1, 2)
    return ToneMarks(solid, dots, dashes, at)


def _lines(g: BaseGeometry) -> list[LineString]:
    merged = shapely.line_merge(g) if not isinstance(g, LineString) else g
    return [x for x in getattr(merged, "geoms", [merged]) if x.length > 0]


def _spaced(line: BaseGeometry, step: float) -> np.ndarray:
    """Points along the lines, as near to `step` apart as fits each of them, (n, 2)."""
    out = []
    for part in _lines(line):
        n = round(part.length / step)
        if n < 1:
            continue
        ring = part.is_ring
        at = np.arange(n) * part.length / n if ring else np.linspace(0, part.length, n + 1)
        out.append(shapely.get_coordinates(shapely.line_interpolate_point(part, at)))
    return np.concatenate(out) if out else np.zeros((0, 2))


def _dashed(ring: np.ndarray) -> list[np.ndarray]:
    """Strokes along a closed ring (first point repeated)."""
    line = LineString(ring)
    n = max(2, round(line.length / (OPEN_DASH_MM + OPEN_GAP_MM)))
    step = line.length / n
    long = step * OPEN_DASH_MM / (OPEN_DASH_MM + OPEN_GAP_MM)
    return [shapely.get_coordinates(shapely.line_interpolate_point(line, np.linspace(k * step, k * step + long, 5)))
            for k in range(n)]
