"""Parts of the body that the desk can show, and what they are called on it."""

from __future__ import annotations

from composer.body.kinds import kind_of
from composer.plan.model import PANELS, PARTS, Plan

SHOWN = (*PARTS, *PANELS)
"""Every part that can be taped and planned here, in the order in which they are shown."""

PART_NAMES = {p: p.replace("_", " ").capitalize() for p in SHOWN} | {"chest": "Chest yoke"}


def limb_word(part: str) -> str:
    """'arm', 'leg', 'chest' or 'back'."""
    return {"chest": "chest", "upper_back": "back"}.get(part) or kind_of(part).name


def far_word(part: str) -> str:
    """What the far end is called: 'wrist', 'ankle' or, on chest and back, 'lower edge'."""
    return "lower edge" if part in PANELS else kind_of(part).far


def is_limb(part: str) -> bool:
    """Whether the part is an arm or a leg; chest and back are not."""
    return part not in PANELS


def measured_parts(plan: Plan) -> list[str]:
    """The plan's parts that the desk can show, in the order of SHOWN."""
    names = {p.name for p in plan.parts}
    return [p for p in SHOWN if p in names]
