"""Where the flow turns round a point: its singularities.

A line field of direction a turns, along a closed way, by a multiple of 180 degrees; where that is not 0, there is a
point inside at which it has no direction: index +1/2 (lines go round a tip) or -1/2 (three ways part). Background
drawn across such a point looks broken, so they are shown, and the artist lays a piece over them or a stroke along
them. On a limb open at both ends the indices add up to the turning along its two borders (Poincare and Hopf).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.compose.flow import Flow
from composer.plan.scene import Scene

CELL_MM = 7.0


@dataclass(frozen=True)
class Whirl:
    """A singular point of the flow: `u` turns, `s_mm` mm, `index` +0.5 or -0.5 (or a multiple)."""

    u: float
    s_mm: float
    index: float


def whirls(scene: Scene, flow: Flow) -> list[Whirl]:
    """All whirls of the flow over a part, from the far end up, to within a cell of CELL_MM."""
    limb = scene.limb
    low, high = (0.0, 1.0) if limb.closed else (-0.5, 0.5)
    n = max(8, int(np.ceil(float(limb.girth((limb.s_min + limb.s_max) / 2)) / CELL_MM)))
    m = max(4, int(np.ceil((limb.s_max - limb.s_min) / CELL_MM)))
    u = np.linspace(low, high, n + 1)
    s = np.linspace(limb.s_min, limb.s_max, m + 1)
    uu, ss = np.meshgrid(u, s)
    a = 2 * flow.angle(np.column_stack([uu.ravel(), ss.ravel()])).reshape(m + 1, n + 1)
    if limb.closed:
        a[:, -1] = a[:, 0]
    corners = [a[:-1, :-1], a[:-1, 1:], a[1:, 1:], a[1:, :-1]]
    turn = sum(_short(corners[(k + 1) % 4] - corners[k]) for k in range(4))
    index = np.rint(turn / (2 * np.pi)) / 2
    return [Whirl(float(u[j] + u[j + 1]) / 2, float(s[i] + s[i + 1]) / 2, float(index[i, j]))
            for i, j in np.argwhere(index != 0)]


def _short(angle: np.ndarray) -> np.ndarray:
    """Angles brought to (-pi, pi]."""
    return angle - 2 * np.pi * np.rint(angle / (2 * np.pi))
