"""Measures that were not taped, as the measure page shows them: estimated, with their range, never silently.

Stature, weight and which half of the survey to go by are kept with the plan's settings as `body`, since every part is
estimated from them; a measure that is estimated stays marked on its part until it is taped.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from composer.body.estimate import Estimate, EstimateError, estimate, filled
from composer.body.kinds import fields_of
from composer.body.units import LengthError, number, parse_length
from composer.plan.estimated import estimated_of
from composer.plan.model import Part, Plan

KEY = "body"
SEXES = {"": "Men and women", "female": "Women", "male": "Men"}
LB_KG = 0.45359237
"""The avoirdupois pound, exact by the international agreement of 1959."""


@dataclass(frozen=True)
class Body:
    """What is known of the client besides the tape, as typed and as read; `faults` by field."""

    stature: str
    weight: str
    sex: str
    stature_mm: float | None
    weight_kg: float | None
    faults: Mapping[str, str]

    @property
    def told(self) -> bool:
        return self.stature_mm is not None or self.weight_kg is not None

    def kept(self) -> dict[str, Any]:
        """What is kept with the plan."""
        out = {"stature_mm": self.stature_mm, "weight_kg": self.weight_kg, "sex": self.sex or None}
        return {k: v for k, v in out.items() if v is not None}


def body_of_plan(plan: Plan, unit: str) -> Body:
    """What the plan knows; whatever can't be read counts as not told."""
    data = plan.settings.extra.get(KEY)
    data = data if isinstance(data, dict) else {}
    mm, kg = (v if isinstance(v, int | float) and not isinstance(v, bool) else None
              for v in (data.get("stature_mm"), data.get("weight_kg")))
    sex = str(data.get("sex") or "")
    return Body(number(mm, unit) if mm else "", f"{kg:.4g}" if kg else "", sex if sex in SEXES else "",
                float(mm) if mm else None, float(kg) if kg else None, {})


def body_of_form(form: Mapping[str, Any], unit: str, was: str = "") -> Body:
    """What was typed; `was` the unit in which bare numbers were typed before the unit was changed."""
    stature, weight = (str(form.get(n) or "").strip() for n in ("stature", "weight"))
    faults: dict[str, str] = {}
    mm = kg = None
    if stature:
        try:
            mm = parse_length(stature, was or unit, "Height")
            stature = number(mm, unit) if was and was != unit else stature
        except LengthError as err:
            faults["stature"] = str(err)
    if weight:
        found = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*(kg|lb|lbs)?", weight.lower())
        if found:
            kg = float(found[1].replace(",", ".")) * (LB_KG if (found[2] or "kg").startswith("lb") else 1.0)
        else:
            faults["weight"] = f"Weight is '{weight[:20]}'; write it as 72 or 72 kg, or 160 lb."
    for name, one, other in (("stature", mm, None), ("weight", None, kg)):
        try:
            estimate("arm", {}, one, other)
        except EstimateError as err:
            faults[name] = str(err)
    sex = str(form.get("sex") or "")
    return Body(stature, weight, sex if sex in SEXES else "", None if "stature" in faults else mm,
                None if "weight" in faults else kg, faults)


def of(part: str, taped: Mapping[str, float], body: Body) -> dict[str, Estimate]:
    """Estimates of what is not taped; none while nothing at all is known. `taped` are measures that can stand."""
    names = {f.name for f in fields_of(part)}
    known = {n: v for n, v in taped.items() if n in names}
    if not (known or body.told) or len(known) == len(names):
        return {}
    try:
        return estimate(part, known, body.stature_mm, body.weight_kg, body.sex or None)
    except EstimateError:
        return {}


def whole(part: str, taped: Mapping[str, float], guesses: Mapping[str, Estimate]) -> dict[str, float]:
    """Taped and estimated measures together, mm, estimates to a tenth of a mm."""
    both = filled(part, taped, guesses)
    return {n: round(v, 1) if n in guesses else v for n, v in both.items()}


def marks(guesses: Mapping[str, Estimate]) -> dict[str, list[float]]:
    """What the plan keeps of the ranges, rounded outwards so that they hold the rounded value."""
    return {n: [min(round(g.low_mm, 1), round(g.mean_mm, 1)), max(round(g.high_mm, 1), round(g.mean_mm, 1))]
            for n, g in guesses.items()}


def words(guess: Estimate, unit: str) -> str:
    """An estimate for reading: 'about 27.4 cm; nine in ten lie in 25.1 to 29.8'."""
    return f"about {number(guess.mean_mm, unit)} {unit}; nine in ten lie in {number(guess.low_mm, unit)} to " \
           f"{number(guess.high_mm, unit)}"


def guessed(part: Part) -> list[str]:
    """Names of a part's measures that are estimates, as the tape's own labels have them, in order of taping."""
    known = estimated_of(part)
    return [f"{f.label.lower()} ({f.kind})" for f in fields_of(part.name) if f.name in known]
