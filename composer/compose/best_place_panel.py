"""All the ways a motif could lie on chest or back, which of them may be clear, and how good each is.

As on a limb (`best_place_tries`, `best_place_score`), but paper lies differently at every place of a panel, so a try is
a form with an anchor, and where its points fall is told by `best_place_panel_field`. Weights are the limb's; of what
is seen of it counts how squarely skin faces out, and of folds also how near the armhole it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely

from composer.body.panel import Panel
from composer.body.panel_flatten import basis
from composer.compose.best_place_panel_check import PanelChecker
from composer.compose.best_place_panel_field import (
    CELL_MM,
    POWERS,
    Grid,
    away_mm,
    edge_mm,
    grid_of,
    paper_at,
    rung_mm,
    rung_of,
    spots_on,
)
from composer.compose.best_place_score import NAMES, WEIGHTS
from composer.compose.best_place_tries import Form, Stamp
from composer.compose.fit_facts import Client
from composer.compose.fit_limits import Limits
from composer.compose.fit_seen import looks, tilt

KNOWN = ("size", "stretch", "tilt", "facing")
INNER = 14
SHORT = 0.8
"""A length on skin may be so much shorter on the sheet, and a disc of paper so much smaller."""
SLACK_MM, SLACK_SHARE = 0.4, 0.02
"""Where a point of paper falls may be off by so much, and by so much of its way from the anchor (1.4 mm at most and
0.017 of the way in 106 tries on the demo's chest)."""
STRETCH_SLACK = 0.06
"""Paper may lie so much flatter under a piece than under the disc that stands for it (0.046 in the same tries)."""
CELL_SLACK_MM = CELL_MM * 0.75
"""A place's own distance may be off by so much from that of its cell."""


@dataclass(frozen=True, eq=False)
class PanelTries:
    """Forms at anchors `at_mm` (n, 2) of the sheet. `cubics`, `off` by rung: how paper lies at each anchor; `rung`
    (forms,). `by_form` (forms, 2) lost by size and tilt, `by_side` (forms, 3) by facing left of, on and right of the
    midline. `judge` methods are those of `best_place_score.Scorer`, with (form, anchor) for (pair, column)."""

    panel: Panel
    forms: Sequence[Form]
    stamp: Stamp
    grid: Grid
    spots: np.ndarray
    at_mm: np.ndarray
    rung: np.ndarray
    cubics: Mapping[int, np.ndarray]
    off: Mapping[int, np.ndarray]
    by_form: np.ndarray
    by_side: np.ndarray
    limits: Limits

    def bound(self, form: np.ndarray, anchor: np.ndarray) -> np.ndarray:
        """The most that a try can score (n,)."""
        return 1.0 - self._known(form, anchor) @ np.array([WEIGHTS[n] for n in KNOWN])

    def losses(self, form: np.ndarray, anchor: np.ndarray) -> np.ndarray:
        """What each try loses on each of NAMES, (n, 10) of 0..1."""
        out = np.zeros((len(form), len(NAMES)))
        out[:, [NAMES.index(n) for n in KNOWN]] = self._known(form, anchor)
        inner = self.stamp.inner[:: max(1, len(self.stamp.inner) // INNER)]
        for f in np.unique(form):
            rows = np.flatnonzero(form == f)
            found = self.grid.at(self.spots, self.sheet(int(f), anchor[rows], inner))
            seen, folds, _, bone, shown = np.moveaxis(found.mean(axis=1, dtype=float), 1, 0)
            strain = found[:, :, 2].max(axis=1).astype(float)
            for name, lost in (("seen", seen), ("folds", folds), ("shown", shown),
                               ("flex", np.clip(strain / max(self.limits.flex_strong, 1e-9), 0, 1)),
                               ("bone", np.clip(bone / max(self.limits.bone_strong, 1e-9), 0, 1))):
                out[rows, NAMES.index(name)] = lost
        return out

    def score(self, losses: np.ndarray) -> np.ndarray:
        """Score (n,) of losses (n, 10)."""
        return 1.0 - losses @ np.array(list(WEIGHTS.values()))

    def sheet(self, form: int, anchor: np.ndarray, points: np.ndarray) -> np.ndarray:
        """Where points (k, 2) of the drawing fall on the sheet, mm, with a form at anchors (n,): (n, k, 2)."""
        rung = int(self.rung[form])
        rows = basis(points @ self.forms[form].matrix().T / rung_mm(rung), POWERS)
        return self.at_mm[anchor][:, None] + rows @ self.cubics[rung][anchor]

    def open(self, look: PanelChecker) -> tuple[np.ndarray, np.ndarray]:
        """Tries that may be clear of all pieces and of the edge: (form, anchor) indices."""
        free = away_mm(self.grid, list(look.covers))
        skin = edge_mm(self.panel, look.skin)
        probes = np.concatenate([self.stamp.discs, self.stamp.rim])
        radius = np.concatenate([self.stamp.radius, np.zeros(len(self.stamp.rim))])
        forms, anchors = [], []
        for f, form in enumerate(self.forms):
            left = np.flatnonzero(self.off[int(self.rung[f])] < self.limits.stretch_strong + STRETCH_SLACK)
            slack = CELL_SLACK_MM + SLACK_MM + SLACK_SHARE * form.scale * np.hypot(*probes.T)
            k = 0
            while k < len(probes) and len(left):
                some = slice(k, k + (2 if k < 4 else 8))
                at = self.sheet(f, left, probes[some])
                clear = SHORT * form.scale * radius[some] - slack[some]
                left = left[((self.grid.at(free, at) >= clear + SHORT * look.skin_break_mm)
                             & (self.grid.at(skin, at) >= clear)).all(axis=1)]
                k = some.stop
            forms.append(np.full(len(left), f))
            anchors.append(left)
        return np.concatenate(forms), np.concatenate(anchors)

    def rough(self, look: PanelChecker, form: int, anchor: int) -> bool:
        """Whether a try may be clear, by points all along its outline where interpolated paper has them."""
        edge = self.stamp.edge[::2]
        at = self.sheet(form, np.array([anchor]), edge)[0]
        slack = SLACK_MM + SLACK_SHARE * self.forms[form].scale * np.hypot(*edge.T)
        return bool((look.free_mm(at) >= SHORT * look.skin_break_mm - slack).all()
                    and (look.within_mm(at) >= -slack).all())

    @cached_property
    def us(self) -> np.ndarray:
        """The anchors on skin, (n, 2) of (u, s)."""
        return self.panel.from_mm(self.at_mm)

    def _known(self, form: np.ndarray, anchor: np.ndarray) -> np.ndarray:
        off = np.empty(len(form))
        for rung in self.off:
            rows = self.rung[form] == rung
            off[rows] = self.off[rung][anchor[rows]]
        side = np.sign(np.round(self.at_mm[anchor, 0], 6)).astype(int) + 1
        return np.column_stack([self.by_form[form, 0], np.clip(off / max(self.limits.stretch_strong, 1e-9), 0, 1),
                                self.by_form[form, 1], self.by_side[form, side]])


def panel_tries(panel: Panel, part: str, stamp: Stamp, forms: Sequence[Form], side: Mapping[str, Any], step_mm: float,
                skin: shapely.Geometry, limits: Limits, client: Client | None = None) -> PanelTries:
    """Every form at anchors `step_mm` apart on the planned skin, some of them on the midline."""
    x0, y0, x1, y1 = skin.bounds
    x = step_mm * np.arange(np.ceil(x0 / step_mm), np.floor(x1 / step_mm) + 1)
    y = np.arange(y0 + step_mm / 2, y1, step_mm)
    at = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    at = at[shapely.contains_xy(skin, at[:, 0], at[:, 1])]
    reach = float(np.hypot(*stamp.edge.T).max())
    rung = np.array([rung_of(f.scale * reach) for f in forms])
    papers = {int(r): paper_at(panel, int(r), at) for r in np.unique(rung)}
    scale = np.array([f.scale for f in forms])
    span = np.log(scale.max() / scale.min()) if scale.max() > scale.min() else 1.0
    lean = np.array([abs(tilt(f.turn_deg, float(side.get("upright_deg") or 0.0), f.flip)) for f in forms])
    by_form = np.column_stack([np.log(scale.max() / scale) / span,
                               np.clip(lean / max(limits.tilt_strong_deg, 1e-9), 0, 1)])
    by_side = np.zeros((len(forms), 3))
    facing = str(side.get("facing") or "none")
    if facing in ("left", "right"):
        for i, f in enumerate(forms):
            for j, u in enumerate((-0.1, 0.0, 0.1)):
                found = looks(panel, part, u, facing, f.flip, f.turn_deg)
                by_side[i, j] = 0.0 if found is None else float(np.clip(0.5 - sum(found) / 2, 0, 1))
    spots = spots_on(panel, part, client or Client())
    return PanelTries(panel, forms, stamp, grid_of(panel), spots, at, rung, {r: p[0] for r, p in papers.items()},
                      {r: p[1] for r, p in papers.items()}, by_form, by_side, limits)
