"""A limb bent at a joint, for looking at: where each skin point goes in space.

The axis runs straight, round an arc at the joint, and straight on; sections stay square to it and
keep their girth. The arc is just wide enough for the crease side not to turn inside out. For views
only: it says where skin is, not how it stretches (that is `composer.body.bends`), and shows neither
the fold nor the flesh that swells beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.body.bends import Joint
from composer.body.limb import Limb

_ROOM = 1.04     # the arc's radius over the depth of the limb on the crease side


@dataclass(frozen=True)
class BentLimb:
    """`limb` bent by `bend_rad` about height `z_mm`; `towards` is -1 when the far part swings to the
    front (elbow) and +1 to the back (knee); `radius_mm` of the axis' arc."""

    limb: Limb
    z_mm: float
    bend_rad: float
    towards: float
    radius_mm: float

    def embed(self, us: np.ndarray) -> np.ndarray:
        """Points (n, 2) of (u, s) to space (n, 3), mm; the near part stands as it does unbent."""
        x, y, z = self.limb.embed(us).T
        half = self.radius_mm * self.bend_rad / 2
        down = self.z_mm + half - z                        # along the axis from the arc's upper end
        phi = np.clip(down / self.radius_mm, 0.0, self.bend_rad)
        past = np.maximum(down - 2 * half, 0.0)
        before = np.minimum(down, 0.0)
        out = self.towards * y                             # towards the crease
        reach = self.radius_mm * (1 - np.cos(phi)) + past * np.sin(phi) + out * np.cos(phi)
        drop = before + self.radius_mm * np.sin(phi) + past * np.cos(phi) - out * np.sin(phi)
        return np.column_stack([x, self.towards * reach, self.z_mm + half - drop])


def bend_view(limb: Limb, joint: Joint, bend_deg: float) -> Limb | BentLimb:
    """The limb bent at a joint by `bend_deg`; under a tenth of a degree it is the limb itself."""
    if abs(bend_deg) < 0.1:
        return limb
    s0 = joint.place(limb)
    crease_u = joint.stretch_u + 0.5
    towards = -1.0 if abs(crease_u - round(crease_u)) < 0.25 else 1.0
    near = np.linspace(s0 - 90, s0 + 90, 19).clip(limb.s_min, limb.s_max)
    depth = np.abs(limb.embed(np.column_stack([np.full(19, crease_u), near]))[:, 1]).max()
    return BentLimb(limb, float(limb.height(s0)), float(np.radians(bend_deg)), towards, float(_ROOM * depth))
