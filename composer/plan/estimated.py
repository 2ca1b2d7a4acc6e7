"""Which measures of a part were estimated and not taped: kept beside the measures until they are.

`Part.extra["estimated"]` is {name: [low_mm, high_mm]}, the range that holds nine in ten such
people (`composer.body.estimate`). A measure without a mark was taped.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from composer.plan.errors import StepError
from composer.plan.model import Part

KEY = "estimated"


def estimated_of(part: Part) -> dict[str, tuple[float, float]]:
    """The marks of a part: name -> (low, high), mm."""
    return {str(n): (float(r[0]), float(r[1])) for n, r in part.extra.get(KEY, {}).items()}


def with_estimated(old: Part | None, measures: Mapping[str, float], marks: Any,
                   extra: Mapping[str, Any]) -> dict[str, Any]:
    """`extra` with the marks that hold after a measure step.

    `marks` is what the step says, {name: [low, high]}: what it names is estimated and everything
    else taped. When it says nothing (None), a mark stays on a measure that did not change and is
    gone from one that did. Raises StepError for a mark that can't be.
    """
    if marks is None:
        kept = estimated_of(old) if old else {}
        now = {n: list(r) for n, r in kept.items() if old and n in measures and measures[n] == old.measures.get(n)}
    elif isinstance(marks, Mapping):
        now = {str(n): _range(str(n), r, measures) for n, r in marks.items()}
    else:
        raise StepError("What is estimated must be given by name, each with its lowest and highest mm.")
    out = {k: v for k, v in extra.items() if k != KEY}
    return {**out, KEY: now} if now else out


def _range(name: str, given: Any, measures: Mapping[str, float]) -> list[float]:
    if name not in measures:
        raise StepError(f"'{name[:40]}' is marked as estimated but has no value.")
    try:
        low, high = (float(v) for v in given)
    except (TypeError, ValueError) as err:
        raise StepError(f"The range of the estimated {name.replace('_', ' ')} must be two lengths in mm.") from err
    if not (math.isfinite(low) and math.isfinite(high) and 0 <= low <= measures[name] <= high <= 10000):
        raise StepError(f"The range of the estimated {name.replace('_', ' ')} ({low:g} to {high:g} mm) must hold its "
                        f"value, {measures[name]:g} mm.")
    return [low, high]
