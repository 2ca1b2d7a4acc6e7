"""A part that does not close round a limb: chest or upper back, on its own flat sheet.

The sheet is laid once for the whole part, with as little stretch as can be (see `panel_flatten`),
and the part's coordinates are places on it: s in mm up from the lower edge on the midline, and u
in shares of the chest girth from the midline, so that x = u * girth mm, u = 0.25 lies about at the side, and
what reads a limb finds here one of constant girth that is skin between its edges only. What
the sheet is worth is known everywhere: `metric` has the true lengths.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import ClassVar

import numpy as np
import shapely
from scipy.interpolate import NdBSpline, RectBivariateSpline

from composer.body.limb import Level
from composer.body.panel_patch import PanelPatch, lay_panel_patch


@dataclass(frozen=True)
class Line:
    """A named line on the panel, (n, 2) of (u, s): a level as it really runs, or an edge."""

    name: str
    us: np.ndarray = field(compare=False, repr=False)


@dataclass(frozen=True, eq=False)
class Panel:
    """The skin of a panel.

    `key` names it: equal keys are equal panels. `turn_mm` is what one unit of u is worth on the
    sheet. `x_mm`, `y_mm`, `xyz`: table (nx, ny, 3) of places in space over the sheet, past the
    edges too (space as for a limb: the part looks towards -y, +x to the viewer's right, z up).
    `edges` follow each other counter-clockwise round the part; `lines` are quiet levels to draw;
    `landmarks` are named places (u, s). `levels` stand where the lines cross the midline.
    """

    key: tuple
    levels: tuple[Level, ...]
    turn_mm: float
    x_mm: np.ndarray = field(repr=False)
    y_mm: np.ndarray = field(repr=False)
    xyz: np.ndarray = field(repr=False)
    edges: tuple[Line, ...] = field(repr=False)
    lines: tuple[Line, ...] = field(repr=False)
    landmarks: dict[str, tuple[float, float]] = field(repr=False)

    closed: ClassVar[bool] = False
    """A limb closes on itself after one turn; a panel has edges all round."""

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Panel) and other.key == self.key

    @cached_property
    def outline(self) -> np.ndarray:
        """The edges as one ring (n, 2) of (u, s), counter-clockwise."""
        return np.concatenate([e.us[:-1] for e in self.edges])

    @cached_property
    def form(self) -> shapely.Polygon:
        """The outline in sheet mm (x, y)."""
        form = shapely.Polygon(self.to_mm(self.outline))
        shapely.prepare(form)
        return form

    @property
    def s_min(self) -> float:
        """Lowest place of the outline, mm."""
        return self.levels[0].s_mm

    @property
    def s_max(self) -> float:
        """Highest place of the outline, mm."""
        return self.levels[-1].s_mm

    @property
    def midline_low(self) -> float:
        """Where the midline meets the lower edge, s mm."""
        low = self.edge("lower")
        return float(np.interp(0.0, low[:, 0], low[:, 1]))

    @property
    def midline_top(self) -> float:
        """Where the midline ends above, s mm: the notch or the nape."""
        return self.landmarks["notch" if "notch" in self.landmarks else "nape"][1]

    def to_mm(self, us: np.ndarray) -> np.ndarray:
        """(u, s) to sheet mm (x, y)."""
        return np.asarray(us, float) * (self.turn_mm, 1.0)

    def from_mm(self, xy: np.ndarray) -> np.ndarray:
        """Sheet mm (x, y) to (u, s)."""
        return np.asarray(xy, float) / (self.turn_mm, 1.0)

    def girth(self, s_mm: np.ndarray | float) -> np.ndarray:
        """What one unit of u is worth, mm: the same everywhere."""
        return np.full(np.shape(s_mm), self.turn_mm)

    def slope(self, s_mm: np.ndarray | float) -> np.ndarray:
        """No taper: the sheet is flat."""
        return np.zeros(np.shape(s_mm))

    def area_below(self, s_mm: np.ndarray | float) -> np.ndarray:
        """Sheet area, mm2 a unit of u, up to `s_mm` (what `composer.body.metric` integrates)."""
        return self.turn_mm * (np.asarray(s_mm, float) - self.s_min)

    def area_mm2(self, s_from: float | None = None, s_to: float | None = None) -> float:
        """Sheet area within the edges, mm2, between two heights. `skin_area_mm2` is the true one."""
        a = self.s_min if s_from is None else s_from
        b = self.s_max if s_to is None else s_to
        return float(shapely.intersection(self.form, shapely.box(-1e5, a, 1e5, b)).area)

    def skin_area_mm2(self, ring: np.ndarray | None = None, step_mm: float = 2.0) -> float:
        """True skin area inside a ring of (u, s) (the outline by default), mm2: raster of the metric."""
        form = self.form if ring is None else shapely.Polygon(self.to_mm(ring))
        x0, y0, x1, y1 = form.bounds
        across, up = (np.arange(a + step_mm / 2, b, step_mm) for a, b in ((x0, x1), (y0, y1)))
        x, y = (g.ravel() for g in np.meshgrid(across, up))
        inside = shapely.contains_xy(form, x, y)
        us = self.from_mm(np.column_stack([x[inside], y[inside]]))
        grown = float(np.sqrt(np.linalg.det(self.metric(us))).mean()) if len(us) else 1.0
        return grown * float(form.area)

    def inside(self, us: np.ndarray) -> np.ndarray:
        """Which of the points (n, 2) lie within the edges."""
        xy = self.to_mm(us)
        return shapely.contains_xy(self.form, xy[:, 0], xy[:, 1])

    @cached_property
    def outside(self) -> shapely.Geometry:
        """What of one turn is no skin of this part, as a geometry in (u, s) over u -0.5..0.5 and the part's
        heights: the search for gaps takes it for covered."""
        return shapely.difference(shapely.box(-0.5, self.s_min, 0.5, self.s_max), shapely.Polygon(self.outline))

    @cached_property
    def _rim(self) -> shapely.Geometry:
        rim = self.form.boundary
        shapely.prepare(rim)
        return rim

    def within_mm(self, us: np.ndarray, far_mm: float = np.inf) -> np.ndarray:
        """How far inside the edges the points (n, 2) lie, sheet mm; negative outside. What is further off than `far_mm`
        is told as inf."""
        at = shapely.points(self.to_mm(us))
        near = np.ones(len(at), bool) if np.isinf(far_mm) else shapely.dwithin(self._rim, at, far_mm)
        off = np.full(len(at), np.inf)
        off[near] = shapely.distance(self._rim, at[near])
        return np.where(self.inside(us), off, -off)

    @cached_property
    def _space(self) -> NdBSpline:
        parts = [RectBivariateSpline(self.x_mm, self.y_mm, self.xyz[:, :, k], kx=5, ky=5) for k in range(3)]
        knots = parts[0].get_knots()
        size = tuple(len(t) - 6 for t in knots)
        return NdBSpline(knots, np.stack([f.get_coeffs().reshape(size) for f in parts], axis=2), 5)

    def _held(self, xy: np.ndarray) -> np.ndarray:
        return np.clip(xy, (self.x_mm[0], self.y_mm[0]), (self.x_mm[-1], self.y_mm[-1]))

    def tangents(self, us: np.ndarray) -> np.ndarray:
        """d(space) / d(sheet mm), (n, 3, 2)."""
        xy = self._held(self.to_mm(us))
        return np.stack([self._space(xy, nu=(1 - k, k)) for k in (0, 1)], axis=2)

    def embed(self, us: np.ndarray) -> np.ndarray:
        """Points (n, 2) of (u, s) to space (n, 3), mm; straight on beyond the table."""
        xy = self.to_mm(us)
        at = self._held(xy)
        space = self._space(at)
        off = xy - at
        if np.any(off):
            space += np.einsum("nik,nk->ni", self.tangents(us), off)
        return space

    def metric(self, us: np.ndarray) -> np.ndarray:
        """True lengths in the sheet: the first fundamental form (n, 2, 2), 1 where the sheet is true."""
        j = self.tangents(us)
        return np.einsum("nki,nkj->nij", j, j)

    def sheet_stretch(self, us: np.ndarray) -> np.ndarray:
        """Principal stretches (n, 2), larger first, of sheet -> skin."""
        return np.sqrt(np.linalg.eigvalsh(self.metric(us))[:, ::-1])

    def length(self, us: np.ndarray) -> float:
        """True length, mm, of a line through points (n, 2) of (u, s), straight on the sheet between them."""
        return float(self.steps(us).sum())

    def steps(self, us: np.ndarray) -> np.ndarray:
        """True lengths (n - 1,), mm, of the pieces of such a line."""
        us = np.asarray(us, float)
        d = np.diff(self.to_mm(us), axis=0)
        knots, weight = np.polynomial.legendre.leggauss(5)
        total = np.zeros(len(d))
        for k, w in zip((knots + 1) / 2, weight / 2, strict=True):
            m = self.metric(us[:-1] + (us[1:] - us[:-1]) * k)
            total += w * np.sqrt(np.einsum("ni,nij,nj->n", d, m, d))
        return total

    def lay_patch(self, u0: float, s0_mm: float, reach_mm: float) -> PanelPatch:
        """Paper at the anchor, fitted to the skin within `reach_mm` (see `composer.body.panel_patch`)."""
        return lay_panel_patch(self, u0, s0_mm, reach_mm)

    def edge(self, name: str) -> np.ndarray:
        """The edge of that name, (n, 2) of (u, s). Raises KeyError with the sentence to show."""
        for e in self.edges:
            if e.name == name:
                return e.us
        raise KeyError(f"This part has no edge '{name}'; it has {', '.join(e.name for e in self.edges)}.")
