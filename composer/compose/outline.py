"""What the search needs to know of one piece: points along its edge, where it covers skin, and
its edge moved out by the skin break.

All of it follows from the piece alone, so it is worked out once for each place a piece lies in.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.kept_skin import OpenLimb
from composer.body.panel import Panel
from composer.body.surface import Surface
from composer.compose.chart import Chart, chart_of
from composer.compose.rim import ROW_T, band, is_low, no_skin
from composer.plan.scene import Laid

STEP_MM = 2.2
"""Distance of the points along an edge; the widest circles are polished on the true edges later."""

SPARE_MM = 0.05
"""Added to the skin break, because chords of a rounded offset and the last tidying fall a little short."""

FAR, NEAR = "border:far", "border:near"
"""The two ends of a limb as neighbours: the wrist or ankle cuff, the shoulder or hip edge."""


@dataclass(frozen=True, eq=False)
class Edge:
    """A piece (or a border) as an obstacle.

    `points` (n, 2) in the chart with u in [0, 1); `turns` (n,) whole turns to add for the u of the
    piece's own unwrapped outline. `cover`: what it covers, a geometry in the chart, u unwrapped;
    `kept_off`: the same grown by the skin break, a geometry in (u, s mm). Both None for a border.
    `name` changes with the place or the drawing, never with the title or depth.
    """

    id: str
    name: bytes
    points: np.ndarray
    turns: np.ndarray
    cover: BaseGeometry | None = None
    kept_off: BaseGeometry | None = None

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Chart bounds of what it covers: u, t, u, t."""
        return self.cover.bounds if self.cover is not None else (0.0, 0.0, 0.0, 0.0)

    @cached_property
    def kept_box(self) -> tuple[float, float, float, float]:
        """Skin bounds of what is kept off: u, s, u, s; nothing for a border."""
        return self.kept_off.bounds if self.kept_off is not None else (0.0, np.inf, 0.0, -np.inf)


def name_of(laid: Laid, skin_break_mm: float) -> bytes:
    """Name of a piece as it lies: the same for the same place and drawing."""
    p = laid.piece
    text = f"{p.u!r} {p.s_mm!r} {p.turn_deg!r} {p.scale!r} {p.flip} {laid.flat.digest} {skin_break_mm!r}"
    return hashlib.blake2b(text.encode(), digest_size=12).digest()


def edge_of(limb: Surface, laid: Laid, skin_break_mm: float) -> Edge:
    """The piece as an obstacle."""
    chart = chart_of(limb)
    flat = shapely.segmentize(shapely.simplify(laid.flat.outline, 0.02), 3.0)

    def onto(xy: np.ndarray) -> np.ndarray:
        return chart.to_chart(laid.patch.to_skin(xy))

    rings = [_walk(np.asarray(r.coords)) for r in _rings(flat)]
    us = laid.patch.to_skin(np.concatenate(rings)) if rings else np.zeros((0, 2))
    us = us[limb.inside(us) if isinstance(limb, Panel) else limb.has(us) if isinstance(limb, OpenLimb) else
            (us[:, 1] > limb.s_min) & (us[:, 1] < limb.s_max)]
    ut = chart.to_chart(us)
    points, turns = _scattered(ut, name_of(laid, 0.0))
    cover = shapely.make_valid(shapely.transform(flat, onto))
    return Edge(laid.piece.id, name_of(laid, skin_break_mm), points, turns, cover,
                _grow(chart, laid, flat, skin_break_mm))


def _scattered(ut: np.ndarray, name: bytes) -> tuple[np.ndarray, np.ndarray]:
    """Chart points (n, 2) with u in [0, 1) and the whole turns taken off, moved by a hair's breadth of fixed scatter,
    so that no four points ever lie on one circle exactly."""
    rng = np.random.Generator(np.random.PCG64(int.from_bytes(name[:8], "big")))
    ut = ut + rng.uniform(-1e-7, 1e-7, ut.shape)
    turns = np.floor(ut[:, 0])
    return np.column_stack([ut[:, 0] - turns, ut[:, 1]]), turns.astype(int)


