"""Parts of which only some skin is planned: an arm up to the armhole, a chest as far as sleeves run into it.

They are surfaces like any other, so whatever searches, measures or draws finds no skin beyond their edges. Places and
lengths on them are those of the part that they were made from.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.body.joins import armhole
from composer.body.limb import Level, Limb
from composer.body.panel import Line, Panel
from composer.body.panel_patch import PanelPatch

STEP_MM = 8.0
ABOVE_MM = 60.0
HAIR_MM = 0.05


@dataclass(frozen=True)
class OpenLimb(Limb):
    """A limb of which an edge is a line of its own: `near` above and `far` below, (u, s) from u -0.5 to 0.5, beyond
    which there is no skin of it; () where it ends at its last or first level. These stand as far out as the lines get.
    `runs_on`: above its upper edge skin goes on as the trunk's."""

    near: tuple[tuple[float, float], ...] = ()
    far: tuple[tuple[float, float], ...] = ()
    runs_on: bool = True

    def near_at(self, u: np.ndarray) -> np.ndarray:
        """Where the upper edge lies, s mm, at each u (n,)."""
        return _along(self.near, u, self.s_max)

    def far_at(self, u: np.ndarray) -> np.ndarray:
        """Where the lower edge lies, s mm, at each u (n,)."""
        return _along(self.far, u, self.s_min)

    def above(self, u0: float = -0.5, u1: float = 0.5, high_mm: float = 0.0) -> shapely.Polygon:
        """What lies above the upper edge between two turns, as a geometry in (u, s): all of it, or a strip so high."""
        u = _turns(u0, u1)
        low = self.near_at(u)
        return _between(u, low, low + high_mm if high_mm else np.full(len(u), self.s_max + ABOVE_MM))

    def below(self, u0: float = -0.5, u1: float = 0.5, deep_mm: float = 0.0) -> shapely.Polygon:
        """What lies below the lower edge between two turns, as a geometry in (u, s): all of it, or a strip so deep."""
        u = _turns(u0, u1)
        high = self.far_at(u)
        return _between(u, high - deep_mm if deep_mm else np.full(len(u), self.s_min - ABOVE_MM), high)

    def beyond(self, u0: float = -0.5, u1: float = 0.5) -> BaseGeometry:
        """What lies beyond both edges between two turns."""
        return shapely.union(self.above(u0, u1), self.below(u0, u1))

    def has(self, us: np.ndarray) -> np.ndarray:
        """Which points (n, 2) of (u, s) lie between its edges."""
        return (us[:, 1] > self.far_at(us[:, 0])) & (us[:, 1] < self.near_at(us[:, 0]))


def _along(line: tuple[tuple[float, float], ...], u: np.ndarray, else_mm: float) -> np.ndarray:
    u = np.asarray(u, float)
    if not line:
        return np.full(u.shape, else_mm)
    at = np.array(line)
    return np.interp(u - np.round(u), at[:, 0], at[:, 1])


def _turns(u0: float, u1: float) -> np.ndarray:
    return np.linspace(u0, u1, max(2, int(240 * (u1 - u0)) + 1))


def _between(u: np.ndarray, low: np.ndarray, high: np.ndarray) -> shapely.Polygon:
    return shapely.Polygon(np.concatenate([np.column_stack([u, low]), np.column_stack([u, high])[::-1]]))


