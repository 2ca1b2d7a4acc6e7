"""The parts of a body that are planned here, what is taped on each kind, and what is left out and why.

A part is a place on the body (left_arm, right_leg); its kind (arm, leg) says what is taped on
it. `UNPLANNED` names the parts that are not planned here, with the reason, for the screen.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from composer.body.fields import ASPECTS, FIELDS, GIRTHS, LENGTHS, LEVELS, TYPICAL_MM, Field
from composer.body.leg_fields import LEG_ASPECTS, LEG_FIELDS, LEG_GIRTHS, LEG_LENGTHS, LEG_LEVELS, LEG_TYPICAL_MM
from composer.body.yoke_fields import PANEL_FIELDS


@dataclass(frozen=True)
class Kind:
    """What is taped on one kind of limb.

    `called` is the kind with its article, `far` and `near` what its first and last tape are
    called in sentences. `girths`, `lengths`, `levels`, `aspects` run from the far end up;
    lengths are one fewer.
    """

    name: str
    called: str
    far: str
    near: str
    fields: tuple[Field, ...]
    levels: tuple[str, ...]
    girths: tuple[str, ...]
    lengths: tuple[str, ...]
    aspects: tuple[float, ...]
    typical: tuple[tuple[str, float], ...]

    @cached_property
    def by_name(self) -> dict[str, Field]:
        return {f.name: f for f in self.fields}

    @property
    def typical_mm(self) -> dict[str, float]:
        """An invented limb near the middle of the survey, mm by name."""
        return dict(self.typical)


ARM = Kind("arm", "an arm", "wrist", "shoulder", FIELDS, LEVELS, GIRTHS, LENGTHS, ASPECTS, tuple(TYPICAL_MM.items()))
LEG = Kind("leg", "a leg", "ankle", "hip", LEG_FIELDS, LEG_LEVELS, LEG_GIRTHS, LEG_LENGTHS, LEG_ASPECTS,
           tuple(LEG_TYPICAL_MM.items()))
KINDS = {k.name: k for k in (ARM, LEG)}

LIMB_PARTS = {"left_arm": "arm", "right_arm": "arm", "left_leg": "leg", "right_leg": "leg"}
"""Parts that are limbs, and their kind."""

_PANELS_CALLED = {"chest": "a chest", "upper_back": "an upper back"}


@dataclass(frozen=True)
class Unplanned:
    """A part of the body that is shown but not planned here, and the sentence that says why."""

    name: str
    label: str
    reason: str


_APART = ("Local law and many studios treat {} apart from other work{}: ask for the rules where you are, "
          "and draw it by eye.")
UNPLANNED = (
    Unplanned("hand", "Hand", _APART.format("hands", ", often only for clients who are tattooed elsewhere already")),
    Unplanned("foot", "Foot", _APART.format("feet", ", and the skin of sole and toes sheds ink")),
    Unplanned("neck", "Neck", _APART.format("the neck", ", because it can't be covered at work")),
    Unplanned("face", "Face", _APART.format("the face", ", and some laws forbid it")),
)
"""Common practice, no published source; what the law says differs by country and must be asked."""


def kind_of(part_or_kind: str) -> Kind:
    """The kind of a limb, by its own name or that of a part. Raises KeyError with a sentence."""
    name = LIMB_PARTS.get(part_or_kind, part_or_kind)
    if name in KINDS:
        return KINDS[name]
    for left_out in UNPLANNED:
        if left_out.name == part_or_kind:
            raise KeyError(f"The {left_out.name} is not planned here. {left_out.reason}")
    raise KeyError(f"'{str(part_or_kind)[:40]}' is no limb that can be taped here; "
                   f"known are {', '.join(LIMB_PARTS)}.")


def fields_of(part_or_kind: str) -> tuple[Field, ...]:
    """What is taped on a part or kind, chest and upper back too, in the order of taping.

    Raises KeyError with a sentence.
    """
    return PANEL_FIELDS[part_or_kind] if part_or_kind in PANEL_FIELDS else kind_of(part_or_kind).fields


def called(part_or_kind: str) -> str:
    """A part or kind with its article, for sentences: 'an arm', 'a chest'. Raises KeyError with a sentence."""
    return _PANELS_CALLED.get(part_or_kind) or kind_of(part_or_kind).called


def side_of(part: str) -> int:
    """+1 for a left part, -1 for a right one: the outer side lies at u = 0.25 times this."""
    return -1 if part.startswith("right") else 1
