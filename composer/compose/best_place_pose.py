"""Where and how a motif would lie, and its silhouette on skin there."""

from __future__ import annotations

from dataclasses import dataclass

from composer.art.drawing import Drawing
from composer.body.patch import lay_patch_under
from composer.body.surface import Surface
from composer.plan.model import Piece
from composer.plan.scene import Laid, matrix


@dataclass(frozen=True)
class Pose:
    """Where and how a motif would lie."""

    u: float
    s_mm: float
    turn_deg: float
    scale: float
    flip: bool


def lay_pose(limb: Surface, drawing: Drawing, pose: Pose) -> Laid:
    """A drawing on skin, as `composer.plan.scene.lay` would put it; not kept."""
    piece = Piece("", "", "", "", pose.u, pose.s_mm, pose.turn_deg, pose.scale, pose.flip)
    flat = drawing.moved(matrix(piece))
    patch = lay_patch_under(limb, pose.u, pose.s_mm, flat.silhouette)
    return Laid(piece, flat, patch, tuple(patch.to_skin(r) for r in flat.silhouette))
