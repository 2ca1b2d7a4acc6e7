"""All the ways a motif could lie on a limb, and which of them may be clear of the pieces.

A try is a place of the lattice with one of the forms (size, turn, flip). How the outline falls on
skin depends on the form and the level only, so that is worked out once for each pair of the two and
moved round. A form is stood for by discs inside its outline and points on it: whatever lies too near
a piece by those, within the slack of the table, can't be a clear place; the rest is looked at closely later.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from composer.art.drawing import Drawing
from composer.body.cone_fit import LARGE_MM, SMALL_MM
from composer.body.limb import Limb
from composer.body.patch import fitted_cone, level_weights, on_limb
from composer.compose.best_place_field import FINE, Distances, Lattice
from composer.compose.chart import chart_of
from composer.compose.fit_samples import take_samples

DISCS, RIM, INNER = 14, 36, 40
BEND = 0.15
"""A disc may be so much smaller on skin than on paper: the most stretch that a proposal may have (0.10),
and the error of a distance across a taper."""
LOOSE = 0.025
"""Share of its way from the anchor: 0.020 was the most in 600 tries on arm and leg that lie flat enough, 0.011 in 95 of
100."""


@dataclass(frozen=True)
class Form:
    """A way to draw the motif: `scale`, `turn_deg`, `flip`."""

    scale: float
    turn_deg: float
    flip: bool

    def matrix(self) -> np.ndarray:
        """Linear map (2, 2) from the drawing to the patch chart."""
        a = np.radians(self.turn_deg)
        rot = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
        return rot @ np.diag([-self.scale if self.flip else self.scale, self.scale])


@dataclass(frozen=True, eq=False)
class Stamp:
    """A drawing as it is tried: `discs` (k, 2) with `radius` (k,), the largest first; `rim` (m, 2) on
    the outline; `inner` (n, 2) spread over it; `edge` all of its outline, `rings` as it was drawn; `size_mm` its
    longer side. mm at its own size."""

    discs: np.ndarray
    radius: np.ndarray
    rim: np.ndarray
    inner: np.ndarray
    edge: np.ndarray
    rings: tuple[np.ndarray, ...]
    size_mm: float


def stamp_of(drawing: Drawing) -> Stamp:
    """The drawing as discs and points."""
    fine = take_samples(Drawing(drawing.silhouette, ()), 400, 2.0)
    boundary = shapely.MultiLineString([np.vstack([r, r[:1]]) for r in drawing.silhouette if len(r) >= 3])
    gap = shapely.distance(shapely.points(fine.inner), boundary)
    picked: list[int] = []
    left = gap.copy()
    for _ in range(min(DISCS, len(gap))):
        i = int(left.argmax())
        if left[i] <= 0:
            break
        picked.append(i)
        away = np.hypot(*(fine.inner - fine.inner[i]).T)
        left = np.where(away < 0.75 * gap[i], 0.0, np.minimum(left, gap * np.clip(away / gap[i], 0.0, 1.0)))
    rim = fine.edge[:: max(1, len(fine.edge) // RIM)]
    inner = fine.inner[:: max(1, len(fine.inner) // INNER)]
    return Stamp(fine.inner[picked], gap[picked], rim, inner, fine.edge, drawing.silhouette,
                 max(float(v) for v in np.ptp(fine.edge, axis=0)))


@dataclass(frozen=True, eq=False)
class Pairs:
    """Form and row of each pair (n,), where its points fall on skin with the anchor at u = 0:
    `probe_u`, `probe_s` (n, k) discs first, then rim; `inner_u`, `inner_s` (n, m); `need` (n, k) mm of
    clear skin at each probe. `stretch` (n,) worst of the paper; `low`, `high` (n,): s span."""

    form: np.ndarray
    row: np.ndarray
    probe_u: np.ndarray
    probe_s: np.ndarray
    inner_u: np.ndarray
    inner_s: np.ndarray
    need: np.ndarray
    stretch: np.ndarray
    low: np.ndarray
    high: np.ndarray


def make_pairs(limb: Limb, lattice: Lattice, stamp: Stamp, forms: Sequence[Form], skin_break_mm: float,
               span: tuple[float, float], stretch_most: float) -> Pairs:
    """Every form at every row where it stays within `span` (s from, s to), lies flat enough and does
    not meet itself behind the limb."""
    probes = np.concatenate([stamp.discs, stamp.rim])
    radius = np.concatenate([stamp.radius, np.zeros(len(stamp.rim))])
    maps = np.array([f.matrix() for f in forms])
    p = np.einsum("fij,kj->fki", maps, probes)
    q = np.einsum("fij,kj->fki", maps, stamp.inner)
    every = np.einsum("fij,kj->fki", maps, stamp.edge)
    low, high = every[:, :, 1].min(axis=1), every[:, :, 1].max(axis=1)
    form, row = (x.ravel() for x in np.meshgrid(np.arange(len(forms)), np.arange(len(lattice.rows)), indexing="ij"))
    s0 = lattice.rows[row]
    tall = (s0 + low[form] * 0.8 > span[0] - 5) & (s0 + high[form] * 0.8 < span[1] + 5)
    form, row, s0 = form[tall], row[tall], s0[tall]
    levels, weights = np.array([level_weights([r @ m.T for r in stamp.rings]) for m in maps]).transpose(1, 0, 2)
    c1, b = fit_cones(limb, s0, levels[form], weights[form])
    du, s = to_skin(p[form], s0, c1, b)
    iu, is_ = to_skin(q[form], s0, c1, b)
    rim_s, rim_u = s[:, len(stamp.discs):], du[:, len(stamp.discs):]
    cone = c1[:, None] + b[:, None] * (s - s0[:, None])
    with np.errstate(divide="ignore", invalid="ignore"):
        stretch = np.where(cone > 0, np.abs(chart_of(limb).girth(s) / cone - 1), np.inf).max(axis=1)
    wide = np.ptp(rim_u, axis=1) + skin_break_mm / chart_of(limb).girth(s0)
    scale, far = np.array([f.scale for f in forms]), np.hypot(*probes.T)
    reach = float(np.hypot(*stamp.edge.T).max())
    loose = _loose_mm(scale * reach)
    good = ((rim_s.min(axis=1) >= span[0] - loose[form]) & (rim_s.max(axis=1) <= span[1] + loose[form])
            & (stretch < stretch_most) & (wide < 1))
    at = form[good]
    need = skin_break_mm + radius[None] * scale[at, None] * (1 - BEND) - loose[at, None] * far / reach
    return Pairs(form[good], row[good], du[good], s[good], iu[good], is_[good], need, stretch[good],
                 rim_s[good].min(axis=1), rim_s[good].max(axis=1))


def _loose_mm(reach_mm: np.ndarray) -> np.ndarray:
    """How far the outermost point of a piece that reaches so far may fall from where `fit_cones` has it, mm: large
    pieces lie on a cone that is sought more closely, where they are looked at one by one."""
    return LOOSE * reach_mm * np.clip((reach_mm - SMALL_MM) / (LARGE_MM - SMALL_MM), 0.0, 1.0)


def fit_cones(limb: Limb, s0: np.ndarray, levels: np.ndarray, weights: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What `composer.body.patch.lay_patch_under` fits first, for many anchors at once: girth c1 and change b (n,).
    `levels` and `weights` (n, k) of each one's outline."""
    s = s0[:, None] + levels
    weight = weights * on_limb(limb, s, levels[:, 1:2] - levels[:, :1]) + 1e-12
    return fitted_cone(levels, chart_of(limb).girth(s), weight)