def border_edges(limb: Surface) -> tuple[Edge, Edge]:
    """The two ends of the limb as rows of points; the edges of chest or back (see `composer.compose.rim`)."""
    if isinstance(limb, Panel):
        return _panel_borders(limb)
    chart = chart_of(limb)
    out = []
    for who, t, c in ((FAR, chart.t[0], chart.c[0]), (NEAR, chart.t[-1], chart.c[-1])):
        n = max(24, int(np.ceil(c / 0.9)))
        u = (np.arange(n) + (0.37 if who == FAR else 0.81)) / n
        out.append(Edge(who, who.encode() + f"{n}{t!r}".encode(), np.column_stack([u, np.full(n, t)]),
                        np.zeros(n, int)))
    if isinstance(limb, OpenLimb):
        if limb.far:
            out[0] = _open_border(chart, out[0], limb.far, chart.c[0], limb.far_at, limb.below())
        if limb.near:
            out[1] = _open_border(chart, out[1], limb.near, chart.c[-1], limb.near_at, limb.above())
    return out[0], out[1]


def _open_border(chart: Chart, row: Edge, line: tuple[tuple[float, float], ...], girth_mm: float,
                 at: Callable[[np.ndarray], np.ndarray], off: Polygon) -> Edge:
    """An edge of an open limb that is a line of its own: its row with points along the line, and all beyond it, `off`
    in (u, s), as covered."""
    name = hashlib.blake2b(repr(line).encode(), digest_size=12).digest()
    u = np.linspace(-0.5, 0.5, max(24, int(np.ceil(girth_mm / STEP_MM))), endpoint=False)
    points, turns = _scattered(chart.to_chart(np.column_stack([u, at(u)])), name)
    return Edge(row.id, row.name + name, np.concatenate([row.points, points]), np.concatenate([row.turns, turns]),
                shapely.transform(off, chart.to_chart), off)


def _panel_borders(panel: Panel) -> tuple[Edge, Edge]:
    name = hashlib.blake2b(repr(panel.key).encode(), digest_size=12).digest()
    ends = panel.s_min / panel.turn_mm - ROW_T, panel.s_max / panel.turn_mm + ROW_T
    out = []
    for who, t, n in ((FAR, ends[0], 41), (NEAR, ends[1], 43)):
        row = np.column_stack([(np.arange(n) + 0.37) / n, np.full(n, t)])
        walked = [_walk(panel.to_mm(e.us), closed=False) for e in panel.edges if is_low(e.name) == (who == FAR)]
        points, turns = _scattered(np.concatenate([np.zeros((0, 2)), *walked]) / panel.turn_mm, name)
        far = who == FAR   # one of the two stands for what is no skin, or it would be asked for twice
        turns = np.concatenate([np.zeros(n, int), turns])
        out.append(Edge(who, who.encode() + name, np.concatenate([row, points]), turns,
                        no_skin(panel) if far else None, band(panel) if far else None))
    return out[0], out[1]


def _rings(geometry: BaseGeometry) -> list[BaseGeometry]:
    polys = [g for g in shapely.get_parts(geometry) if isinstance(g, Polygon)]
    return [r for p in polys for r in (p.exterior, *p.interiors)]


def _walk(path: np.ndarray, closed: bool = True) -> np.ndarray:
    """Points about STEP_MM apart on a path (n, 2); without the repeated end of a closed one."""
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    n = max(4, int(np.ceil(length[-1] / STEP_MM)))
    at = np.arange(n if closed else n + 1) * (length[-1] / n)
    return np.column_stack([np.interp(at, length, path[:, 0]), np.interp(at, length, path[:, 1])])


def _grow(chart: Chart, laid: Laid, flat: BaseGeometry, by_mm: float) -> BaseGeometry:
    """The outline moved out by `by_mm` of true skin, in (u, s).

    Paper is stretched on skin, so each point of the flat offset is slid along its own normal until
    it stands off by the right length on skin.
    """
    want = by_mm + SPARE_MM
    rim = shapely.get_coordinates(shapely.segmentize(flat.boundary, 0.4))
    nearest = cKDTree(rim)
    grown = shapely.segmentize(shapely.simplify(flat.buffer(want + 0.01, quad_segs=8), 0.01), 3.0)

    def onto(xy: np.ndarray) -> np.ndarray:
        foot = rim[nearest.query(xy)[1]]
        a, b = laid.patch.to_skin(foot), laid.patch.to_skin(xy)
        d = chart.distance(a, b)
        stretch = np.where(d > want / 4, want / np.maximum(d, 1e-9), 1.0)
        return a + (b - a) * stretch[:, None]

    return shapely.make_valid(shapely.transform(grown, onto))
