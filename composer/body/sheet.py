"""The whole limb unrolled: one fitted cone cut open along the seam, for looking and for 1:1."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from composer.body.panel import Panel
from composer.body.patch import Patch, lay_patch

if TYPE_CHECKING:
    from composer.body.surface import Surface


class AnySheet(Protocol):
    """Whatever a part is drawn on flat: its own sheet, or its place on a wide one."""

    @property
    def limb(self) -> Surface:
        """The skin."""

    @property
    def seam_u(self) -> float:
        """Where it is cut, turns."""

    def to_flat(self, us: np.ndarray) -> np.ndarray:
        """Skin (n, 2) to flat mm."""

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """Flat mm (n, 2) to skin."""

    def border(self, step_mm: float = 4.0) -> np.ndarray:
        """Its edge as a ring (n, 2), flat mm."""


@dataclass(frozen=True)
class Sheet:
    """Unrolled limb. `seam_u` is where it is cut; the middle lies half a turn away."""

    limb: Surface
    seam_u: float
    patch: Patch

    def to_flat(self, us: np.ndarray) -> np.ndarray:
        """Skin (n, 2) to flat mm, u as given (an outline beyond the seam runs off the sheet)."""
        return self.patch.to_flat(us)

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """Flat mm to skin; u unwrapped within half a turn of the middle on the sheet."""
        return self.patch.to_skin(xy)

    def copies(self, us: np.ndarray) -> list[np.ndarray]:
        """An outline as often as it shows: shifted by whole turns so that each copy meets the sheet."""
        lo, hi = us[:, 0].min(), us[:, 0].max()
        left, right = self.seam_u, self.seam_u + 1.0
        out = []
        for k in range(int(np.ceil(left - hi)), int(np.floor(right - lo)) + 1):
            if hi + k > left and lo + k < right:
                out.append(us + np.array([k, 0.0]))
        return out

    def border(self, step_mm: float = 4.0) -> np.ndarray:
        """Edge of the sheet as a ring (n, 2), flat mm, from the far end's seam, counter-clockwise."""
        if isinstance(self.limb, Panel):
            return self.to_flat(self.limb.outline)
        a, b = self.limb.s_min, self.limb.s_max
        n = max(8, int((b - a) / step_mm))
        m = max(16, int(float(self.limb.girth(b)) / step_mm))
        u = np.linspace(self.seam_u, self.seam_u + 1, m)
        s = np.linspace(a, b, n)
        ring = np.concatenate([
            np.column_stack([u, np.full(m, a)]), np.column_stack([np.full(n, u[-1]), s])[1:],
            np.column_stack([u[::-1], np.full(m, b)])[1:], np.column_stack([np.full(n, u[0]), s[::-1]])[1:-1]])
        return self.to_flat(ring)


def unroll(limb: Surface, seam_u: float = -0.5) -> Sheet:
    """Conic sheet of the whole limb, cut at `seam_u` (turns); a panel's own sheet, which has no seam."""
    if isinstance(limb, Panel):   # flat already
        return Sheet(limb, -0.5, Patch(0.0, 0.0, limb.turn_mm, 0.0))
    mid = (limb.s_min + limb.s_max) / 2
    half = (limb.s_max - limb.s_min) / 2
    return Sheet(limb, float(seam_u), lay_patch(limb, seam_u + 0.5, mid, half, half))