def to_skin(xy: np.ndarray, s0: np.ndarray, c1: np.ndarray, b: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """`Patch.to_skin` for many patches at once: flat points (n, k, 2) to u from the anchor and s, (n, k)."""
    x, y = xy[..., 0], xy[..., 1]
    c1, b, s0 = c1[:, None], np.where(np.abs(b) < 1e-9, 1e-9, b)[:, None], s0[:, None]
    q = c1 + b * y
    h = np.hypot(b * x, q)
    return np.arctan2(b * x, q) / b, s0 + (b * (x * x + y * y) + 2 * c1 * y) / (h + c1)


def open_tries(pairs: Pairs, lattice: Lattice, field: Distances) -> tuple[np.ndarray, np.ndarray]:
    """Tries that may be clear of all pieces: (pair, column) indices. None that is clear is missing."""
    pair = np.repeat(np.arange(len(pairs.form)), lattice.columns)
    column = np.tile(np.arange(lattice.columns), len(pairs.form))
    at = field.row(pairs.probe_s)
    shift = np.rint(pairs.probe_u * field.columns).astype(np.int32) % field.columns
    # a column is rounded to the nearest cell: the slack of a cell covers both roundings
    k = 0
    while k < pairs.need.shape[1] and len(pair):
        more = 1 if k < 3 else 6
        for j in range(k, min(k + more, pairs.need.shape[1])):
            mm = field.mm[at[pair, j], column * FINE + shift[pair, j]]
            keep = mm >= pairs.need[pair, j] - field.slack_mm
            pair, column = pair[keep], column[keep]
        k += more
    return pair, column
