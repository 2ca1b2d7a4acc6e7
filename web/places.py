"""Parts of the body that the desk can show, and what they are called on it."""

from __future__ import annotations

from composer.body.kinds import kind_of
from composer.plan.model import PARTS, Plan

PART_NAMES = {p: p.replace("_", " ").capitalize() for p in PARTS}


def limb_word(part: str) -> str:
    """'arm' or 'leg'."""
    return kind_of(part).name


def far_word(part: str) -> str:
    """What the far end is called: 'wrist' or 'ankle'."""
    return kind_of(part).far


def measured_parts(plan: Plan) -> list[str]:
    """The plan's parts that the desk can show, in the order of PARTS."""
    names = {p.name for p in plan.parts}
    return [p for p in PARTS if p in names]
