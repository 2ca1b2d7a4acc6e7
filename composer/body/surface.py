"""The skin of any part: a limb, or the panel of chest or back; its measures read and built by name of part."""

from __future__ import annotations

from collections.abc import Mapping

from composer.body.limb import Limb
from composer.body.measures import build_limb, check
from composer.body.panel import Panel
from composer.body.swaps import Problem
from composer.body.yoke import build_panel, check_panel
from composer.body.yoke_fields import PANELS

Surface = Limb | Panel
"""What skin is read from; `closed` tells the two apart."""


def check_part(
    values: Mapping[str, str | float | None], unit: str, part: str
) -> tuple[dict[str, float], list[Problem]]:
    """`composer.body.measures.check` for the measures of any part, chest and back too."""
    return check_panel(part, values, unit) if part in PANELS else check(values, unit, part)


def build_surface(part: str, measures_mm: Mapping[str, float]) -> Surface:
    """The skin of a part from its measures, mm by name. The same measures give the same object.

    Raises MeasureError (a ValueError) with every sentence, and KeyError for a part that is not planned here.
    """
    return build_panel(part, measures_mm) if part in PANELS else build_limb(part, measures_mm)
