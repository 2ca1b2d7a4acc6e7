"""A limb's skin as a shape to look at: the swept sections, hanging as a relaxed limb does.

Views only. Relaxed or flexed, sections stay level and keep their girth and the centre line alone
is moved sideways, so whatever is seen from a level standpoint stays a half of each section,
bounded in closed form. Bent, it is what `composer.body.bend_view` makes of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from scipy.interpolate import CubicSpline

from composer.body.limb import Limb
from composer.body.surface import Surface as Skin


class Embeds(Protocol):
    """Anything that puts skin points (n, 2) of the relaxed (u, s) into space (n, 3), mm: a limb, or
    one that is flexed or bent (`composer.body.flex.posed_limb`)."""

    def embed(self, us: np.ndarray) -> np.ndarray:
        """Where the points lie."""


HANGS: tuple[dict[str, tuple[float, float]], ...] = (
    {"wrist": (17.0, 30.0), "fullest forearm": (9.0, 7.0), "elbow": (1.0, 0.0), "fullest upper arm": (1.5, 3.0),
     "armpit": (4.5, 1.5), "cap": (11.0, 0.0)},
    {"ankle": (0.0, 3.0), "fullest calf": (2.0, -9.0), "below the knee": (0.5, -2.0), "knee": (0.0, 0.0),
     "mid thigh": (2.0, 5.0), "upper thigh": (4.0, 4.0), "hip": (6.0, 0.0)},
)
"""How far the centre line of a relaxed arm or leg lies (outwards, forwards) of a straight one at
each level, mm: the forearm a little forward and away from the body, the calf to the back. By eye,
no published source; at a slope of 0.13 at most, lengths seen along the skin are within 1.5% of the
straight limb's."""


@dataclass(frozen=True)
class Surface:
    """Skin of a limb in space, mm: z up the limb, front (u = 0) at -y, +x to the right of somebody
    who looks at the front. `posed` is the limb flexed or bent; None is relaxed."""

    limb: Skin
    part: str = ""
    posed: Embeds | None = None

    @property
    def outer_u(self) -> float:
        """Where the side that looks away from the body lies, turns."""
        return 0.25 if self.part.startswith("left") else -0.25

    @property
    def level(self) -> bool:
        """Whether every section lies level, so that `seen.edge_u` bounds what is seen."""
        return self.posed is None or isinstance(self.posed, Limb)

    @cached_property
    def _hang(self) -> CubicSpline | None:
        at = {lv.name: lv.s_mm for lv in self.limb.levels}
        hang = next((h for h in HANGS if h.keys() <= at.keys()), None)
        if hang is None or not self.level:
            return None
        known = [(at[name], hang[name]) for name in hang]
        out = np.sign(self.outer_u)
        return CubicSpline([s for s, _ in known], [(out * o, -f) for _, (o, f) in known], bc_type="natural")

    def xyz(self, us: np.ndarray) -> np.ndarray:
        """Skin points (n, 2) of (u, s) to space (n, 3), mm."""
        us = np.asarray(us, float)
        out = (self.posed or self.limb).embed(us)
        if self._hang is not None:
            out[:, :2] += self._hang(np.clip(us[:, 1], self.limb.s_min, self.limb.s_max))
        return out

    def centre(self, s_mm: np.ndarray) -> np.ndarray:
        """Centre line (n, 3) at `s_mm`: half way between front and back."""
        s = np.asarray(s_mm, float)
        front, back = (self.xyz(np.column_stack([np.full(len(s), u), s])) for u in (0.0, 0.5))
        return (front + back) / 2

    def normals(self, us: np.ndarray) -> np.ndarray:
        """Unit normals (n, 3) that look out of the skin, by central differences (0.5 mm)."""
        us = np.asarray(us, float)
        du = np.column_stack([0.5 / self.limb.girth(us[:, 1]), np.zeros(len(us))])
        lo = np.column_stack([us[:, 0], np.maximum(us[:, 1] - 0.5, self.limb.s_min)])
        hi = np.column_stack([us[:, 0], np.minimum(us[:, 1] + 0.5, self.limb.s_max)])
        n = np.cross(self.xyz(us + du) - self.xyz(us - du), self.xyz(hi) - self.xyz(lo))
        return n / np.linalg.norm(n, axis=1, keepdims=True)
