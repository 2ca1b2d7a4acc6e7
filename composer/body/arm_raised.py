"""The arm raised, as high as it goes: what that does to the skin of the arm itself.

No published figures were found for the arm. What it shares with the trunk at the armhole moves with the trunk's skin,
so the fields of `composer.body.panel_motion` run on over it with the same peaks: round the arm at the folds of the
armpit (behind published, in front from memory), along it between them, and on the cap the shrinking that is published
for the top of the shoulder. How far they run down the arm is ours, from memory, no published source: along the limb
about as far as on the trunk, round it as a narrower raised cosine. Whether the cap creases is not told: the muscle
under it swells as the arm goes up.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from composer.body.bends import raised
from composer.body.correspond import landmarks
from composer.body.kinds import side_of
from composer.body.limb import Limb
from composer.body.panel_motion import BACK_FOLD, FRONT_FOLD, TOP, UNDER_UP, raised_share

RAISED = "arm raised"
INNER, BACK, FRONT, OUTER = -0.25, -0.375, -0.125, 0.25
"""Turns on a left arm: the middle of the armpit, its folds behind and in front, and the middle of the cap."""
ALONG, ROUND_TURNS = 0.3, 0.16
"""How far the fields reach: along, in shares of the girth at the armpit; and round, in turns."""


def raised_strain(limb: Limb, part: str, us: np.ndarray, bend_deg: Mapping[str, float] | None = None) -> np.ndarray:
    """Strain (n, 2) along the limb and round it at skin points (n, 2) of (u, s); `part` tells left from right ('arm' is
    a left one). `bend_deg`: how far the arm is raised, {'shoulder': 0..180}. Raises ValueError with a sentence."""
    marks = landmarks(limb)
    armpit, cap = marks["armpit"], marks["cap"]
    v, s = side_of(part) * us[:, 0], us[:, 1]
    reach = ALONG * float(limb.girth(armpit))

    def off(at: float) -> np.ndarray:
        return v - at - np.round(v - at)

    def bump(at: float, level: float, turns: float) -> np.ndarray:
        return raised(np.hypot(off(at) / turns, (s - level) / reach), 1.0)

    up = raised(s - armpit, reach)
    along = UNDER_UP * up * np.maximum(np.cos(2 * np.pi * off(INNER)), 0.0) + TOP * bump(OUTER, cap, 2 * ROUND_TURNS)
    round_ = BACK_FOLD * bump(BACK, armpit, ROUND_TURNS) + FRONT_FOLD * bump(FRONT, armpit, ROUND_TURNS)
    return raised_share(bend_deg) * np.column_stack([along, round_])
