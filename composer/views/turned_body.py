"""Chest or back with the parts beside it as drawn from a standpoint: flat vectors, part by part from behind.

Parallel light, level sight. Of a panel that skin is seen whose normal looks at the eye; where a fold of it hides
another bit of it is not looked for. Parts hide each other in the order in which they stand, as wholes. Limbs are
drawn as `composer.views.turned` draws them, moved to where they stand (`composer.views.panel_shape.parts_beside`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.limb import Limb
from composer.body.panel import Panel
from composer.views.surface import Surface
from composer.views.turned import Standpoint, Turned, TurnedPiece, turned
from composer.views.worn import Worn

STEP_MM, SLIVER_MM = 7.0, 3.5
SHADES = (0.62, 0.42, 0.22)
"""Skin whose normal looks less than this at the eye is drawn in one more veil of shade."""


@dataclass(frozen=True)
class Standing:
    """A part and where it stands: turned half round or not, then moved by `shift` (3,) mm; `art` as it is worn."""

    part: str
    limb: Limb | Panel
    art: tuple[Worn, ...]
    turned: bool = False
    shift: np.ndarray = field(default_factory=lambda: np.zeros(3))


@dataclass(frozen=True)
class PartSeen:
    """One part as seen, mm, x right, y up: `outline` rings of the skin that shows (even-odd), `inner` the side of a
    panel that looks away (rings, no skin of ours), `shades` veils of shade, each rings; `levels` (name, line);
    `pieces` back to front; `limb` the same as a limb is drawn by itself, with its soft ends."""

    part: str
    outline: list[np.ndarray]
    inner: list[np.ndarray]
    shades: list[list[np.ndarray]]
    levels: tuple[tuple[str, np.ndarray], ...]
    pieces: tuple[TurnedPiece, ...]
    limb: Turned | None = None


@dataclass(frozen=True)
class BodySeen:
    """All parts from a standpoint, back to front."""

    u: float
    parts: tuple[PartSeen, ...]

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        rows = [r for p in self.parts for r in (*p.outline, *p.inner, *(p.limb.caps if p.limb else ()))]
        (x0, y0), (x1, y1) = np.concatenate(rows).min(axis=0), np.concatenate(rows).max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)


def body_seen(parts: Sequence[Standing], u: float, mirror: bool = False) -> BodySeen:
    """The parts from a far, level standpoint that looks at `u` (turns) of the first of them."""
    toward = np.array([np.sin(2 * np.pi * u), -np.cos(2 * np.pi * u), 0.0])
    rows = []
    for n, p in enumerate(parts):
        own_u = u + 0.5 if p.turned else u
        seen = _panel(p, own_u, mirror) if isinstance(p.limb, Panel) else _limb(p, own_u, mirror)
        stand = Standpoint(Surface(p.limb, p.part), u, mirror)
        moved = _moved(seen, stand.flat(np.asarray(p.shift, float)[None])[0])
        rows.append((float(_middle(p) @ toward), n, moved))
    return BodySeen(u, tuple(row[2] for row in sorted(rows, key=lambda row: row[:2])))


def _middle(p: Standing) -> np.ndarray:
    way = np.array([-1.0, -1.0, 1.0]) if p.turned else np.ones(3)
    us = p.limb.outline if isinstance(p.limb, Panel) else np.array([[0.0, p.limb.s_max], [0.5, p.limb.s_max]])
    return Surface(p.limb, p.part).xyz(us).mean(axis=0) * way + p.shift


def _limb(p: Standing, u: float, mirror: bool) -> PartSeen:
    seen = turned(Surface(p.limb, p.part), p.art, u, mirror)
    return PartSeen(p.part, [seen.outline], [], [], seen.levels, seen.pieces, seen)


def _panel(p: Standing, u: float, mirror: bool) -> PartSeen:
    panel = p.limb
    assert isinstance(panel, Panel)
    stand = Standpoint(Surface(panel, p.part), u, mirror)
    facing = _Facing(panel)

    def flat(rings: Sequence[np.ndarray]) -> list[np.ndarray]:
        rings = [r for r in rings if len(r) > 2]
        if not rings:
            return []
        cuts = np.cumsum([len(r) for r in rings])[:-1]
        return np.split(stand.flat(panel.embed(panel.from_mm(np.concatenate(rings)))), cuts)

    def of(shape: BaseGeometry) -> list[np.ndarray]:
        return flat(_rings(shapely.segmentize(shape, 6.0)))

    away = _no_slivers(shapely.difference(panel.form, facing.above(u, 0.0)), panel.form)
    shown = _no_slivers(shapely.difference(panel.form, away), panel.form)
    shapely.prepare(shown)
    away = shapely.difference(panel.form, shown)
    pieces = []
    for w in p.art:
        ground = flat(_within(panel, w.ground, shown))
        if ground:
            layers = tuple((role, flat(_within(panel, rings, shown))) for role, rings in w.layers)
            pieces.append(TurnedPiece(w.piece, ground, flat(_within(panel, w.silhouette, shown)), layers))
    lines = tuple((ln.name, stand.flat(panel.embed(part))) for ln in panel.lines
                  for part in _shown_lines(panel, ln.us, shown))
    shades = [of(shapely.difference(shown, facing.above(u, level))) for level in SHADES]
    return PartSeen(p.part, of(shown), of(away), shades, lines, tuple(pieces))


def _no_slivers(shape: BaseGeometry, form: BaseGeometry) -> BaseGeometry:
    """Less what is thinner than twice SLIVER_MM: along edges that all but look away the grid leaves a row of teeth."""
    inner = shapely.buffer(shape, -SLIVER_MM, join_style="mitre")
    return shapely.intersection(shapely.buffer(inner, SLIVER_MM, join_style="mitre"), form)


def _within(panel: Panel, rings: Sequence[np.ndarray], shown: BaseGeometry) -> list[np.ndarray]:
    """Rings on skin, filled even-odd, to what of them is seen, on the panel's sheet, mm; each ring is cut by itself,
    which comes to the same (an even-odd sum cut by an area is the sum of what is cut)."""
    flat = [panel.to_mm(r) for r in rings if len(r) > 2]
    if not flat or shown.is_empty:
        return []
    xy = np.concatenate(flat)
    starts = np.cumsum([0, *(len(r) for r in flat[:-1])])
    inside = np.add.reduceat(shapely.contains_xy(shown, xy[:, 0], xy[:, 1]).astype(int), starts)
    out = []
    for ring, n in zip(flat, inside.tolist(), strict=True):
        if n == len(ring):
            out.append(ring)
        elif n or np.ptp(ring, axis=0).max() > 2 * STEP_MM:
            cut = shapely.intersection(shapely.make_valid(Polygon(ring)), shown)
            out += _rings(shapely.segmentize(cut, 5.0))
    return out


def _rings(shape: BaseGeometry) -> list[np.ndarray]:
    """All rings of the polygons in a geometry."""
    polygons = [g for g in shapely.get_parts(shape) if isinstance(g, Polygon) and not g.is_empty]
    return [np.asarray(r.coords)[:-1] for g in polygons for r in (g.exterior, *g.interiors)]


def _shown_lines(panel: Panel, us: np.ndarray, shown: BaseGeometry) -> list[np.ndarray]:
    cut = shapely.intersection(shapely.LineString(panel.to_mm(us)), shown)
    return [panel.from_mm(np.asarray(g.coords)) for g in shapely.get_parts(cut) if g.geom_type == "LineString"]


class _Facing:
    """How far the skin of a panel looks at an eye: normals on a grid of triangles over its sheet."""

    def __init__(self, panel: Panel) -> None:
        self.panel = panel

    @cached_property
    def _grid(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        x0, y0, x1, y1 = self.panel.form.bounds
        x, y = (np.linspace(a - 1, b + 1, max(3, int((b - a) / STEP_MM) + 2)) for a, b in ((x0, x1), (y0, y1)))
        xy = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
        i = (np.arange(len(y) - 1)[:, None] * len(x) + np.arange(len(x) - 1)).ravel()
        corner = np.concatenate([np.column_stack([i, i + 1, i + len(x) + 1]),
                                 np.column_stack([i, i + len(x) + 1, i + len(x)])])
        return xy, corner, Surface(self.panel, "").normals(self.panel.from_mm(xy))

    def above(self, u: float, level: float) -> BaseGeometry:
        """The skin whose normal looks more than `level` (cosine) at a standpoint in front of u, on the sheet, mm."""
        xy, corner, normals = self._grid
        a = 2 * np.pi * u
        f = normals @ np.array([np.sin(a), -np.cos(a), 0.0]) - level
        side = (f[corner] > 0).sum(axis=1)
        whole = shapely.polygons(xy[corner[side == 3]])
        cut = [_above(xy[c], f[c]) for c in corner[(side == 1) | (side == 2)]]
        form = shapely.union_all([*whole, *cut]) if len(whole) or cut else Polygon()
        return shapely.intersection(form, self.panel.form)


def _above(xy: np.ndarray, f: np.ndarray) -> Polygon:
    """The part of a triangle (3, 2) on which a linear function with these corner values is above 0."""
    out = []
    for k in range(3):
        a, b = k, (k + 1) % 3
        if f[a] > 0:
            out.append(xy[a])
        if (f[a] > 0) != (f[b] > 0):
            out.append(xy[a] + (xy[b] - xy[a]) * f[a] / (f[a] - f[b]))
    return Polygon(out)


def _moved(p: PartSeen, by: np.ndarray) -> PartSeen:
    def go(rings: Sequence[np.ndarray]) -> list[np.ndarray]:
        return [r + by for r in rings]

    pieces = tuple(TurnedPiece(t.piece, go(t.ground), go(t.silhouette), tuple((role, go(r)) for role, r in t.layers))
                   for t in p.pieces)
    levels = tuple((name, line + by) for name, line in p.levels)
    limb = None if p.limb is None else Turned(p.limb.u, p.limb.outline + by, (p.limb.caps[0] + by, p.limb.caps[1] + by),
                                              levels, pieces)
    return PartSeen(p.part, go(p.outline), go(p.inner), [go(s) for s in p.shades], levels, pieces, limb)
