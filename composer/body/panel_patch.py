"""Paper on a panel: the flat chart in which a piece lies rigid, fitted to the skin it covers.

As on a limb, the chart is the one that strains paper least over the stretch of the piece. A panel
curves both ways, so the fit is a cubic from sheet to paper (as rigid as possible, see
`panel_flatten`), over a disc round the anchor; beyond the disc it goes on straight. Back is by Newton.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from composer.body.panel_flatten import basis, principal, rotation, slope
from composer.body.patch import Patch

if TYPE_CHECKING:
    from composer.body.panel import Panel

_POWERS = np.array([(i, j) for n in (1, 2, 3) for i in range(n + 1) for j in (n - i,)])
_SPOTS = np.array([(x, y) for x in np.linspace(-1, 1, 13) for y in np.linspace(-1, 1, 13) if np.hypot(x, y) <= 1.02])
_BACK = np.array([(i, j) for n in range(6) for i in range(n + 1) for j in (n - i,)])
"""Powers of the polynomial from paper back to the sheet."""
MANY = 200
"""For so many points it pays to begin from a polynomial."""
LEAST_MM, MOST_MM = 12.0, 190.0
MOST_SPOTS = 180


@dataclass(frozen=True)
class PanelPatch(Patch):
    """Flat chart at the anchor (u0, s0 mm). `coef` (9, 2): the cubic from sheet mm, taken from the
    anchor and divided by `reach_mm`, to paper mm. `c1_mm` and `b` (0) are those of a limb's patch that
    would lie flat in the sheet, for readers that want no more."""

    reach_mm: float = 1.0
    coef: np.ndarray = field(default_factory=lambda: np.zeros((9, 2)), compare=False, repr=False)

    def _paper(self, off: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Sheet offsets (n, 2) / reach to paper mm (n,), and its derivatives (n,) by both that are used beyond the
        disc, all complex: x + iy."""
        x, y = np.array(off.T)
        c = self.coef[:, 0] + 1j * self.coef[:, 1]      # along _POWERS: y, x, y2, xy, x2, y3, xy2, x2y, x3
        size = np.hypot(x, y)
        past = np.flatnonzero(size > 1.0)
        if len(past):
            x[past] /= size[past]
            y[past] /= size[past]
        yy = y * y
        rise = y * (c[0] + y * (c[2] + c[5] * y)) + x * (c[1] + c[3] * y + c[6] * yy + x * (c[4] + c[7] * y + c[8] * x))
        by_x = c[1] + c[3] * y + c[6] * yy + x * (2 * c[4] + 2 * c[7] * y + 3 * c[8] * x)
        by_y = c[0] + 2 * c[2] * y + 3 * c[5] * yy + x * (c[3] + 2 * c[6] * y + c[7] * x)
        if len(past):
            on = off[past] - np.column_stack([x[past], y[past]])
            rise[past] += by_x[past] * on[:, 0] + by_y[past] * on[:, 1]
        return rise, by_x, by_y

    def _slope(self, off: np.ndarray) -> np.ndarray:
        """d(paper) / d(offset), (n, 2, 2), at sheet offsets (n, 2) / reach."""
        _, by_x, by_y = self._paper(off)
        out = np.empty((len(off), 2, 2))
        out[:, 0, 0], out[:, 0, 1], out[:, 1, 0], out[:, 1, 1] = by_x.real, by_y.real, by_x.imag, by_y.imag
        return out

    def to_flat(self, us: np.ndarray) -> np.ndarray:
        """Skin points (n, 2) of (u, s) to flat mm (n, 2)."""
        off = (np.asarray(us, float) - (self.u0, self.s0_mm)) * (self.c1_mm, 1.0) / self.reach_mm
        return self._paper(off)[0].view(float).reshape(-1, 2)

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """Flat points (n, 2) in mm (x right, y up) to skin (n, 2) of (u, s)."""
        xy = np.asarray(xy, float)
        flat = xy[:, 0] + 1j * xy[:, 1]
        off = xy @ np.linalg.inv(self.coef[[1, 0]])
        if len(xy) > MANY:
            size, back = self._back
            at = xy / size
            inside = np.abs(at).max(axis=1) <= 1
            off[inside] = basis(at[inside], _BACK) @ back
        for _ in range(60):
            paper, by_x, by_y = self._paper(off)
            miss = flat - paper
            if not len(miss) or max(np.abs(miss.real).max(), np.abs(miss.imag).max()) < 1e-10:
                break
            aside = by_x.conj()
            turn = (aside * by_y).imag
            off = off + np.column_stack([(miss.conj() * by_y).imag / turn, (aside * miss).imag / turn])
        return off * (self.reach_mm / self.c1_mm, self.reach_mm) + (self.u0, self.s0_mm)

    @cached_property
    def _back(self) -> tuple[float, np.ndarray]:
        """A size, mm, and by _BACK of paper in shares of it (k, 2) the sheet offset, near enough to start from."""
        paper = self._paper(_SPOTS)[0].view(float).reshape(-1, 2)
        size = float(np.abs(paper).max())
        return size, np.linalg.lstsq(basis(paper / size, _BACK), _SPOTS, rcond=None)[0]

    def near(self, us: np.ndarray) -> np.ndarray:
        """The same points: a panel has no turns to take off."""
        return np.array(us, float)

    def turn_at(self, u: float) -> float:
        """How far "up the sheet" at (u, the anchor's height) is turned on paper, degrees counter-clockwise."""
        off = np.array([[(u - self.u0) * self.c1_mm / self.reach_mm, 0.0]])
        up = self._slope(off)[0, :, 1]
        return float(np.degrees(np.arctan2(-up[0], up[1])))

    def stretches(self, panel: Panel, xy: np.ndarray) -> np.ndarray:
        """Principal stretches (n, 2), larger first, of paper -> skin at flat points (n, 2), mm."""
        us = self.to_skin(xy)
        return self.stretches_on(us, panel.metric(us))

    def stretches_on(self, us: np.ndarray, metric: np.ndarray) -> np.ndarray:
        """The same at skin points (n, 2) where the panel's metric (n, 2, 2) is known."""
        off = (us - (self.u0, self.s0_mm)) * (self.c1_mm, 1.0) / self.reach_mm
        return principal(self._slope(off) / self.reach_mm, metric)

    def strain(self, panel: Panel, s_mm: np.ndarray) -> np.ndarray:  # type: ignore[override]
        """Worst stretch (signed) straight above and below the anchor at the heights s (n,)."""
        s = np.atleast_1d(np.asarray(s_mm, float))
        both = self.stretches(panel, self.to_flat(np.column_stack([np.full(len(s), self.u0), s]))) - 1
        return np.where(np.abs(both[:, 0]) >= np.abs(both[:, 1]), both[:, 0], both[:, 1])