@lru_cache(maxsize=16)
def to_the_armhole(part: str, limb: Limb) -> OpenLimb:
    """An arm with its skin as far as the trunk: over the shoulder on the outer side (girth kept as it was taped last, a
    guess), less on the inner one (see `composer.body.joins.armhole`)."""
    halves = armhole(part, limb)
    line = np.concatenate([h - np.column_stack([np.round(h[:, 0]), np.zeros(len(h))]) for h in halves.values()])
    u = np.linspace(-0.5, 0.5, 241)
    order = np.argsort(line[:, 0])
    s = np.interp(u, line[order, 0], line[order, 1], period=1.0)
    high = float(s.max())
    known = {lv.s_mm: lv for lv in limb.levels}
    beyond = np.linspace(limb.s_max, high, max(2, int(np.ceil((high - limb.s_max) / STEP_MM)) + 1))[1:]
    between = [float(v) for v in np.arange(limb.s_min + STEP_MM, limb.s_max, STEP_MM)
               if min(abs(v - k) for k in known) > 1.0]
    levels = [*known.values(), *(Level("between", v, float(limb.girth(v)), _aspect(limb, v), False) for v in between),
              *(Level("shoulder point" if v == high else "between", float(v), float(limb.girth(v)),
                      limb.levels[-1].aspect, False) for v in beyond)]
    return OpenLimb(tuple(sorted(levels, key=lambda lv: lv.s_mm)), tuple(map(tuple, np.column_stack([u, s]).tolist())))


def _aspect(limb: Limb, s_mm: float) -> float:
    return float(limb._aspect(s_mm))


def from_level(limb: OpenLimb, low_mm: float) -> OpenLimb:
    """The open limb from a level up."""
    if low_mm <= limb.s_min:
        return limb
    first = Level("lower edge", float(low_mm), float(limb.girth(low_mm)), _aspect(limb, low_mm))
    return replace(limb, levels=(first, *(lv for lv in limb.levels if lv.s_mm > low_mm + 1.0)))


@dataclass(frozen=True, eq=False)
class KeptPanel(Panel):
    """Chest or back of which only `kept` (sheet mm, within its outline) is planned; `whole` has all of its skin, to
    which paper is fitted."""

    kept: BaseGeometry = field(default_factory=shapely.Polygon, repr=False)
    whole: Panel | None = field(default=None, repr=False)

    def __hash__(self) -> int:
        return hash(self.key)

    @cached_property
    def form(self) -> BaseGeometry:  # type: ignore[override]
        """What is planned of it, sheet mm (x, y); may be in parts."""
        shapely.prepare(self.kept)
        return self.kept

    def lay_patch(self, u0: float, s0_mm: float, reach_mm: float) -> PanelPatch:
        """Paper at the anchor as it lies on the whole part."""
        assert self.whole is not None
        return self.whole.lay_patch(u0, s0_mm, reach_mm)


@lru_cache(maxsize=16)
def keep_to(panel: Panel, kept: BaseGeometry) -> Panel:
    """The panel less what lies outside `kept` (a geometry in sheet mm). Its edges are what is left of its own, and
    'sleeve_left', 'sleeve_right' where the kept skin ends within it. The same panel when nothing is left over."""
    form = shapely.intersection(panel.form, kept)
    parts = [g for g in shapely.get_parts(form) if isinstance(g, shapely.Polygon) and g.area > 100.0]
    if not parts or sum(g.area for g in parts) > 0.999 * panel.form.area:
        return panel
    form = parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)
    near = shapely.buffer(form, HAIR_MM)
    edges = [Line(e.name, panel.from_mm(np.asarray(g.coords))) for e in panel.edges
             for g in _lines(shapely.intersection(shapely.LineString(panel.to_mm(e.us)), near))]
    inner = _lines(shapely.difference(form.boundary, shapely.buffer(panel.form.exterior, HAIR_MM)))
    left = 1.0 if panel.edge("armhole_left")[:, 0].mean() > 0 else -1.0
    for line in inner:
        xy = np.asarray(line.coords)
        side = "left" if xy[:, 0].mean() * left > 0 else "right"
        edges.append(Line(f"sleeve_{side}", panel.from_mm(xy)))
    made = {f: getattr(panel, f) for f in ("levels", "turn_mm", "x_mm", "y_mm", "xyz", "lines", "landmarks")}
    return KeptPanel(key=(*panel.key, "kept", shapely.to_wkb(form)), edges=tuple(edges), kept=form, whole=panel,
                     **made)


def _lines(geometry: BaseGeometry) -> list[shapely.LineString]:
    merged = shapely.line_merge(geometry) if geometry.geom_type == "MultiLineString" else geometry
    return [g for g in shapely.get_parts(merged) if isinstance(g, shapely.LineString) and g.length > 1.0]
