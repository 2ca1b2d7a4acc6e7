"""Is a place on chest or back really clear? Measured with shapely on the paper of the piece itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, rings_to_geometry
from composer.body.distort import stretches
from composer.body.kept_skin import KeptPanel
from composer.body.panel import Panel
from composer.compose.best_place_pose import Pose, lay_pose
from composer.compose.fit_samples import take_samples
from composer.plan.scene import Laid

EVERY_MM, FAR_MM = 1.2, 15.0
GROWS = 1.3
"""Lengths on the sheet may be so much shorter than on skin, told large."""


def skin_of(panel: Panel) -> BaseGeometry:
    """What of a panel is planned, sheet mm."""
    return panel.kept if isinstance(panel, KeptPanel) else panel.form


@dataclass(frozen=True, eq=False)
class PanelChecker:
    """What lies on a panel already: `rings` of each piece, (n, 2) of (u, s) close along its outline. `drawing`, a
    silhouette, is to keep `skin_break_mm` from all of them and lie on planned skin alone."""

    limb: Panel
    drawing: Drawing
    rings: tuple[tuple[np.ndarray, ...], ...]
    skin_break_mm: float
    skin: BaseGeometry = field(default_factory=shapely.Polygon)

    @cached_property
    def covers(self) -> np.ndarray:
        """The pieces on the sheet, mm."""
        return np.array([rings_to_geometry([self.limb.to_mm(r) for r in rings]) for rings in self.rings], dtype=object)

    @cached_property
    def _outlines(self) -> tuple[cKDTree, BaseGeometry] | None:
        if not self.rings:
            return None
        every = shapely.union_all(self.covers)
        shapely.prepare(every)
        return cKDTree(self.limb.to_mm(np.concatenate([r for rings in self.rings for r in rings]))), every

    @cached_property
    def _edge(self) -> cKDTree:
        return cKDTree(shapely.get_coordinates(shapely.segmentize(self.skin.boundary, EVERY_MM)))

    def free_mm(self, at: np.ndarray) -> np.ndarray:
        """How far sheet places (n, 2) are from the nearest outline, mm on the sheet, negative within a piece; told
        large by half a step along the outline at most, and infinite from FAR_MM on."""
        if self._outlines is None:
            return np.full(len(at), np.inf)
        tree, every = self._outlines
        mm = tree.query(at, distance_upper_bound=FAR_MM)[0]
        return np.where(shapely.contains_xy(every, at[:, 0], at[:, 1]), -mm, mm) + EVERY_MM / 2

    def within_mm(self, at: np.ndarray) -> np.ndarray:
        """How far sheet places (n, 2) lie within planned skin, mm on the sheet, negative outside; told alike."""
        mm = self._edge.query(at)[0]
        return np.where(shapely.contains_xy(self.skin, at[:, 0], at[:, 1]), mm, -mm) + EVERY_MM / 2

    def laid(self, pose: Pose) -> Laid:
        """The silhouette on skin; not kept."""
        return lay_pose(self.limb, self.drawing, pose)

    def clear_mm(self, pose: Pose, reach_mm: float = 60.0) -> float:
        """Clear skin round a pose, mm, to the nearest piece (inf: none within reach), negative when it can't lie
        there at all: over a piece or over the edge of planned skin."""
        laid = self.laid(pose)
        samples = take_samples(laid.flat, inner=1)
        edge = np.split(samples.edge, samples.ring_start[1:])
        here = rings_to_geometry([self.limb.to_mm(laid.patch.to_skin(r)) for r in edge])
        if not shapely.covers(self.skin, here):
            return -1.0
        reach = GROWS * reach_mm
        near = [k for k in range(len(self.rings)) if shapely.dwithin(self.covers[k], here, reach)]
        mine, least = _lines(edge), np.inf
        for k in near:
            if shapely.intersects(self.covers[k], here):
                return -1.0
            other = _lines([laid.patch.to_flat(r) for r in self.rings[k]])  # neither lies within the other
            least = min(least, float(shapely.distance(mine, other)))
        return -1.0 if least <= 0 else least if least <= reach_mm else np.inf

    def clear(self, pose: Pose) -> bool:
        """Whether the skin break is kept all round."""
        return self.clear_mm(pose, self.skin_break_mm + 3.0) >= self.skin_break_mm

    def stretch(self, pose: Pose) -> float:
        """How far paper is off at most under a pose, as a share."""
        laid = self.laid(pose)
        samples = take_samples(laid.flat, inner=40)
        xy = np.concatenate([samples.inner, samples.edge[::5]])
        return float(np.abs(stretches(self.limb, laid.patch, xy) - 1).max())


def _lines(rings: Sequence[np.ndarray]) -> BaseGeometry:
    """Rings (n, 2) as lines."""
    return shapely.multilinestrings(shapely.linearrings(np.concatenate(rings), indices=np.repeat(
        np.arange(len(rings)), [len(r) for r in rings])))
