"""How narrow the open gaps between the lines of a drawing are.

At points all along the edges of the ink the largest empty circle that touches there is found by
shrinking a ball (Ma, Bae and Choi, The Visual Computer 2012, from memory); what it touches on
its far side is across the gap. Edges whose normals are less than FACING degrees apart lie in the corner
where two lines meet; corners always fill in a little and are left out. Light, mid and dark washes are
no lines: gaps run over them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from composer.art.drawing import Drawing, rings_to_geometry
from composer.compose.fit_samples import Memo
from composer.plan.scene import Laid

LINES = ("black", "line")
FACING = 150.0
STEP_MM, REACH_MM = 0.6, 4.0
TOUCH_MM = 0.15
"""Lines nearer than this on skin are one line to a needle (0.25 mm and up): a slit in the drawing, no gap."""

_ROUNDS = 8


@dataclass(frozen=True, eq=False)
class LineGaps:
    """Gaps of a drawing at the size it was measured at, from the narrowest: `width` (n,) mm and the
    `length` (n,) mm of gap that is so narrow or narrower (half of both its edges together). `whole_mm`: half of
    all edges of the ink, as much gap as there could be."""

    width: np.ndarray
    length: np.ndarray
    whole_mm: float = 0.0

    def narrowest(self, scale: float, run_mm: float, share: float = 0.0) -> float | None:
        """Width, mm, that at this scale `run_mm` of gap or this share of all fall below, whichever is more; None
        where gaps are wide."""
        run = max(run_mm, share * self.whole_mm * scale) + self._joined(scale)
        i = int(np.searchsorted(self.length * scale, run))
        return float(self.width[i] * scale) if i < len(self.width) else None

    def narrower(self, scale: float, width_mm: float) -> float:
        """Length, mm, of gap narrower than `width_mm` at this scale."""
        return max(0.0, self._below(scale, width_mm) - self._joined(scale))

    def _below(self, scale: float, width_mm: float) -> float:
        i = int(np.searchsorted(self.width * scale, width_mm))
        return float(self.length[i - 1] * scale) if i else 0.0

    def _joined(self, scale: float) -> float:
        return self._below(scale, TOUCH_MM)


_known: Memo[LineGaps] = Memo()


def _key(laid: Laid) -> tuple[str, int]:
    return laid.piece.art, len(laid.flat.layers)


def gaps_known(laid: Laid) -> bool:
    """Whether `line_gaps` of this drawing has been measured already."""
    return _key(laid) in _known


def remembered(art: str, drawing: Drawing) -> bool:
    """The same for a drawing by its digest."""
    return (art, len(drawing.layers)) in _known


def remember(art: str, drawing: Drawing, gaps: LineGaps) -> None:
    """Take what was measured of a drawing at its own size before (see `measure_gaps`), so that it need not be again."""
    _known.put((art, len(drawing.layers)), gaps)


def gaps_of_widths(width: np.ndarray, whole_mm: float, step_mm: float = STEP_MM) -> LineGaps:
    """Gaps from their sorted widths (n,), mm, one for each point `step_mm` apart along the ink's edges."""
    return LineGaps(width, np.arange(1, len(width) + 1) * step_mm / 2, whole_mm)


def line_gaps(laid: Laid) -> LineGaps:
    """Gaps of a laid piece's drawing at scale 1 (kept for the drawing, since it takes a while)."""
    p = laid.piece

    def make() -> LineGaps:
        found = measure_gaps(laid.flat, STEP_MM * p.scale, REACH_MM * p.scale)
        return LineGaps(found.width / p.scale, found.length / p.scale, found.whole_mm / p.scale)

    return _known.get_or(_key(laid), make)


def measure_gaps(drawing: Drawing, step_mm: float = STEP_MM, reach_mm: float = REACH_MM) -> LineGaps:
    """Gaps of a drawing up to `reach_mm` wide, at points `step_mm` apart on the ink's edges."""
    points, _, width = gaps_along(drawing, step_mm, reach_mm)
    got = np.sort(width[~np.isnan(width)])
    return gaps_of_widths(got, len(points) * step_mm / 2, step_mm)


def gaps_along(drawing: Drawing, step_mm: float = STEP_MM,
               reach_mm: float = REACH_MM) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points (n, 2) `step_mm` apart on the ink's edges, the unit normals (n, 2) away from the ink, and the width (n,)
    of the gap before each: nan where nothing that faces it lies within `reach_mm`."""
    ink = [rings_to_geometry(la.rings) for la in drawing.layers if la.role in LINES and la.rings]
    points, normals = _edges([r for la in drawing.layers if la.role in LINES for r in la.rings], step_mm)
    if not len(points):
        return points, normals, np.zeros(0)
    shy = 0.02 * reach_mm / REACH_MM
    ahead, back = (_in_ink(ink, points + k * shy * normals) for k in (1, -1))
    edge = ahead != back                                      # not inside another stroke
    points, normals = points[edge], np.where(ahead[edge, None], -normals[edge], normals[edge])
    width, facing = _balls(points, normals, reach_mm)
    return points, normals, np.where(facing, width, np.nan)


def _edges(rings: list[np.ndarray], step_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """Points (n, 2) `step_mm` apart along all rings and unit normals there."""
    rings = [r for r in rings if len(r) >= 3]
    if not rings:
        return np.zeros((0, 2)), np.zeros((0, 2))
    a = np.concatenate(rings)
    b = np.concatenate([np.roll(r, -1, axis=0) for r in rings])
    side = b - a
    long = np.hypot(*side.T)
    a, side, long = a[long > 0], side[long > 0], long[long > 0]
    stop = np.cumsum(long)
    at = np.arange(step_mm / 2, stop[-1], step_mm)
    i = np.minimum(np.searchsorted(stop, at), len(long) - 1)
    t = (at - (stop[i] - long[i])) / long[i]
    way = side[i] / long[i, None]
    return a[i] + side[i] * t[:, None], np.column_stack([way[:, 1], -way[:, 0]])


def _in_ink(ink: list[shapely.Geometry], xy: np.ndarray) -> np.ndarray:
    out = np.zeros(len(xy), bool)
    for shape in ink:
        shapely.prepare(shape)
        out |= shapely.contains_xy(shape, *xy.T)
    return out


def _balls(p: np.ndarray, n: np.ndarray, reach_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """How far off, square to the edge, the ink lies that the largest empty circle at each point touches, inf beyond
    reach, and whether that ink faces the point."""
    tree = cKDTree(p)
    r = np.full(len(p), reach_mm / 2)
    touch = np.full(len(p), -1)
    live = np.arange(len(p))
    for _ in range(_ROUNDS):
        near, q = tree.query(p[live] + r[live, None] * n[live], distance_upper_bound=reach_mm)
        hit = (near < r[live] * (1 - 1e-6) - 1e-9) & (q < len(p))
        live, q = live[hit], q[hit]
        if not len(live):
            break
        to = p[q] - p[live]
        lean = np.einsum("ij,ij->i", to, n[live])
        good = lean > 1e-9
        live, q, to, lean = live[good], q[good], to[good], lean[good]
        r[live] = np.minimum(r[live], np.einsum("ij,ij->i", to, to) / (2 * lean))
        touch[live] = q
    out = np.full(len(p), np.inf)
    has = np.flatnonzero(touch >= 0)
    other = touch[has]
    out[has] = np.einsum("ij,ij->i", p[other] - p[has], n[has])  # a step along the far edge changes nothing
    facing = np.zeros(len(p), bool)
    facing[has] = np.einsum("ij,ij->i", n[other], n[has]) < np.cos(np.radians(FACING))
    return out, facing
