"""What moving does to the skin of any part: its poses, the strain in each, the worst of them.

A limb is relaxed, flexed or bent, an arm raised too (`composer.body.flex`); chest and back are flexed or have the
blades together, are breathed in, or have the arm raised (`composer.body.panel_motion`).
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from composer.body import flex
from composer.body.correspond import landmarks
from composer.body.flex import Worst, worst_of
from composer.body.kinds import kind_of
from composer.body.panel import Panel
from composer.body.panel_motion import POSES as PANEL_POSES
from composer.body.panel_motion import creases, panel_folding, panel_strain, panel_strains
from composer.body.surface import Surface

WHEN = {"relaxed": "at rest", "flexed": "when flexed", "bent": "when bent", "breathed in": "after a deep breath in",
        "arm raised": "with the arm raised", "blades together": "with the shoulder blades drawn together"}
"""Poses as the end of a sentence."""


def is_known(surface: Surface, part: str) -> bool:
    """Whether the zones and the motion of this skin are known: not of a limb without the landmark levels."""
    return isinstance(surface, Panel) or landmarks(surface).keys() >= set(kind_of(part).levels)


def poses_of(part: str) -> tuple[str, ...]:
    """The poses of a part, relaxed first."""
    return PANEL_POSES.get(part) or flex.POSES[kind_of(part).name]


def ways_of(part: str) -> tuple[str, str]:
    """The two directions in which strain is told, in words."""
    return ("up and down", "across") if part in PANEL_POSES else ("along the limb", "round it")


def strain(surface: Surface, part: str, us: np.ndarray, pose: str, flexed_mm: Mapping[str, float] | None = None,
           bend_deg: Mapping[str, float] | None = None) -> np.ndarray:
    """Strain (n, 2) at skin points (n, 2) of (u, s) in a pose, in the directions of `ways_of`; NaN where nothing can be
    said. `flexed_mm`, `bend_deg` as for `composer.body.flex.strain`. Raises ValueError with a sentence."""
    if isinstance(surface, Panel):
        return panel_strain(surface, part, us, pose, bend_deg)
    return flex.strain(surface, part, us, pose, flexed_mm, bend_deg)


def folding(surface: Surface, part: str, us: np.ndarray, pose: str,
            bend_deg: Mapping[str, float] | None = None) -> np.ndarray:
    """Whether skin folds at points (n, 2) in a pose: (n,) of bool. Raises ValueError with a sentence."""
    if isinstance(surface, Panel):
        return panel_folding(surface, part, us, pose, bend_deg)
    return flex.folding(surface, part, us, pose, bend_deg)


def worst(surface: Surface, part: str, us: np.ndarray, flexed_mm: Mapping[str, float] | None = None) -> Worst:
    """The worst strain over all poses of a part (indices into `poses_of`). Raises ValueError with a sentence."""
    if not isinstance(surface, Panel):
        return flex.worst(surface, part, us, flexed_mm)
    every = panel_strains(surface, part, us)
    return worst_of(every, creases(every).any(axis=0))
