"""The skin zones of chest and upper back: which zone a place lies in, the zones' outlines, their scales.

Every place lies in exactly one zone. Zones are drawn on the template that both sides are mirrored by
(`composer.body.panel_mirror`), so a place and its mirror image across the midline lie in zones of one name, and all of
them follow the landmarks as taped. Limits: see `composer.body.panel_zone_table`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.body.kept_skin import KeptPanel
from composer.body.panel import Panel
from composer.body.panel_mirror import from_template, template_marks, to_template
from composer.body.panel_zone_table import FAR, PANEL_ZONES, PanelZone, Places
from composer.body.zone_figures import Overrides, Zoned, with_figures
from composer.body.zone_table import Zone

STEP_MM = 4.0
_SLIVER_MM2 = 1.0


@lru_cache(maxsize=64)
def places_of(panel: Panel) -> Places:
    """The template's places of a chest or back."""
    marks = template_marks(panel)
    whole = panel.whole if isinstance(panel, KeptPanel) and panel.whole is not None else panel
    ends = []
    for e in whole.edges:
        if e.name.startswith("neck"):
            xy = whole.to_mm(e.us)
            ends.append(np.abs(xy[np.abs(xy[:, 0]).argmax()]))
    return Places(np.array([0.0, whole.midline_top]), np.array([0.0, whole.landmarks["armpit level"][1]]),
                  np.mean(ends, axis=0), marks["shoulder point"], marks["crease"], marks["side"], panel.turn_mm)


