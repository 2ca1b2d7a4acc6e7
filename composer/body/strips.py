"""Strips of one paper that are joined along a level, on any surface."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from composer.body.gore import Gore, gore_on, tangent_patch
from composer.body.limb import Limb
from composer.body.panel_gore import PanelGore, levels_on
from composer.body.surface import Surface

AROUND_MM = 25.0
"""How far past the places strips are worked out on a panel."""
Strip = Gore | PanelGore


def strips_over(surface: Surface, us: np.ndarray) -> Callable[[float], Strip]:
    """From u (turns) to the strip about it, for paper over the places `us` (n, 2); all strips are joined along
    the level in the middle of them."""
    low, high = np.asarray(us, float).min(axis=0), np.asarray(us, float).max(axis=0)
    u, s = (low + high) / 2
    if isinstance(surface, Limb):
        spine = tangent_patch(surface, float(u), float(s))
        return lambda at: gore_on(surface, spine, at)
    more = np.array([AROUND_MM / surface.turn_mm, AROUND_MM])
    field = levels_on(surface, low - more, high + more)
    return lambda at: PanelGore(field, float(at), float(s))
