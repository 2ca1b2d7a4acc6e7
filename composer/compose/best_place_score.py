"""How good a place is, from the same readings that a placed piece gets: 1 is as good as can be.

The weights are common practice, no published source. What depends on size, turn and level alone is
known at once and bounds the rest; what depends on the side of the limb is looked up spot by spot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from composer.body.limb import Limb
from composer.compose.best_place_field import Lattice, Spots
from composer.compose.best_place_tries import Form, Pairs
from composer.compose.fit_facts import JOINTS
from composer.compose.fit_limits import Limits
from composer.compose.fit_seen import looks, tilt

WEIGHTS = {"size": 0.22, "stretch": 0.12, "tilt": 0.12, "joints": 0.08, "facing": 0.08, "seen": 0.12, "flex": 0.08,
           "folds": 0.06, "bone": 0.06, "shown": 0.06}
KNOWN = ("size", "stretch", "tilt", "joints", "facing")
NAMES = tuple(WEIGHTS)


@dataclass(frozen=True, eq=False)
class Scorer:
    """Scores tries of one motif on one limb. `by_pair` (n, 4) and `by_side` (forms, columns): what is
    lost, 0 (nothing) to 1, for size, stretch, tilt, joints; and for facing."""

    pairs: Pairs
    lattice: Lattice
    spots: Spots
    limits: Limits
    by_pair: np.ndarray
    by_side: np.ndarray

    def bound(self, pair: np.ndarray, column: np.ndarray) -> np.ndarray:
        """The most that a try can score (n,)."""
        return 1.0 - self._known(pair, column) @ np.array([WEIGHTS[n] for n in KNOWN])

    def losses(self, pair: np.ndarray, column: np.ndarray) -> np.ndarray:
        """What each try loses on each of NAMES, (n, 10) of 0..1. `shown` is what the zones say of
        how much a place is on show."""
        p, limits = self.pairs, self.limits
        row = np.clip(np.rint((p.inner_s[pair] - self.lattice.rows[0]) / self.lattice.step_mm).astype(int), 0,
                      len(self.lattice.rows) - 1)
        col = (column[:, None] + np.rint(p.inner_u[pair] * self.lattice.columns).astype(int)) % self.lattice.columns
        seen = self.spots.seen[row, col].mean(axis=1).max(axis=1)
        return np.column_stack([
            self._known(pair, column), np.clip((1 - seen) / (1 - limits.visible_poor + 1e-9), 0, 1),
            np.clip(self.spots.strain[row, col].max(axis=1) / max(limits.flex_strong, 1e-9), 0, 1),
            self.spots.folds[row, col].mean(axis=1),
            np.clip(self.spots.bone[row, col].mean(axis=1) / max(limits.bone_strong, 1e-9), 0, 1),
            1 - self.spots.shown[row, col].mean(axis=1)])

    def score(self, losses: np.ndarray) -> np.ndarray:
        """Score (n,) of losses (n, 10)."""
        return 1.0 - losses @ np.array(list(WEIGHTS.values()))

    def _known(self, pair: np.ndarray, column: np.ndarray) -> np.ndarray:
        return np.column_stack([self.by_pair[pair], self.by_side[self.pairs.form[pair], column]])


def scorer(limb: Limb, part: str, side: dict[str, Any], pairs: Pairs, lattice: Lattice, spots: Spots,
           forms: Sequence[Form], limits: Limits) -> Scorer:
    """A scorer for the forms; the largest of them loses nothing by its size."""
    scale = np.array([f.scale for f in forms])
    span = np.log(scale.max() / scale.min()) if scale.max() > scale.min() else 1.0
    small = np.log(scale.max() / scale) / span
    lean = np.array([abs(tilt(f.turn_deg, float(side.get("upright_deg") or 0.0), f.flip)) for f in forms])
    lean = np.clip(lean / max(limits.tilt_strong_deg, 1e-9), 0, 1)
    joint = np.zeros(len(pairs.form))
    for lv in limb.levels:
        if any(w in lv.name.lower() for w in JOINTS):
            mm = limits.joint_mm
            joint = np.maximum(joint, (pairs.low + mm <= lv.s_mm) & (lv.s_mm <= pairs.high - mm))
    by_pair = np.column_stack([small[pairs.form], np.clip(pairs.stretch / max(limits.stretch_strong, 1e-9), 0, 1),
                               lean[pairs.form], joint])
    by_side = np.zeros((len(forms), lattice.columns))
    facing = str(side.get("facing") or "none")
    if facing in ("left", "right"):
        for i, f in enumerate(forms):
            for j in range(lattice.columns):
                found = looks(limb, part, j / lattice.columns, facing, f.flip, f.turn_deg)
                by_side[i, j] = 0.0 if found is None else float(np.clip(0.5 - sum(found) / 2, 0, 1))
    return Scorer(pairs, lattice, spots, limits, by_pair, by_side)
