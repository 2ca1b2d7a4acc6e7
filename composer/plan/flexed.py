"""Girths that were taped flexed, kept with the part: `Part.extra["flexed"]` is {girth: mm}.

Where one no longer goes with the girth at rest (that was taped anew), the usual share is used until it is mended.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from composer.body.flexed import check_flexed, flexed_fields
from composer.plan.errors import StepError
from composer.plan.model import Part, Plan

KEY = "flexed"


def kept_flexed(part: Part) -> dict[str, Any]:
    """All that is kept, as it was taped."""
    kept = part.extra.get(KEY)
    return dict(kept) if isinstance(kept, Mapping) else {}


def flexed_of(part: Part) -> dict[str, float]:
    """What of it can be used beside the girths at rest, mm by name."""
    return check_flexed(kept_flexed(part), part.measures, "mm", part.name)[0]


def with_flexed(part: Part, given: Any) -> Part:
    """The part with these girths taped flexed, mm by name, and no others. Raises StepError with a sentence."""
    if not isinstance(given, Mapping):
        raise StepError("Girths taped flexed must be given by name, in mm.")
    strange = set(given) - {f.name for f in flexed_fields(part.name)}
    if strange:
        raise StepError(f"'{min(map(str, strange))[:40]}' can't be taped flexed on the "
                        f"{part.name.replace('_', ' ')}.")
    try:
        clean, problems = check_flexed(given, part.measures, "mm", part.name)
    except (TypeError, ValueError, OverflowError) as err:
        raise StepError("A girth taped flexed is not a number.") from err
    wrong = [p.sentence for p in problems if p.severity == "refuse"]
    if wrong:
        raise StepError(" ".join(wrong))
    kept = {k: v for k, v in part.extra.items() if k != KEY}
    return replace(part, extra={**kept, KEY: clean} if clean else kept)


def change_flexed(plan: Plan, step: Mapping[str, Any]) -> Plan:
    """The step {"do": "flexed", "part": name, "set": {girth: mm}}."""
    part = with_flexed(plan.part(step["part"]), step["set"])
    return replace(plan, parts=tuple(part if p.name == part.name else p for p in plan.parts))
