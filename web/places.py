"""Parts of the body that the desk can show, and what they are called on it."""

from __future__ import annotations

from composer.body.joins_wide import PAIRS, WIDE, WIDE_NAMES
from composer.body.kinds import kind_of
from composer.compose.words import edge_titles
from composer.plan.model import PANELS, PARTS, Plan

SHOWN = (*PARTS, *PANELS)
"""Every part that can be taped and planned here, in the order in which they are shown."""

PART_NAMES = {p: p.replace("_", " ").capitalize() for p in SHOWN} | {"chest": "Chest yoke"}


PART_NAMES |= WIDE_NAMES
WIDE_WORDS = {"shoulders": "shoulders and chest", "shoulders_back": "shoulders and back",
              "left_side": "the left side, chest and back", "right_side": "the right side, chest and back",
              "left_shoulder": "the left shoulder, front and back",
              "right_shoulder": "the right shoulder, front and back"}
"""What a wide sheet shows, for the middle of a sentence."""


def wide_sheets(plan: Plan) -> list[str]:
    """The wide sheets that the plan has measures for: chest or back and at least one arm, or chest and back."""
    names = {p.name for p in plan.parts}
    return [w for w, middle in WIDE.items() if middle in names and (
        "upper_back" in names if w in PAIRS else names & {"left_arm", "right_arm"})]


def limb_word(part: str) -> str:
    """'arm', 'leg', 'chest' or 'back'."""
    return {"chest": "chest", "upper_back": "back"}.get(part) or ("sheet" if part in WIDE else kind_of(part).name)


def far_word(part: str) -> str:
    """What the far end is called: 'wrist', 'ankle' or, on chest and back, 'lower edge'."""
    return "lower edge" if not is_limb(part) else kind_of(part).far


def is_limb(part: str) -> bool:
    """Whether the part is an arm or a leg; chest and back are not."""
    return part not in PANELS and part not in WIDE


def border_words(part: str) -> dict[str, str]:
    """What the edges of a part are called, by their names as neighbours: 'border:far' -> 'the wrist'."""
    if is_limb(part):
        kind = kind_of(part)
        return {"border:far": f"the {kind.far}", "border:near": f"the {kind.near}"}
    return {f"border:{e}": f"the {words}" for e, words in edge_titles(part).items()}


def left_sign(part: str) -> int:
    """Which way the client's left lies on the sheet of chest or back: +1 to its right, -1 to its left."""
    return 1 if WIDE.get(part, part) == "chest" else -1


def measured_parts(plan: Plan) -> list[str]:
    """The plan's parts that the desk can show, in the order of SHOWN."""
    names = {p.name for p in plan.parts}
    return [p for p in SHOWN if p in names]
