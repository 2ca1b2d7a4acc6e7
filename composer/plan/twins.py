"""Twins: a piece mirrored over an axis of its own part or onto the other arm, and kept alike."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from composer.art.drawing import Drawing
from composer.body.correspond import Pose, carry, mirror
from composer.body.deviation import Deviation, deviation
from composer.body.limb import Limb
from composer.body.panel import Panel
from composer.body.panel_mirror import mirror_on_panel, panel_deviation
from composer.body.surface import Surface, build_surface
from composer.plan.errors import StepError
from composer.plan.model import PANELS, Piece, Plan
from composer.plan.scene import fit_of, lay

OTHER = {"left_arm": "right_arm", "right_arm": "left_arm", "left_leg": "right_leg", "right_leg": "left_leg"}
_ALIKE = ("art", "scale", "state", "recipe")
_POSE = ("u", "s_mm", "turn_deg", "flip")


def one_turn(value: float, turn: float = 1.0) -> float:
    """The value moved by whole turns to within half a turn of 0; exact where it lies there already."""
    return value - turn * round(value / turn)


def surface_of(plan: Plan, part: str) -> Surface:
    """The skin of a part of the plan: a limb, or the panel of chest or back. Raises KeyError or ValueError
    with a sentence."""
    p = plan.part(part)
    return build_surface(p.name, p.measures)


limb_of = surface_of
"""The older name; a part that is no limb gives its panel."""


def make_twin(plan: Plan, piece: Piece, new_id: str, axis_u: float | None = None, linked: bool = True) -> Piece:
    """The twin of a piece: over the line `axis_u` (turns) of its part, or onto the other arm or leg. On chest
    and back the other side is across the midline.

    Raises StepError when the other arm has no measures yet.
    """
    if piece.part in PANELS:
        axis_u = axis_u or 0.0
    part = piece.part if axis_u is not None else OTHER[piece.part]
    if not any(p.name == part for p in plan.parts):
        raise StepError(f"The {part.replace('_', ' ')} has no measures yet; tape it before you mirror onto it.")
    twin = replace(piece, id=new_id, part=part, twin_of=piece.id, linked=linked, axis_u=axis_u, locked=False)
    return _posed(plan, piece, twin)


def _posed(plan: Plan, source: Piece, target: Piece) -> Piece:
    pose = Pose(source.u, source.s_mm, source.turn_deg, source.flip)
    axis = target.axis_u if target.twin_of == source.id else source.axis_u
    skin = surface_of(plan, source.part)
    if isinstance(skin, Panel) and not axis:
        new = mirror_on_panel(skin, pose)
    elif source.part == target.part:
        new = mirror(pose, axis or 0.0)
    else:
        there = surface_of(plan, target.part)
        if isinstance(skin, Panel) or isinstance(there, Panel):
            raise StepError(f"'{source.title}' can't be mirrored between the {source.part.replace('_', ' ')} and the "
                            f"{target.part.replace('_', ' ')}.")
        new = carry(skin, there, pose)
    alike = {k: getattr(source, k) for k in _ALIKE}
    return replace(target, u=one_turn(new.u), s_mm=new.s_mm, flip=new.flip, turn_deg=one_turn(new.turn_deg, 360.0),
                   **alike)


def follow(before: Plan, after: Plan) -> Plan:
    """Let linked twins follow what changed between two plans.

    Whichever of a pair changed leads; where the measures of a part changed, the first of the
    pair leads. Raises StepError when the one that would have to follow is locked.
    """
    old = {p.id: p for p in before.pieces}
    moved_parts = {p.name for p in after.parts} - {p.name for p in before.parts if p in after.parts}
    for twin in [p for p in after.pieces if p.linked and p.twin_of]:
        origin = next((p for p in after.pieces if p.id == twin.twin_of), None)
        if origin is None or twin.id not in old:
            continue
        led, lead = twin, origin
        if _changed(old[twin.id], twin) and not _changed(old.get(origin.id, origin), origin):
            led, lead = origin, twin
        elif not _changed(old.get(origin.id, origin), origin) and not {twin.part, origin.part} & moved_parts:
            continue
        new = _posed(after, lead, led)
        if new == led:
            continue
        if led.locked:
            raise StepError(f"'{led.title}' on the {led.part.replace('_', ' ')} is a linked twin and locked; "
                            "unlock it or set it free first.")
        after = after.with_piece(new)
    return after


def _changed(a: Piece, b: Piece) -> bool:
    return any(getattr(a, k) != getattr(b, k) for k in (*_ALIKE, *_POSE))


def twin_deviation(plan: Plan, twin: Piece, gallery: Mapping[str, Drawing]) -> Deviation:
    """How far a twin on the other arm or leg, or across the midline of chest or back, lies from the
    point-by-point mirror image, mm, and why."""
    origin = plan.piece(twin.twin_of or "")
    source = surface_of(plan, origin.part)
    laid = lay(source, origin, gallery[origin.art])
    pose = Pose(origin.u, origin.s_mm, origin.turn_deg, origin.flip)
    if isinstance(source, Panel) and not twin.axis_u:
        return panel_deviation(source, pose, np.concatenate(laid.flat.silhouette))
    there = surface_of(plan, twin.part)
    assert isinstance(source, Limb) and isinstance(there, Limb)
    return deviation(source, there, pose, laid.flat.silhouette, fit_of(origin, gallery[origin.art]))
