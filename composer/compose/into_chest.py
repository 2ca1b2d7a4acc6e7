"""A sleeve that runs on over the shoulder into the chest: the skin of it on the panel, from the armhole inwards."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.body.panel import Panel

_STEPS = 24


@lru_cache(maxsize=64)
def inner_edge(panel: Panel, arm: str, reach_mm: float) -> np.ndarray:
    """Where the sleeve of `arm` ends on chest or back, (n, 2) of (u, s): everywhere `reach_mm` of true skin in from the
    armhole, square to it on the sheet. Raises KeyError for an arm that the panel has no armhole for."""
    line = panel.to_mm(panel.edge(f"armhole_{arm.split('_')[0]}"))
    ahead = np.gradient(line, axis=0)
    inward = np.column_stack([-ahead[:, 1], ahead[:, 0]]) / np.hypot(*ahead.T)[:, None]   # edges run counter-clockwise
    out = np.zeros_like(line)
    for k, (foot, way) in enumerate(zip(line, inward, strict=True)):
        path = panel.from_mm(foot + way * np.linspace(0.0, 1.3 * reach_mm, _STEPS)[:, None])
        run = np.concatenate([[0.0], np.cumsum(panel.steps(path))])
        out[k] = foot + way * np.interp(reach_mm, run, np.linspace(0.0, 1.3 * reach_mm, _STEPS))
    return panel.from_mm(out)


@lru_cache(maxsize=64)
def sleeve_on(panel: Panel, arm: str, reach_mm: float) -> BaseGeometry:
    """The sleeve's skin on the panel, a geometry in (u, s); empty for no reach."""
    if reach_mm <= 0:
        return shapely.Polygon()
    edge = panel.edge(f"armhole_{arm.split('_')[0]}")
    ring = np.concatenate([edge, inner_edge(panel, arm, reach_mm)[::-1]])
    strip = shapely.make_valid(shapely.Polygon(panel.to_mm(ring)))
    return shapely.transform(shapely.intersection(strip, panel.form), panel.from_mm)


def area_mm2(panel: Panel, arm: str, reach_mm: float) -> float:
    """True skin area of it, mm2."""
    return sum(panel.skin_area_mm2(np.asarray(g.exterior.coords)[:-1]) for g in
               shapely.get_parts(sleeve_on(panel, arm, reach_mm)) if g.geom_type == "Polygon" and g.area > 0)