@dataclass(frozen=True)
class PanelZones(Zoned):
    """The zones of chest or back. `zones` are told apart by side; `kinds` and `sides` say of each what it was drawn as
    and on which side ('left', 'right', '')."""

    panel: Panel
    zones: tuple[Zone, ...]
    kinds: tuple[int, ...]
    sides: tuple[str, ...]
    table: tuple[PanelZone, ...]

    @cached_property
    def _shapes(self) -> list[BaseGeometry]:
        """Each kind as it is drawn on the template, not yet less what lies over it."""
        places = places_of(self.panel)
        shapes = [shapely.segmentize(z.shape(places), STEP_MM) for z in self.table]
        shapely.prepare(shapes)
        return shapes

    @cached_property
    def _bounds(self) -> np.ndarray:
        return shapely.bounds(self._shapes)

    @cached_property
    def _number(self) -> np.ndarray:
        """Zone of each kind (rows) on the side with u < 0 and u >= 0."""
        out = np.zeros((len(self.table), 2), int)
        for i, (k, side) in enumerate(zip(self.kinds, self.sides, strict=True)):
            out[k, [0, 1] if not side else [int(side == self._plus)]] = i
        return out

    @property
    def _plus(self) -> str:
        return "left" if self.panel.landmarks["crease left"][0] > 0 else "right"

    def at(self, us: np.ndarray) -> np.ndarray:
        """Which zone each skin point (n, 2) of (u, s) lies in: indices (n,) into `zones`. Past the edges the zone
        there goes on."""
        at, plus = to_template(self.panel, np.asarray(us, float).reshape(-1, 2))
        kind = np.full(len(at), len(self.table) - 1)
        left = np.arange(len(at))
        for k, (shape, (x0, y0, x1, y1)) in enumerate(zip(self._shapes[:-1], self._bounds, strict=False)):
            x, y = at[left].T
            near = np.flatnonzero((x >= x0) & (x <= x1) & (y >= y0) & (y <= y1))
            hit = left[near[shapely.contains_xy(shape, x[near], y[near])]]
            kind[hit] = k
            left = np.setdiff1d(left, hit, assume_unique=True)
        return self._number[kind, (plus > 0).astype(int)]

    def rings(self, i: int, past_mm: float = 0.0) -> tuple[np.ndarray, ...]:
        """Outline of zone `i` within the part: even-odd rings (n, 2) of (u, s), closed implicitly, with a point at
        least every 5 mm; none where the part ends before the zone begins.
        `past_mm` is for limbs; here edges are known."""
        return self._rings[i]

    @cached_property
    def _rings(self) -> list[tuple[np.ndarray, ...]]:
        half = shapely.segmentize(shapely.box(0.0, -FAR, FAR, FAR), STEP_MM)
        own, over = [], shapely.Polygon()
        for shape in self._shapes:
            own.append(shapely.difference(shapely.intersection(shape, half), over))
            over = shapely.union(over, shape)
        return [self._outline(own[k], side) for k, side in zip(self.kinds, self.sides, strict=True)]

    def _outline(self, own: BaseGeometry, side: str) -> tuple[np.ndarray, ...]:
        halves = []
        for plus in ((1.0,) if side == self._plus else (-1.0,) if side else (1.0, -1.0)):
            near = shapely.segmentize(shapely.intersection(own, self._room), STEP_MM)
            halves.append(shapely.make_valid(shapely.transform(near, lambda xy, p=plus: self._on_sheet(xy, p))))
        shape = shapely.intersection(shapely.union_all(halves), self.panel.form)
        out = []
        for p in shapely.get_parts(shape):
            if p.geom_type != "Polygon" or p.area < _SLIVER_MM2:
                continue
            p = shapely.segmentize(p, STEP_MM)
            for k, r in enumerate((p.exterior, *p.interiors)):
                if k == 0 or shapely.Polygon(r).area >= _SLIVER_MM2:
                    us = self.panel.from_mm(np.asarray(r.coords)[:-1])
                    out.append(us if (_signed(self.panel, us) > 0) == (k == 0) else us[::-1])
        return tuple(out)

    def _on_sheet(self, at: np.ndarray, plus: float) -> np.ndarray:
        """Places of the template on the sheet, mm; the midline stays on it to the last bit, so that halves meet."""
        xy = self.panel.to_mm(from_template(self.panel, at, plus))
        xy[np.abs(at[:, 0]) < 1e-9, 0] = 0.0
        return xy

    @cached_property
    def _room(self) -> BaseGeometry:
        """The template as far as skin can lie: what is past it need not be carried over."""
        at, _ = to_template(self.panel, self.panel.outline)
        (x0, y0), (x1, y1) = at.min(axis=0) - 30.0, at.max(axis=0) + 30.0
        return shapely.box(min(x0, 0.0), y0, x1, y1)

    def area_mm2(self, i: int) -> float:
        """Skin area of zone `i`, mm2 (true lengths, not those of the sheet)."""
        return float(sum(np.sign(_signed(self.panel, r)) * self.panel.skin_area_mm2(r) for r in self.rings(i)))

    def label_at(self, i: int) -> tuple[float, float] | None:
        """A place (u, s) well inside zone `i`, where its name may stand; None where it has no skin here."""
        shape: BaseGeometry = shapely.Polygon()
        for r in self.rings(i):
            shape = shapely.symmetric_difference(shape, shapely.Polygon(self.panel.to_mm(r)))
        if shape.is_empty:
            return None
        p = shapely.get_point(shapely.maximum_inscribed_circle(shape, tolerance=1.0), 0)
        return p.x / self.panel.turn_mm, p.y


def _signed(panel: Panel, ring: np.ndarray) -> float:
    x, y = panel.to_mm(ring).T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def panel_zones(part: str, panel: Panel, overrides: Overrides | None = None) -> PanelZones:
    """The zones of 'chest' or 'upper_back' on its skin, with this client's own figures. Raises ZoneError, KeyError."""
    table = PANEL_ZONES[part]
    rows = [(k, side) for k, z in enumerate(table) for side in (("left", "right") if z.both else ("",))]
    zones = [table[k].of(side) for k, side in rows]
    return PanelZones(panel, with_figures(zones, overrides, part), tuple(k for k, _ in rows),
                      tuple(s for _, s in rows), table)
