"""The edges of chest and back as the gap search sees them: obstacles that nothing is kept off.

A limb with an upper edge of its own (`OpenLimb`) counts what lies above it as covered by its second border.
A panel does not close on itself, so all of one turn that is not its skin counts as covered. The search still
has two borders (`FAR` and `NEAR`, as on a limb): the first stands for the lower edge and the sides of the trunk, the
second for armholes, shoulders and neck; which edge it is at a place, `border_at` tells.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.body.kept_skin import KeptPanel, OpenLimb
from composer.body.panel import Panel
from composer.body.surface import Surface
from composer.compose.chart import chart_of

BAND_MM = 40.0
"""How far out from the edges what is no skin is known to patches; gaps never reach further."""
ROW_T = 0.05
"""The rows that close the search above and below stand off the part by so much of a turn."""
LOW = ("lower", "side")
ALONG_MM = 1.0


def is_low(edge: str) -> bool:
    """Whether an edge counts to the first border."""
    return edge.split("_")[0] in LOW


@lru_cache(maxsize=32)
def no_skin(panel: Panel) -> BaseGeometry:
    """All of one turn that is no skin, in the search's chart (u, s / turn)."""
    low, high = panel.s_min / panel.turn_mm - 2 * ROW_T, panel.s_max / panel.turn_mm + 2 * ROW_T
    skin = (shapely.transform(panel.kept, lambda xy: xy / panel.turn_mm) if isinstance(panel, KeptPanel) else
            shapely.Polygon(panel.outline / (1.0, panel.turn_mm)))
    return shapely.difference(shapely.box(-0.5, low, 0.5, high), skin)


@lru_cache(maxsize=64)
def band(panel: Panel, width_mm: float = BAND_MM) -> BaseGeometry:
    """The strip just outside the edges, as a geometry in (u, s)."""
    out = shapely.difference(panel.form.buffer(width_mm, quad_segs=4), panel.form)
    return shapely.transform(shapely.segmentize(out, 3.0), panel.from_mm)


@lru_cache(maxsize=32)
def _lines(panel: Panel) -> tuple[np.ndarray, tuple[str, ...]]:
    return (np.array([shapely.LineString(panel.to_mm(e.us)) for e in panel.edges]),
            tuple(f"border:{e.name}" for e in panel.edges))


@lru_cache(maxsize=32)
def _rim(panel: Panel) -> BaseGeometry:
    rim = panel.form.boundary
    shapely.prepare(rim)
    return rim


def border_at(surface: Surface, us: np.ndarray, otherwise: str) -> str:
    """The edge at a place (2,) on the rim of chest or back, 'border:armhole_left'; `otherwise` on a limb."""
    if not isinstance(surface, Panel):
        return otherwise
    lines, names = _lines(surface)
    return names[int(shapely.distance(lines, shapely.Point(surface.to_mm(np.atleast_2d(us))[0])).argmin())]


def borders_of(surface: Surface) -> list[tuple[str, float, float]]:
    """Every border of a part: its name as a neighbour, and a place on it (u, s mm)."""
    if not isinstance(surface, Panel):
        return [("border:far", 0.0, float(surface.s_min)), ("border:near", 0.0, float(surface.s_max))]
    middles = {e.name: e.us[len(e.us) // 2] for e in surface.edges}
    return [(f"border:{name}", float(u), float(s)) for name, (u, s) in middles.items()]


def over_rim(surface: Surface, covers: Sequence[BaseGeometry | None]) -> np.ndarray:
    """Which of n things that cover skin (geometries in the chart) run over the edges of chest or back, (n,) bool."""
    if isinstance(surface, OpenLimb):
        out = shapely.transform(surface.beyond(-1.5, 1.5), chart_of(surface).to_chart)
    elif isinstance(surface, Panel):
        out = no_skin(surface)
    else:
        return np.zeros(len(covers), bool)
    shapely.prepare(out)
    return np.array([c is not None and bool(shapely.intersects(out, c)) for c in covers], bool)


def borders_along(panel: Panel, us: np.ndarray) -> set[str]:
    """Names of the edges along which a ring (n, 2) of (u, s) runs."""
    lines, names = _lines(panel)
    spots = shapely.points(panel.to_mm(us))
    spots = spots[shapely.dwithin(_rim(panel), spots, ALONG_MM)]
    off = shapely.distance(lines[:, None], spots[None])
    return {n for n, k in zip(names, (off < ALONG_MM).sum(axis=1).tolist(), strict=True) if k > 1}
