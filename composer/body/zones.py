"""The skin zones of a part: which zone a point lies in, the zones' outlines, their scales.

Every point of a part lies in exactly one zone; borders follow the landmark levels of that limb
and know left from right (chest and back: `composer.body.panel_zones`). Limits: zones are drawn by rule from a few
levels, not from the client's own muscles; further borders, names and figures are common practice, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from composer.body.correspond import landmarks
from composer.body.kinds import kind_of, side_of
from composer.body.limb import Limb
from composer.body.metric import ring_area
from composer.body.panel import Panel
from composer.body.panel_zones import PanelZones, panel_zones
from composer.body.surface import Surface
from composer.body.zone_figures import Overrides, Zoned, ZoneError, with_figures
from composer.body.zone_table import SCALES, TABLES, Box, Oval, Zone

__all__ = ["SCALES", "Zone", "ZoneError", "ZoneMap", "Zones", "zone_at", "zones_of"]

_STEP_MM = 5.0


@dataclass(frozen=True)
class ZoneMap(Zoned):
    """The zones of one limb. `side` is +1 on a left part and -1 on a right one."""

    limb: Limb
    side: int
    zones: tuple[Zone, ...]
    boxes: tuple[Box, ...]
    ovals: tuple[Oval, ...]

    @cached_property
    def _rungs(self) -> np.ndarray:
        return np.array(list(landmarks(self.limb).values()))

    def _s(self, rung: float) -> float:
        """Level, mm, of a rung; beyond the ends the last gap goes on."""
        s, last = self._rungs, len(self._rungs) - 1
        if rung < 0:
            return float(s[0] + rung * (s[1] - s[0]))
        if rung > last:
            return float(s[-1] + (rung - last) * (s[-1] - s[-2]))
        return float(np.interp(rung, np.arange(last + 1), s))

    @cached_property
    def _oval_shapes(self) -> list[Polygon]:
        """Each oval in (v, s), unwrapped at its own place."""
        t = np.linspace(0, 2 * np.pi, 72, endpoint=False)
        out = []
        for o in self.ovals:
            lo, hi = self._s(o.r0), self._s(o.r1)
            ring = np.column_stack([o.v + o.half_v * np.cos(t), (lo + hi) / 2 + (hi - lo) / 2 * np.sin(t)])
            out.append(Polygon(ring))
        shapely.prepare(out)
        return out

    def at(self, us: np.ndarray) -> np.ndarray:
        """Which zone each skin point (n, 2) of (u, s) lies in: indices (n,) into `zones`. Beyond the
        ends the zone at the end goes on."""
        us = np.asarray(us, float).reshape(-1, 2)
        v, s = self.side * us[:, 0], np.clip(us[:, 1], self.limb.s_min, self.limb.s_max)
        out = np.full(len(us), -1)
        for i, b in enumerate(self.boxes):
            lo, hi = self._s(b.r0), self._s(b.r1)
            top = s <= hi if hi >= self.limb.s_max else s < hi
            out[(s >= lo) & top & ((v - b.v0) % 1.0 < b.v1 - b.v0)] = i
        for i, (o, shape) in enumerate(zip(self.ovals, self._oval_shapes, strict=True), len(self.boxes)):
            u = v - np.round(v - o.v)
            x0, y0, x1, y1 = shape.bounds
            near = np.flatnonzero((s >= y0) & (s <= y1) & (u >= x0) & (u <= x1))
            out[near[shapely.contains_xy(shape, u[near], s[near])]] = i
        return out

    def rings(self, i: int, past_mm: float = 0.0) -> tuple[np.ndarray, ...]:
        """Outline of zone `i`: even-odd rings (n, 2) of (u, s), u unwrapped, closed implicitly, with
        a point at least every 5 mm so that they bend with any chart. `past_mm`: so far past the last level
        the zones there go on."""
        return self._outline(i, past_mm) if past_mm else self._rings[i]

    @cached_property
    def _rings(self) -> list[tuple[np.ndarray, ...]]:
        return [self._outline(i) for i in range(len(self.zones))]

    def _outline(self, i: int, past_mm: float = 0.0) -> tuple[np.ndarray, ...]:
        frame = shapely.box(-5, self.limb.s_min, 5, self.limb.s_max + past_mm)
        if i >= len(self.boxes):
            shape = shapely.intersection(self._oval_shapes[i - len(self.boxes)], frame)
        else:
            b = self.boxes[i]
            top = self._s(b.r1) + (past_mm if self._s(b.r1) >= self.limb.s_max else 0.0)
            shape = shapely.intersection(shapely.box(b.v0, self._s(b.r0), b.v1, top), frame)
            for o in self._oval_shapes:
                for turn in (-1, 0, 1):
                    shape = shapely.difference(shape, shapely.transform(o, lambda p, k=turn: p + np.array([k, 0.0])))
        polygons = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
        out = []
        for p in polygons:
            for k, ring in enumerate((p.exterior, *p.interiors)):
                us = _dense(np.asarray(ring.coords)[:-1]) * (self.side, 1.0)
                if (ring_area(self.limb, us) > 0) != (k == 0):
                    us = us[::-1]
                out.append(us)
        return tuple(out)

    def area_mm2(self, i: int) -> float:
        """Skin area of zone `i`, mm2."""
        return sum(ring_area(self.limb, r) for r in self.rings(i))

    def label_at(self, i: int) -> tuple[float, float]:
        """A point (u, s) well inside zone `i`, where its name may stand."""
        shape: shapely.Geometry = Polygon()
        girth = float(self.limb.girth(np.mean(self.rings(i)[0][:, 1])))
        for r in self.rings(i):
            shape = shapely.symmetric_difference(shape, Polygon(r * (girth, 1.0)))
        p = shapely.get_point(shapely.maximum_inscribed_circle(shape, tolerance=1.0), 0)
        return p.x / girth, p.y


Zones = ZoneMap | PanelZones


def zones_of(part: str, surface: Surface, overrides: Overrides | None = None) -> Zones:
    """The zones of a part ('left_arm', 'chest' ...) on its skin.

    `overrides` are this client's own figures, {zone: {scale: 0..10}}. Raises ZoneError for a zone,
    scale or figure that can't be, KeyError for a part that is not planned here.
    """
    if isinstance(surface, Panel):
        return panel_zones(part, surface, overrides)
    boxes, ovals = TABLES[kind_of(part).name]
    zones = [b.zone for b in boxes] + [o.zone for o in ovals]
    return ZoneMap(surface, side_of(part), with_figures(zones, overrides, part), boxes, ovals)


def zone_at(zones: Zones, us: np.ndarray) -> list[str]:
    """Names of the zones at skin points (n, 2)."""
    return [zones.zones[i].name for i in zones.at(us)]


def _dense(ring: np.ndarray) -> np.ndarray:
    """Points of a ring at most about 5 mm apart, a turn counted as 300 mm."""
    after = np.roll(ring, -1, axis=0)
    n = np.maximum(1, np.ceil(np.hypot(*((after - ring) * (300.0, 1.0)).T) / _STEP_MM)).astype(int)
    return np.concatenate([p + (q - p) * np.linspace(0, 1, k, endpoint=False)[:, None]
                           for p, q, k in zip(ring, after, n, strict=True)])
