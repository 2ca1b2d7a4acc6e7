"""A sleeve that runs on over the shoulder into the chest: the skin of it on the panel, from the armhole inwards.

Its upper edge lies there, everywhere as far in from the armhole as was chosen, and is straight, wavy or fading as the
sleeve's upper edge is.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.body.panel import Panel
from composer.compose.extent import WAVE_MM, falling
from composer.plan.extents import Extent

_STEPS = 24
SPOT_MM = 3.0


@lru_cache(maxsize=64)
def inner_edge(panel: Panel, arm: str, extent: Extent) -> np.ndarray:
    """Where the sleeve of `arm` ends on chest or back, (n, 2) of (u, s): `chest_mm` of true skin in from the armhole,
    square to it on the sheet; waves swing about that. Raises KeyError for an arm that the panel has no armhole for."""
    us = panel.edge(f"armhole_{arm.split('_')[0]}")
    line = panel.to_mm(us)
    run = np.concatenate([[0.0], np.cumsum(panel.steps(us))])
    reach = np.full(len(line), extent.chest_mm)
    if extent.near.form == "wavy":
        waves = max(2, round(run[-1] / WAVE_MM))
        reach += extent.near.depth_mm / 2 * np.sin(2 * np.pi * waves * run / run[-1])
    ahead = np.gradient(line, axis=0)
    inward = np.column_stack([-ahead[:, 1], ahead[:, 0]]) / np.hypot(*ahead.T)[:, None]   # edges run counter-clockwise
    far = 1.3 * float(reach.max())
    out = np.zeros_like(line)
    for k, (foot, way) in enumerate(zip(line, inward, strict=True)):
        path = panel.from_mm(foot + way * np.linspace(0.0, far, _STEPS)[:, None])
        along = np.concatenate([[0.0], np.cumsum(panel.steps(path))])
        out[k] = foot + way * np.interp(max(float(reach[k]), 0.0), along, np.linspace(0.0, far, _STEPS))
    return panel.from_mm(out)


@lru_cache(maxsize=64)
def sleeve_on(panel: Panel, arm: str, extent: Extent) -> BaseGeometry:
    """The sleeve's skin on the panel, a geometry in (u, s); empty where it ends on the arm."""
    if extent.chest_mm <= 0:
        return shapely.Polygon()
    edge = panel.edge(f"armhole_{arm.split('_')[0]}")
    ring = np.concatenate([edge, inner_edge(panel, arm, extent)[::-1]])
    strip = shapely.make_valid(shapely.Polygon(panel.to_mm(ring)))
    return shapely.transform(shapely.intersection(strip, panel.form), panel.from_mm)


def chest_weight(panel: Panel, sleeves: Iterable[tuple[str, Extent]], us: np.ndarray) -> np.ndarray:
    """How much of these sleeves (arm, extent) there is at skin points (n, 2) of the panel: 1 within one, 0 beyond, less
    towards an edge that fades (by mm of the sheet)."""
    xy = panel.to_mm(us)
    out = np.zeros(len(xy))
    for arm, extent in sleeves:
        skin = shapely.transform(sleeve_on(panel, arm, extent), panel.to_mm)
        within = np.flatnonzero(shapely.contains_xy(skin, *xy.T))
        if len(within):
            end = shapely.LineString(panel.to_mm(inner_edge(panel, arm, extent)))
            inside = shapely.distance(end, shapely.points(xy[within]))
            out[within] = np.maximum(out[within], falling(extent.near, inside))
    return out


def area_mm2(panel: Panel, arm: str, extent: Extent) -> float:
    """True skin area of it, mm2; what fades counts whole."""
    return sum(panel.skin_area_mm2(np.asarray(g.exterior.coords)[:-1]) for g in
               shapely.get_parts(sleeve_on(panel, arm, extent)) if g.geom_type == "Polygon" and g.area > 0)


def faded_area_mm2(panel: Panel, arm: str, extent: Extent) -> float:
    """The same with what fades counted by how much of it there is."""
    skin = shapely.transform(sleeve_on(panel, arm, extent), panel.to_mm)
    x0, y0, x1, y1 = skin.bounds
    x, y = (g.ravel() for g in np.meshgrid(np.arange(x0, x1, SPOT_MM), np.arange(y0, y1, SPOT_MM)))
    us = panel.from_mm(np.column_stack([x, y])[shapely.contains_xy(skin, x, y)])
    grown = np.sqrt(np.linalg.det(panel.metric(us)))
    share = float((grown * chest_weight(panel, [(arm, extent)], us)).sum() / grown.sum()) if len(us) else 0.0
    return share * area_mm2(panel, arm, extent)
