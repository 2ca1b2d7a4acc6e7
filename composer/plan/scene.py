"""Pieces laid on the skin: where each outline really lies, ready for searching and drawing."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from composer.art.drawing import Drawing
from composer.body.patch import Patch, lay_patch, lay_patch_under
from composer.body.surface import Surface
from composer.kept import Kept
from composer.plan.currents import Currents, currents_of
from composer.plan.errors import StepError
from composer.plan.extents import KEY as EXTENT
from composer.plan.extents import EdgeLine, Extent, extent_of, sleeves_into
from composer.plan.model import Part, Piece, Plan
from composer.plan.shade_lines import Shade, shade_of


@dataclass(frozen=True)
class Laid:
    """A piece on skin. `flat` is the drawing turned and scaled, in its patch chart (mm);
    `rings` is its silhouette on skin, each ring (n, 2) of unwrapped (u, s). `home`: the piece as the plan has it, where
    this is how it reaches over a seam from its own part."""

    piece: Piece
    flat: Drawing
    patch: Patch
    rings: tuple[np.ndarray, ...]
    home: Piece | None = None

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Least and greatest u and s on skin: (u0, s0, u1, s1)."""
        us = np.concatenate(self.rings)
        return (*us.min(axis=0).tolist(), *us.max(axis=0).tolist())


@dataclass(frozen=True)
class Scene:
    """One part with what lies on it, back to front, how the artist wants background to run there and up to where it is
    shaded. `sleeve`: its start and end as levels in mm, where they were chosen; `run_in`: of a chest the arms whose
    sleeves run into it, with their extents."""

    limb: Surface
    seam_u: float
    laid: tuple[Laid, ...]
    currents: Currents = field(default_factory=Currents)
    shade: Shade = field(default_factory=Shade)
    sleeve: Extent | None = None
    run_in: tuple[tuple[str, Extent], ...] = ()

    def of(self, piece_id: str) -> Laid:
        return next(x for x in self.laid if x.piece.id == piece_id)


def matrix(piece: Piece) -> np.ndarray:
    """Affine 2x3 from the drawing's own mm to the patch chart's mm: flip, scale, turn."""
    a = np.radians(piece.turn_deg)
    rot = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    return np.column_stack([rot @ np.diag([-piece.scale if piece.flip else piece.scale, piece.scale]), [0.0, 0.0]])


def lay(limb: Surface, piece: Piece, drawing: Drawing) -> Laid:
    """Lay a piece on the skin, rigid in the patch that fits it (`fit_of`)."""
    key = (piece.u, piece.s_mm, piece.turn_deg, piece.scale, piece.flip)
    fit = fit_of(piece, drawing)
    flat, patch, rings = _laid.once((limb, drawing.digest, key, fit), lambda: _lay(limb, key, drawing, fit))
    return Laid(piece, flat, patch, rings)


Fit = Callable[[Surface, float, float, Sequence[np.ndarray]], Patch]
"""From skin, anchor (u turns, s mm) and outline (rings (n, 2), flat mm) to the patch of a piece."""


def fit_of(piece: Piece, drawing: Drawing) -> Fit:
    """How the paper of a piece is fitted: to the skin under its outline. What was drawn on the skin where it lies, a
    filler or a healed tattoo that was traced, keeps the patch it was drawn in, which is fitted over its height."""
    return _over_its_height if piece.is_filler or drawing.notes.get("traced") else lay_patch_under


def _over_its_height(limb: Surface, u: float, s_mm: float, rings: Sequence[np.ndarray]) -> Patch:
    xy = np.concatenate(rings)
    return lay_patch(limb, u, s_mm, -float(xy[:, 1].min()), float(xy[:, 1].max()), float(np.hypot(*xy.T).max()))


_laid: Kept[tuple[Drawing, Patch, tuple[np.ndarray, ...]]] = Kept(600_000, lambda laid: laid[0].points, least=100)
"""Laid drawings by limb, drawing and place, so many vertices of them (some 40 bytes each with their areas); a
scene's own pieces are the last used, so 100 stay in any case."""


def _lay(limb: Surface, key: tuple, drawing: Drawing, fit: Fit) -> tuple[Drawing, Patch, tuple[np.ndarray, ...]]:
    u, s, turn, scale, flip = key
    flat = drawing.moved(matrix(Piece("", "", "", "", u, s, turn, scale, flip)))
    patch = fit(limb, u, s, flat.silhouette)
    return flat, patch, tuple(patch.to_skin(r) for r in flat.silhouette)


def scene(plan: Plan, part: str, limb: Surface, gallery: Mapping[str, Drawing]) -> Scene:
    """The part's scene. `gallery` gives the drawing for each digest (KeyError if one is missing)."""
    return scene_of(plan, part, limb, tuple(lay(limb, p, gallery[p.art]) for p in plan.on(part)))


def scene_of(plan: Plan, part: str, limb: Surface, laid: tuple[Laid, ...]) -> Scene:
    """The part's scene with these pieces on it, back to front."""
    here = plan.part(part)
    return Scene(limb, here.seam_u, laid, currents_of(here), shade_of(here), _sleeve(here, limb),
                 sleeves_into(plan, part))


def _sleeve(part: Part, limb: Surface) -> Extent | None:
    """The sleeve that was chosen, its edges in mm, so that they can be read on a limb cut to it."""
    if not limb.closed or EXTENT not in part.extra:
        return None
    try:
        e = extent_of(part)
    except StepError:
        return None
    far, near = (EdgeLine("", x.s_mm(limb), x.form, x.depth_mm) for x in (e.far, e.near))
    return Extent(far, near, e.name, e.chest_mm)
