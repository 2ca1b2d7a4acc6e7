"""Strokes of the brush on the Tie in step: from the line on the sheet to a goal, and the goal's words.

The open goal is kept in the page as text, 'brush:WIDTH:u,s;u,s;...', so that nothing has to be remembered here. One
painted on a wide sheet is 'brush:PART:WIDTH:...', and where it runs over several parts such texts joined by '+'.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
from shapely.geometry import LineString

from composer.body.sheet import AnySheet
from composer.compose.gaps import Gap, Survey
from composer.filler.painted import LEAST_MM, WIDEST_MM, NothingUnder, painted_gaps
from composer.json_in import read_json
from composer.plan.errors import StepError
from web.desk import View
from web.findings import GapShown, gap_shown

PREFIX, JOINT = "brush:", "+"
MOST_POINTS = 22
MOST_SENT = 20_000
USUAL_MM = 26.0


class Bare(StepError):
    """Under a stroke there is no open skin."""


def is_brush(key: str) -> bool:
    """Whether an open goal is a stroke."""
    return key.startswith(PREFIX)


def keys_of(key: str) -> list[str]:
    """The goals that a stroke over several parts is made of, one for each stretch of it."""
    return key.split(JOINT)


def part_of(key: str) -> str:
    """The part that a stroke painted on a wide sheet lies on; '' for one painted on a part's own sheet."""
    head = key.removeprefix(PREFIX).partition(":")[0]
    return head if head.replace("_", "").isalpha() else ""


def width_of(width: str) -> float:
    """The width of a brush in mm. Raises StepError."""
    try:
        mm = float(width)
    except (ValueError, TypeError) as err:
        raise StepError("The stroke could not be read; paint it again.") from err
    if not math.isfinite(mm) or not LEAST_MM <= mm <= WIDEST_MM:
        raise StepError(f"The brush must be {LEAST_MM:g} to {WIDEST_MM:g} mm wide.")
    return mm


def key_of(text: str, width: str, sheet: AnySheet, part: str = "", most: int = MOST_POINTS) -> str:
    """The goal of a stroke; `text` is JSON [[x, y], ...], flat mm of the sheet, y up, `width` mm; `part` where the
    sheet is a part's place on a wide one; of `most` points at most. Raises StepError."""
    mm = width_of(width)
    skin = thinned_stroke(text, sheet, most)
    return f"{PREFIX}{part + ':' if part else ''}{mm:g}:" + ";".join(f"{u:.4f},{s:.1f}" for u, s in skin)


def line_of(text: str) -> np.ndarray:
    """A line drawn on the sheet (JSON, flat mm, y up), (n, 2). Raises StepError."""
    try:
        line = np.asarray(read_json(text), float)
    except (ValueError, TypeError) as err:
        raise StepError("The stroke could not be read; paint it again.") from err
    if line.ndim != 2 or line.shape[1:] != (2,) or not 1 <= len(line) <= MOST_SENT or not np.isfinite(line).all():
        raise StepError("The stroke could not be read; paint it again.")
    return line


def thinned_stroke(text: str, sheet: AnySheet, most: int) -> np.ndarray:
    """A line drawn on the sheet (JSON, flat mm, y up) as at most `most` places on skin (n, 2), as near to it as
    that many allow. Raises StepError."""
    line = line_of(text)
    tolerance = 0.8
    thin = line
    while len(thin) > 1 and tolerance < 100:
        thin = np.asarray(LineString(line).simplify(tolerance).coords) if len(line) > 1 else line
        if len(thin) <= most:
            break
        tolerance *= 1.6
    return sheet.to_skin(thin)


def goal_of(key: str) -> dict[str, Any]:
    """The recipe's goal, of a stroke over several parts that of its first. Raises StepError when the key can't be
    read."""
    key = keys_of(key)[0]
    try:
        part = part_of(key)
        width, _, points = key.removeprefix(PREFIX).removeprefix(f"{part}:" if part else "").partition(":")
        at = [[float(v) for v in p.split(",")] for p in points.split(";")]
        return {"brush": at, "width_mm": float(width), **({"joined": True} if part.endswith("arm") else {})}
    except ValueError as err:
        raise StepError("The stroke could not be read; paint it again.") from err


def gaps(survey: Survey, key: str) -> list[Gap]:
    """The open skin under a stroke, the largest first. Raises StepError with a sentence (Bare where there is
    none)."""
    try:
        return painted_gaps(survey, goal_of(key))
    except NothingUnder as err:
        raise Bare(str(err)) from err
    except ValueError as err:
        raise StepError(str(err)) from err


def shown(view: View, survey: Survey, key: str) -> GapShown:
    """A stroke as an open gap in the panel: all the open skin under it, the largest part named. Raises StepError."""
    rows = gaps(survey, key)
    titles = {la.piece.id: la.piece.title for la in view.scene.laid}
    whole = replace(rows[0], area_mm2=sum(g.area_mm2 for g in rows),
                    neighbours=tuple(dict.fromkeys(n for g in rows for n in g.neighbours)))
    one = gap_shown(whole, view, titles, False)
    return replace(one, key=key, name="painted by hand")
