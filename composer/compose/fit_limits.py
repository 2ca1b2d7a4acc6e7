"""When a reading of fit is worth a remark: all the thresholds in one place, the artist's to change.

All of it is common practice, no published source, except the two ages of a line gap, which were
read off one measured series (facts/README.md, one subject). Advice, not law. A plan keeps its own
in `settings.extra["thresholds"]`, {name: number}; what is not named there stays as it is here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from composer.compose.thresholds import COVER_HIGH, COVER_LOW, DARK_APART, STRETCH_STRONG, STRETCH_WARN
from composer.plan.model import Settings

SOURCE = "common practice, no published source"
KEY = "thresholds"


class LimitError(ValueError):
    """A threshold that can't be; the message is the sentence to show."""


@dataclass(frozen=True)
class Limits:
    """Shares are 0..1, lengths mm, angles degrees.

    `stretch_*`: stretch of the paper as it wraps. `flex_*`: strain of the skin flexed or bent.
    `fold_share`: share of a piece where skin folds. `slit_share`: up to this share of it off by
    `stretch_strong` slits help, above it is freehand. `visible_low`: share seen from the best side.
    `tilt_*`: off upright. `joint_mm`: how far past a joint line a piece must reach to cross it.
    `bone_share`. `gap_*_mm`: drawn gap between lines that closes with age; `gap_run_mm`
    and `gap_share` of all: so much of it must be that narrow to count. `focal_share`: so much of a
    focal piece must show for it to count on a side. `contrast_low`: neighbours nearer than `near_mm` differ by
    less in black and dark. `heavy_apart`: one side against another.
    `cover_*`: share of skin under pieces. `own_pace`: the artist's pace at the needle against the usual one.
    """

    stretch_warn: float = STRETCH_WARN
    stretch_strong: float = STRETCH_STRONG
    slit_share: float = 0.30
    flex_warn: float = 0.15
    flex_strong: float = 0.30
    fold_share: float = 0.10
    visible_low: float = 0.70
    visible_poor: float = 0.50
    tilt_warn_deg: float = 25.0
    tilt_strong_deg: float = 60.0
    joint_mm: float = 3.0
    bone_warn: float = 0.10
    bone_strong: float = 0.40
    gap_warn_mm: float = 1.5
    gap_strong_mm: float = 1.0
    gap_run_mm: float = 10.0
    gap_share: float = 0.05
    focal_share: float = 0.60
    contrast_low: float = 0.12
    near_mm: float = 25.0
    heavy_apart: float = DARK_APART
    cover_low: float = COVER_LOW
    cover_high: float = COVER_HIGH
    own_pace: float = 1.0


_ORDER = (("stretch_warn", "stretch_strong"), ("flex_warn", "flex_strong"), ("visible_poor", "visible_low"),
          ("tilt_warn_deg", "tilt_strong_deg"), ("bone_warn", "bone_strong"), ("gap_strong_mm", "gap_warn_mm"),
          ("cover_low", "cover_high"))
_MOST = {"mm": 200.0, "deg": 180.0, "pace": 4.0}
_LEAST = {"pace": 0.25}


def limits_from(data: Mapping[str, Any] | None) -> Limits:
    """The thresholds with some of them changed. Raises LimitError with a sentence."""
    if data is None:
        return Limits()
    if not isinstance(data, Mapping):
        raise LimitError("Thresholds must be given by name.")
    known = {f.name for f in fields(Limits)}
    for name, value in data.items():
        words = str(name)[:40].replace("_", " ")
        if name not in known:
            raise LimitError(f"There is no threshold '{words}'; known are {', '.join(sorted(known))}.")
        most, least = (of.get(str(name).rsplit("_", 1)[-1], usual) for of, usual in ((_MOST, 1.0), (_LEAST, 0.0)))
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value) \
                or not least <= value <= most:
            raise LimitError(f"The threshold '{words}' is {value!r}; it runs from {least:g} to {most:g}.")
    out = Limits(**{str(k): float(v) for k, v in data.items()})
    for low, high in _ORDER:
        if getattr(out, low) > getattr(out, high):
            raise LimitError(f"The threshold '{low.replace('_', ' ')}' must not be above '{high.replace('_', ' ')}'.")
    return out


def limits_of(settings: Settings) -> Limits:
    """The thresholds of a plan. Raises LimitError with a sentence."""
    return limits_from(settings.extra.get(KEY))
