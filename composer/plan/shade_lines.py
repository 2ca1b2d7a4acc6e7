"""Up to where the artist wants background to be shaded: lines over the skin, and how tone gives out at the cuffs.

`Part.extra["shade"]` is {"lines": [{"id", "points": [[u, s], ...], "side": 1 or -1, "fall_mm"}], "cuff_mm": length over
which tone falls towards the sleeve's start and end, "contrast": whether it keeps clear of the tone of the pieces}. A
part without it has no line, and cuffs and contrast as usual. Side 1 is the left of a line along the way it was drawn,
as skin is seen from outside.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from composer.plan.currents import read_stroke
from composer.plan.errors import StepError
from composer.plan.model import Part, Plan

KEY = "shade"
MOST_LINES = 12
FALL_MM, CUFF_MM = 40.0, 26.0
"""Over what length shading gives out at a line, and tone at a cuff, when nothing was said (common practice, no
published source)."""
LEAST_FALL_MM, MOST_FALL_MM = 5.0, 150.0
MOST_CUFF_MM = 120.0
_ID = re.compile(r"[A-Za-z0-9_-]{1,64}")


@dataclass(frozen=True)
class ShadeLine:
    """Shading ends here. `points`: ((u turns, s mm), ...) with u unwrapped. `side`: 1 when what lies to the left of
    the line is shaded, -1 for its right. `fall_mm`: over so much skin before the line tone falls to open skin."""

    id: str
    points: tuple[tuple[float, float], ...]
    side: int = 1
    fall_mm: float = FALL_MM


@dataclass(frozen=True)
class Shade:
    """The shade lines of a part, `cuff_mm` over which tone falls towards a cuff (0: not at all), `contrast`: whether
    background goes lighter beside a dark piece and darker beside a light one."""

    lines: tuple[ShadeLine, ...] = ()
    cuff_mm: float = CUFF_MM
    contrast: bool = True

    def line(self, line_id: object) -> ShadeLine:
        """The line of that id. Raises StepError with a sentence."""
        for line in self.lines:
            if line.id == line_id:
                return line
        raise StepError("This shade line is no longer there; it may have been deleted in another window.")


def shade_of(part: Part) -> Shade:
    """What is kept with the part. Raises StepError when it can't be read."""
    data = part.extra.get(KEY)
    if data is None:
        return Shade()
    try:
        return Shade(tuple(_line(x) for x in data.get("lines", ())), _cuff(data.get("cuff_mm", CUFF_MM)),
                     _yes(data.get("contrast", True)))
    except AttributeError as err:
        raise StepError("The shade lines of this part cannot be read; draw them again.") from err


def change_shade(plan: Plan, step: Mapping[str, Any]) -> Plan:
    """Step {"part", and any of "add": {"id", "points", "side", "fall_mm"}, "change": {"id", "side", "fall_mm",
    "points"}, "remove": id, "cuff_mm", "contrast", "clear": true}. Raises StepError with a sentence."""
    part = plan.part(step["part"])
    now = Shade() if step.get("clear") else shade_of(part)
    lines = list(now.lines)
    if "remove" in step:
        lines.remove(now.line(step["remove"]))
    if "change" in step:
        old = now.line(step["change"]["id"])
        lines[lines.index(old)] = _line({**_plain(old), **step["change"]})
    if "add" in step:
        new = _line(step["add"])
        if any(x.id == new.id for x in lines):
            raise StepError("This shade line is there already.")
        if len(lines) >= MOST_LINES:
            raise StepError(f"A part takes {MOST_LINES} shade lines at most; delete one first.")
        lines.append(new)
    now = Shade(tuple(lines), _cuff(step.get("cuff_mm", now.cuff_mm)), _yes(step.get("contrast", now.contrast)))
    extra = {k: v for k, v in part.extra.items() if k != KEY}
    if now != Shade():
        extra[KEY] = {"lines": [_plain(x) for x in now.lines], "cuff_mm": now.cuff_mm, "contrast": now.contrast}
    new_part = replace(part, extra=extra)
    return replace(plan, parts=tuple(new_part if p.name == part.name else p for p in plan.parts))


def _plain(line: ShadeLine) -> dict[str, Any]:
    return {"id": line.id, "points": [list(p) for p in line.points], "side": line.side, "fall_mm": line.fall_mm}


def _line(data: Any) -> ShadeLine:
    if not isinstance(data, Mapping):
        raise StepError("The shade line could not be read; draw it again.")
    name, side, fall = data.get("id"), data.get("side", 1), data.get("fall_mm", FALL_MM)
    if not isinstance(name, str) or not _ID.fullmatch(name):
        raise StepError("A shade line needs a short name of its own; draw it again.")
    if isinstance(side, bool) or side not in (1, -1):
        raise StepError("A shade line is shaded on its one side or on its other, 1 or -1.")
    if isinstance(fall, bool) or not isinstance(fall, int | float) or not LEAST_FALL_MM <= fall <= MOST_FALL_MM:
        raise StepError(f"Shading can fall off over {LEAST_FALL_MM:g} to {MOST_FALL_MM:g} mm, not over {_said(fall)}.")
    points = read_stroke(data.get("points"))
    if max(math.dist(points[0], p) for p in points) < 1e-6:
        raise StepError("The shade line has no length; draw it again.")
    return ShadeLine(name, points, int(side), float(fall))


def _cuff(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= MOST_CUFF_MM:
        raise StepError(f"Tone can fall off towards a cuff over 0 to {MOST_CUFF_MM:g} mm, not over {_said(value)}.")
    return float(value)


def _yes(value: Any) -> bool:
    if not isinstance(value, bool):
        raise StepError("Contrast against the pieces is either kept or not.")
    return value


def _said(value: Any) -> str:
    return f"{value:g} mm" if isinstance(value, int | float) and not isinstance(value, bool) else f"'{value!s:.20}'"
