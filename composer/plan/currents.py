"""How the artist wants background to run on a part: strokes that it follows, rings round the joint, a spiral.

`Part.extra["currents"]` is {"strokes": [[[u, s], ...], ...], "rings": true or false, "spiral_deg": degrees that the
flow leans from the limb's axis, counter-clockwise as skin is seen from outside}. A part without it runs by itself.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from composer.plan.errors import StepError
from composer.plan.model import PANELS, Part, Plan

KEY = "currents"
MOST_STROKES, MOST_POINTS = 24, 40
MOST_SPIRAL_DEG = 75.0


@dataclass(frozen=True)
class Currents:
    """`strokes`: ways along which background runs, each ((u turns, s mm), ...) with u unwrapped."""

    strokes: tuple[tuple[tuple[float, float], ...], ...] = ()
    rings: bool = False
    spiral_deg: float = 0.0


def currents_of(part: Part) -> Currents:
    """What is kept with the part. Raises StepError when it can't be read."""
    data = part.extra.get(KEY)
    if data is None:
        return Currents()
    try:
        strokes = tuple(read_stroke(s) for s in data.get("strokes", ()))
        return Currents(strokes, bool(data.get("rings", False)), _spiral(data.get("spiral_deg", 0.0)))
    except AttributeError as err:
        raise StepError("How the background runs cannot be read; set it again.") from err


def change_currents(plan: Plan, step: Mapping[str, Any]) -> Plan:
    """Step {"part", and any of "add": stroke, "remove": number of a stroke, "rings": bool, "spiral_deg": degrees,
    "clear": true}. Raises StepError with a sentence."""
    part = plan.part(step["part"])
    now = currents_of(part)
    if step.get("clear"):
        now = Currents()
    strokes = list(now.strokes)
    if "remove" in step:
        n = step["remove"]
        if isinstance(n, bool) or not isinstance(n, int) or not 0 <= n < len(strokes):
            raise StepError("This stroke is no longer there.")
        del strokes[n]
    if "add" in step:
        if len(strokes) >= MOST_STROKES:
            raise StepError(f"A part takes {MOST_STROKES} strokes at most; delete one first.")
        strokes.append(read_stroke(step["add"]))
    if step.get("rings") and part.name in PANELS:
        raise StepError("Chest and back have no joint to run round.")
    now = Currents(tuple(strokes), bool(step.get("rings", now.rings)), _spiral(step.get("spiral_deg", now.spiral_deg)))
    extra = {k: v for k, v in part.extra.items() if k != KEY}
    if now != Currents():
        extra[KEY] = {"strokes": [[list(p) for p in s] for s in now.strokes], "rings": now.rings,
                      "spiral_deg": now.spiral_deg}
    new = replace(part, extra=extra)
    return replace(plan, parts=tuple(new if p.name == part.name else p for p in plan.parts))


def read_stroke(data: Any) -> tuple[tuple[float, float], ...]:
    """The points (u turns, s mm) of a line drawn over the skin. Raises StepError with a sentence."""
    try:
        points = tuple((float(u), float(s)) for u, s in data)
    except (TypeError, ValueError) as err:
        raise StepError("The stroke could not be read; draw it again.") from err
    if not 2 <= len(points) <= MOST_POINTS:
        raise StepError(f"A stroke needs 2 to {MOST_POINTS} points; draw it again.")
    if not all(math.isfinite(v) and abs(v) < 5000 for p in points for v in p):
        raise StepError("The stroke has a point that is no place on skin; draw it again.")
    return points


def _spiral(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise StepError("The spiral must be a number of degrees.")
    if abs(value) > MOST_SPIRAL_DEG:
        raise StepError(f"The spiral is {value:g} degrees; {-MOST_SPIRAL_DEG:g} to {MOST_SPIRAL_DEG:g} can be used.")
    return float(value)
