"""Paper on a panel: the flat chart in which a piece lies rigid, fitted to the skin it covers.

As on a limb, the chart is the one that strains paper least over the stretch of the piece. A panel
curves both ways, so the fit is a cubic from sheet to paper (as rigid as possible, see
`panel_flatten`), over a disc round the anchor; beyond the disc it goes on straight. Back is by Newton.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from composer.body.panel_flatten import principal, rotation, slope
from composer.body.patch import Patch

if TYPE_CHECKING:
    from composer.body.panel import Panel

_POWERS = np.array([(i, j) for n in (1, 2, 3) for i in range(n + 1) for j in (n - i,)])
_SPOTS = np.array([(x, y) for x in np.linspace(-1, 1, 13) for y in np.linspace(-1, 1, 13) if np.hypot(x, y) <= 1.02])
LEAST_MM, MOST_MM = 12.0, 190.0
MOST_SPOTS = 180


@dataclass(frozen=True)
class PanelPatch(Patch):
    """Flat chart at the anchor (u0, s0 mm). `coef` (9, 2): the cubic from sheet mm, taken from the
    anchor and divided by `reach_mm`, to paper mm. `c1_mm` and `b` (0) are those of a limb's patch that
    would lie flat in the sheet, for readers that want no more."""

    reach_mm: float = 1.0
    coef: np.ndarray = field(default_factory=lambda: np.zeros((9, 2)), compare=False, repr=False)

    def _paper(self, off: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Sheet offsets (n, 2) / reach to paper mm (n, 2), and the derivative (n, 2, 2) used beyond the disc."""
        size = np.hypot(*off.T)
        at = off / np.maximum(size, 1.0)[:, None]
        x, y = at.T
        one, xx, xy, yy = np.ones_like(x), x * x, x * y, y * y
        # along _POWERS: y, x, y2, xy, x2, y3, xy2, x2y, x3
        rise = np.stack([y, x, yy, xy, xx, yy * y, x * yy, xx * y, xx * x], axis=1) @ self.coef
        by_x = np.stack([one, y, 2 * x, yy, 2 * xy, 3 * xx], axis=1) @ self.coef[[1, 3, 4, 6, 7, 8]]
        by_y = np.stack([one, 2 * y, x, 3 * yy, 2 * xy, xx], axis=1) @ self.coef[[0, 2, 3, 5, 6, 7]]
        jac = np.stack([by_x, by_y], axis=2)
        return rise + np.einsum("nij,nj->ni", jac, off - at), jac

    def to_flat(self, us: np.ndarray) -> np.ndarray:
        """Skin points (n, 2) of (u, s) to flat mm (n, 2)."""
        off = (np.asarray(us, float) - (self.u0, self.s0_mm)) * (self.c1_mm, 1.0) / self.reach_mm
        return self._paper(off)[0]

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """Flat points (n, 2) in mm (x right, y up) to skin (n, 2) of (u, s)."""
        xy = np.asarray(xy, float)
        off = xy @ np.linalg.inv(self.coef[[1, 0]])
        for _ in range(60):
            paper, jac = self._paper(off)
            miss = xy - paper
            if not len(miss) or np.abs(miss).max() < 1e-10:
                break
            off = off + np.linalg.solve(jac, miss[:, :, None])[:, :, 0]
        return off * (self.reach_mm / self.c1_mm, self.reach_mm) + (self.u0, self.s0_mm)

    def near(self, us: np.ndarray) -> np.ndarray:
        """The same points: a panel has no turns to take off."""
        return np.array(us, float)

    def turn_at(self, u: float) -> float:
        """How far "up the sheet" at (u, the anchor's height) is turned on paper, degrees counter-clockwise."""
        off = np.array([[(u - self.u0) * self.c1_mm / self.reach_mm, 0.0]])
        up = self._paper(off)[1][0, :, 1]
        return float(np.degrees(np.arctan2(-up[0], up[1])))

    def stretches(self, panel: Panel, xy: np.ndarray) -> np.ndarray:
        """Principal stretches (n, 2), larger first, of paper -> skin at flat points (n, 2), mm."""
        us = self.to_skin(xy)
        return self.stretches_on(us, panel.metric(us))

    def stretches_on(self, us: np.ndarray, metric: np.ndarray) -> np.ndarray:
        """The same at skin points (n, 2) where the panel's metric (n, 2, 2) is known."""
        off = (us - (self.u0, self.s0_mm)) * (self.c1_mm, 1.0) / self.reach_mm
        return principal(self._paper(off)[1] / self.reach_mm, metric)

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
    weight = 0.02 + 0.98 * np.clip(0.5 + panel.within_mm(us) / (0.2 * reach), 0.0, 1.0)  # soft at the edge
    low = np.linalg.cholesky(panel.metric(us))
    frame = np.linalg.inv(low).transpose(0, 2, 1)
    grad = np.stack([slope(spots, _POWERS, k) / reach for k in (0, 1)], axis=1)
    root = np.sqrt(weight / weight.sum())
    rows = np.einsum("nkb,nkc->ncb", grad, frame) * root[:, None, None]
    size = reach
    q, r = np.linalg.qr(rows.reshape(-1, len(_POWERS)) * size)
    turn = rotation(low.transpose(0, 2, 1))
    for _ in range(40):
        before = turn
        right = (turn * root[:, None, None]).transpose(0, 2, 1).reshape(-1, 2)      # a column for paper's x and y each
        fit = q.T @ right
        turn = rotation((q @ fit).reshape(-1, 2, 2).transpose(0, 2, 1) / root[:, None, None])
        if np.abs(turn - before).max() < 1e-8:
            break
    coef = np.linalg.solve(r, fit) * size
    up = coef[0]  # the power (0, 1): d paper / d y at the anchor
    c, s = up[1] / np.hypot(*up), up[0] / np.hypot(*up)
    coef = coef @ np.array([[c, s], [-s, c]])
    return PanelPatch(float(u0), float(s0_mm), panel.turn_mm, 0.0, reach, coef)
