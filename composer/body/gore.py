"""A gore: a strip of paper along the limb that is true along its own middle and round every level.

Along the middle line of the gore paper keeps every length, and each level is an arc of its own true
length and geodesic curvature C'/C. On a sphere this is the ordinary polyconic projection (Snyder, "Map
Projections: A Working Manual", USGS Professional Paper 1395, 1987, chapter 18), on a cone or cylinder
the exact development. Away from the middle paper is stretched along the limb by about K x^2 / 2, K the
curvature of the skin and x the distance from the middle line: narrow strips lie on anything.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.body.limb import Limb
from composer.body.patch import Patch


@dataclass(frozen=True)
class Gore:
    """Flat chart about the line u = `u0` (turns) of a limb, put on the paper by a turn of `turn_deg`
    (counter-clockwise) about its own point (u0, s0), which comes to lie at `at` (mm)."""

    limb: Limb
    u0: float
    s0_mm: float
    at: tuple[float, float] = (0.0, 0.0)
    turn_deg: float = 0.0

    def to_flat(self, us: np.ndarray) -> np.ndarray:
        """Skin points (n, 2) of (u, s), u unwrapped near u0, to flat mm (n, 2), x right, y up."""
        us = np.asarray(us, float)
        d, s = us[:, 0] - self.u0, us[:, 1]
        c, turn = self.limb.girth(s), self.limb.slope(s) * d
        x = c * d * np.sinc(turn / np.pi)
        y = s - self.s0_mm - c * d * turn * np.sinc(turn / 2 / np.pi) ** 2 / 2
        a = np.radians(self.turn_deg)
        return np.column_stack([np.cos(a) * x - np.sin(a) * y + self.at[0],
                                np.sin(a) * x + np.cos(a) * y + self.at[1]])

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """Inverse of `to_flat` by Newton's method; u within about a sixth of a turn of the middle."""
        xy = np.asarray(xy, float)
        x, y = (xy - self.at).T
        a = np.radians(self.turn_deg)
        x, y = np.cos(a) * x + np.sin(a) * y, np.cos(a) * y - np.sin(a) * x
        us = np.column_stack([self.u0 + x / self.limb.girth(self.s0_mm + y), self.s0_mm + y])
        step = 1e-4
        for _ in range(12):
            miss = xy - self.to_flat(us)
            if len(us) == 0 or np.abs(miss).max() < 1e-10:
                break
            c = self.limb.girth(us[:, 1])
            du = np.column_stack([step / c, np.zeros(len(us))])
            jac = np.stack([(self.to_flat(us + h) - self.to_flat(us - h)) / (2 * step) for h in (du, [[0.0, step]])],
                           axis=2)
            us = us + np.linalg.solve(jac, miss[:, :, None])[:, :, 0] * np.column_stack([1 / c, np.ones(len(us))])
        return us

    def stretches(self, us: np.ndarray) -> np.ndarray:
        """Principal stretches (n, 2), larger first, of paper -> skin at skin points (n, 2).

        Exact for round sections: the inverse singular values of skin -> paper, whose derivatives are
        taken by central differences of 0.01 mm.
        """
        us = np.asarray(us, float)
        step = 0.01
        du = np.column_stack([step / self.limb.girth(us[:, 1]), np.zeros(len(us))])
        ds = np.array([[0.0, step]])
        columns = [(self.to_flat(us + h) - self.to_flat(us - h)) / (2 * step) for h in (du, ds)]
        sigma = np.linalg.svd(np.stack(columns, axis=2), compute_uv=False)
        return 1 / np.maximum(sigma[:, ::-1], 1e-9)


def tangent_patch(limb: Limb, u0: float, s0_mm: float) -> Patch:
    """The paper cone that touches the limb all round level s0: what gores are joined along."""
    b = float(limb.slope(s0_mm))
    return Patch(float(u0), float(s0_mm), float(limb.girth(s0_mm)), b if abs(b) >= 1e-9 else 0.0)


def gore_on(limb: Limb, spine: Patch, u: float) -> Gore:
    """The gore about u (turns) laid so that its level at the spine's anchor coincides with the spine:
    all gores of one spine share that whole level, and their directions there."""
    x, y = spine.to_flat(np.array([[u, spine.s0_mm]]))[0]
    return Gore(limb, float(u), spine.s0_mm, (float(x), float(y)), spine.turn_at(u))