def lay_panel_patch(panel: Panel, u0: float, s0_mm: float, reach_mm: float) -> PanelPatch:
    """Patch at the anchor, fitted over a disc of `reach_mm` round it (what of it is skin of the part).

    "Up" on paper at the anchor is up on the sheet. Raises ValueError when the anchor is not a finite place.
    """
    if not np.isfinite([u0, s0_mm, reach_mm]).all():
        raise ValueError("A piece must have a finite place on the part.")
    reach = float(np.clip(1.1 * reach_mm, LEAST_MM, MOST_MM))  # the sheet may be a tenth shorter than paper
    return _fitted(panel, u0, s0_mm, reach, _SPOTS)


def lay_panel_patch_over(panel: Panel, us: np.ndarray) -> PanelPatch:
    """Patch fitted to the skin at the places `us` (n, 2) themselves, whatever shape they fill, anchored in their
    middle. Raises ValueError for fewer than 20 places, which say too little."""
    us = np.asarray(us, float)
    if len(us) < 20:
        raise ValueError("Paper can't be fitted to so small a place; make the piece larger.")
    u0, s0 = (us.min(axis=0) + us.max(axis=0)) / 2
    order = np.argsort(np.arange(len(us)) * 0.6180339887498949 % 1.0)     # every stretch of it evenly spread
    us = us[np.sort(order[:MOST_SPOTS])]
    off = panel.to_mm(us) - (u0 * panel.turn_mm, s0)
    reach = max(LEAST_MM, float(np.hypot(*off.T).max()))
    return _fitted(panel, float(u0), float(s0), reach, off / reach)


def _fitted(panel: Panel, u0: float, s0_mm: float, reach: float, spots: np.ndarray) -> PanelPatch:
    """The cubic over `spots` (n, 2), in shares of `reach` (sheet mm) from the anchor."""
    at = np.array([u0 * panel.turn_mm, s0_mm])
    us = panel.from_mm(at + spots * reach)
    soft = panel.within_mm(us, 0.11 * reach) / (0.2 * reach)                             # at the edge
    weight = 0.02 + 0.98 * np.clip(0.5 + soft, 0.0, 1.0)
    low = np.linalg.cholesky(panel.metric(us))
    frame = np.linalg.inv(low).transpose(0, 2, 1)
    grad = np.stack([slope(spots, _POWERS, k) / reach for k in (0, 1)], axis=1)
    root = np.sqrt(weight / weight.sum())
    rows = np.einsum("nkb,nkc->ncb", grad, frame) * root[:, None, None]
    size = reach
    q, r = np.linalg.qr(rows.reshape(-1, len(_POWERS)) * size)
    first = rotation(low.transpose(0, 2, 1))
    turn = first[:, 0, 0] + 1j * first[:, 1, 0]         # paper in complex numbers: a turn is one of size 1
    q = q.reshape(-1, 2, len(_POWERS))
    there, back = (root[:, None] * (q[:, 0] + 1j * q[:, 1])).T, q[:, 0] - 1j * q[:, 1]
    for _ in range(40):
        before = turn
        fit = there @ turn
        turn = back @ fit
        turn /= np.abs(turn)
        if np.abs(turn - before).max() < 1e-8:
            break
    coef = np.linalg.solve(r, np.column_stack([fit.real, fit.imag])) * size
    up = coef[0]  # the power (0, 1): d paper / d y at the anchor
    c, s = up[1] / np.hypot(*up), up[0] / np.hypot(*up)
    coef = coef @ np.array([[c, s], [-s, c]])
    return PanelPatch(float(u0), float(s0_mm), panel.turn_mm, 0.0, reach, coef)
