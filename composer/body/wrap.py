"""Bands that must close round the limb: x = u C(s), y = s - s0.

A straight strip of paper can't close on a taper; the flat form of a closing band is as wide at
each height as the limb is round there. The price is shear away from the band's middle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.body.limb import Limb


@dataclass(frozen=True)
class Wrap:
    """Flat chart of a band whose middle lies at (u0 turns, s0 mm)."""

    limb: Limb
    u0: float
    s0_mm: float

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """Flat points (n, 2), mm, to skin (n, 2) of (u, s); half the girth to the right is half a turn."""
        xy = np.asarray(xy, float)
        s = self.s0_mm + xy[:, 1]
        return np.column_stack([self.u0 + xy[:, 0] / self.limb.girth(s), s])

    def to_flat(self, us: np.ndarray) -> np.ndarray:
        """Skin points (n, 2), u unwrapped near u0, to flat mm."""
        us = np.asarray(us, float)
        return np.column_stack([(us[:, 0] - self.u0) * self.limb.girth(us[:, 1]), us[:, 1] - self.s0_mm])

    def close(self, xy: np.ndarray, width_mm: float, repeats: int = 1) -> np.ndarray:
        """Make a drawing close round the limb: its `width_mm`, `repeats` times over, becomes one
        whole turn at every height. Takes and gives flat (n, 2) mm.

        Raises ValueError when the width is not positive or the repeats are not at least one.
        """
        if not (np.isfinite(width_mm) and width_mm > 0):
            raise ValueError("A band needs a width of more than 0 mm to be closed round the limb.")
        if repeats < 1:
            raise ValueError("A band must go round the limb at least once.")
        xy = np.asarray(xy, float)
        share = xy[:, 0] / (width_mm * repeats)
        return np.column_stack([share * self.limb.girth(self.s0_mm + xy[:, 1]), xy[:, 1]])

    def stretch_to_close(self, width_mm: float, below_mm: float, above_mm: float,
                         repeats: int = 1) -> tuple[float, float]:
        """Least and greatest factor by which `close` widens the drawing from s0 - below to s0 + above."""
        s = np.linspace(self.s0_mm - below_mm, self.s0_mm + above_mm, 65)
        factor = self.limb.girth(s) / (width_mm * repeats)
        return float(factor.min()), float(factor.max())

    def edge(self, below_mm: float, above_mm: float, step_mm: float = 2.0) -> np.ndarray:
        """Outline of the flat band that closes, ring (n, 2) in mm, counter-clockwise: cut it out
        and its two side edges meet on skin."""
        n = max(3, int((below_mm + above_mm) / step_mm) + 1)
        y = np.linspace(-below_mm, above_mm, n)
        half = self.limb.girth(self.s0_mm + y) / 2
        return np.concatenate([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]])
