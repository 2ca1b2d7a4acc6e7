"""A piece taken from one part to another that it meets, as on the wide sheet of both shoulders."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from composer.plan.errors import StepError
from composer.plan.model import PANELS, Piece, Plan
from composer.plan.twins import OTHER


def rehome(plan: Plan, step: Mapping[str, Any]) -> Plan:
    """The step {"do": "rehome", "id": piece, "part": name, "u": turns, "s_mm": mm, "turn_deg": degrees}: the piece
    lies there from now on. A linked twin goes along to the other side of that part; a free one stays.

    Raises StepError or KeyError with a sentence.
    """
    piece, part = plan.piece(str(step["id"])), plan.part(str(step["part"])).name
    if piece.locked:
        raise StepError(f"'{piece.title}' is locked; unlock it to move it.")
    moved = replace(piece, part=part, u=float(step["u"]), s_mm=float(step["s_mm"]),
                    turn_deg=float(step.get("turn_deg", piece.turn_deg)))
    if piece.part == part:
        return plan.with_piece(moved)
    pairs = [(t, o) for t in plan.pieces for o in plan.pieces if t.twin_of == o.id and piece.id in (t.id, o.id)]
    plan = plan.with_piece(moved)
    for twin, origin in pairs:
        other = origin if twin.id == piece.id else twin
        if twin.linked:
            plan = _along(plan, moved, other, twin.id)
        else:   # it mirrors nothing any more
            plan = plan.with_piece(replace(plan.piece(twin.id), twin_of=None, axis_u=None))
    return plan


def _along(plan: Plan, moved: Piece, other: Piece, twin_id: str) -> Plan:
    """The partner of a linked pair on the other side of the part that one of them went to."""
    part = moved.part if moved.part in PANELS else OTHER[moved.part]
    if not any(p.name == part for p in plan.parts):
        raise StepError(f"The {part.replace('_', ' ')} has no measures yet, so the linked twin can't go along; "
                        "tape it, or set the twin free first.")
    if other.locked:
        raise StepError(f"'{other.title}' is a linked twin and locked; unlock it or set it free first.")
    plan = plan.with_piece(replace(plan.piece(other.id), part=part))
    return plan.with_piece(replace(plan.piece(twin_id), axis_u=0.0 if part in PANELS else None))
