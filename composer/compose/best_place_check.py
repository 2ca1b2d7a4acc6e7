"""Is a place really clear? The same question asked more and more closely, for few places at last."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from composer.art.drawing import Drawing
from composer.body.limb import Limb
from composer.body.panel import Panel
from composer.compose.best_place_panel_check import PanelChecker, skin_of
from composer.compose.best_place_pose import Pose, lay_pose
from composer.compose.chart import chart_of
from composer.compose.fit_near import Body, body_of, clearance, make_body
from composer.compose.fit_samples import take_samples
from composer.plan.scene import Laid, Scene

ROUGH_MM = 0.6
"""The quick look may be off by so much: half a step along each outline, and the taper."""


@dataclass(frozen=True, eq=False)
class Checker:
    """What is there already: `bodies` of the pieces, all clear of `drawing` (a silhouette) by
    `skin_break_mm`, within `span` (s from, s to) of the limb."""

    limb: Limb
    drawing: Drawing
    bodies: tuple[Body, ...]
    skin_break_mm: float
    span: tuple[float, float]

    def rough(self, poses: Sequence[Pose], tree: object) -> np.ndarray:
        """Whether each pose may be clear (n,): points of its outline against the points of all pieces."""
        if tree is None or not poses:
            return np.ones(len(poses), bool)
        chart = chart_of(self.limb)
        parts = [self.laid(p).rings for p in poses]
        stop = np.cumsum([sum(map(len, rings)) for rings in parts])
        us = np.concatenate([r for rings in parts for r in rings])
        ut = chart.to_chart(us)
        ut[:, 0] %= 1.0
        ut[ut[:, 0] >= 1.0, 0] = 0.0
        within = (self.skin_break_mm + 2.0) / float(chart.c.min())
        mm = tree.query(ut, distance_upper_bound=within)[0] * chart.girth(us[:, 1])  # type: ignore[attr-defined]
        return np.minimum.reduceat(mm, np.append(0, stop[:-1])) >= self.skin_break_mm - ROUGH_MM

    def laid(self, pose: Pose) -> Laid:
        """The silhouette on skin; not kept."""
        return lay_pose(self.limb, self.drawing, pose)

    def clear_mm(self, pose: Pose, reach_mm: float = 60.0) -> float:
        """Clear skin round a pose, mm, to the nearest piece (inf: none within reach), negative when it can't lie
        there at all: over a piece, past the span, or meeting itself behind the limb."""
        laid = self.laid(pose)
        body = make_body(self.limb, laid, take_samples(laid.flat, inner=1))
        s, u = body.us[:, 1], body.us[:, 0]
        if s.min() < self.span[0] - 1e-6 or s.max() > self.span[1] + 1e-6:
            return -1.0
        if np.ptp(u) + self.skin_break_mm / float(chart_of(self.limb).girth(s).min()) >= 1.0:
            return -1.0
        d = clearance(self.limb, body, self.bodies, reach_mm)
        return d if d > 0 else -1.0

    def clear(self, pose: Pose) -> bool:
        """Whether the skin break is kept all round."""
        return self.clear_mm(pose, self.skin_break_mm + 3.0) >= self.skin_break_mm


def checker(scene: Scene, drawing: Drawing, skin_break_mm: float, span: tuple[float, float] | None = None,
            without: str | None = None) -> Checker | PanelChecker:
    """A checker against the main pieces of a scene, less the one named `without`; on chest and back there is no
    `span`."""
    limb = scene.limb
    bodies = tuple(body_of(limb, x) for x in scene.laid if not x.piece.is_filler and x.piece.id != without)
    outline = Drawing(drawing.silhouette, ())
    if isinstance(limb, Panel):
        rings = tuple(tuple(np.split(b.us, b.starts[1:])) for b in bodies)
        return PanelChecker(limb, outline, rings, skin_break_mm, skin_of(limb))
    return Checker(limb, outline, bodies, skin_break_mm, span or (limb.s_min, limb.s_max))


__all__ = ["Checker", "PanelChecker", "Pose", "checker"]
