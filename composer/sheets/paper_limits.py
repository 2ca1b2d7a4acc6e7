"""What the artist's paper puts up with, as typed on the Stencils page and kept in `Settings.extra["paper"]`."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from composer.sheets.cut_model import Limits

KEY = "paper"
FIELDS = {"warn": ("Warn from", "%", 0.5, 50.0), "act": ("Propose cuts from", "%", 0.5, 50.0),
          "mm": ("Right to", "mm", 0.3, 10.0)}
"""By name: what it is called, its unit, and between which figures it may lie."""


def paper_of(typed: Mapping[str, Any]) -> dict[str, float]:
    """What is kept for what was typed: shares for the two stretches, mm for the error. Raises ValueError with the
    sentence to show."""
    out: dict[str, float] = {}
    for name, (words, unit, low, high) in FIELDS.items():
        text = str(typed.get(name) or "").strip().replace(",", ".").removesuffix(unit).strip()
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise ValueError(f"{words}: '{text[:20]}' is no number; write it in {unit}, such as "
                             f"{'1' if unit == 'mm' else '5'}.")
        if not low <= value <= high:
            raise ValueError(f"{words}: {value:g} {unit} can't be used; give {low:g} to {high:g} {unit}.")
        out[name] = round(value / 100, 6) if unit == "%" else value
    if out["act"] < out["warn"]:
        raise ValueError(f"Cuts would be proposed from {100 * out['act']:g}% and warned of from "
                         f"{100 * out['warn']:g}%; the warning must come first.")
    return out


def typed_of(limits: Limits) -> dict[str, str]:
    """The same as it stands in the fields."""
    return {"warn": f"{100 * limits.warn:g}", "act": f"{100 * limits.act:g}", "mm": f"{limits.error_mm or 0:g}"}
