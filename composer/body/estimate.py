"""Measures that were not taped, estimated from those that were; always marked, never silently.

Model: the tape measures of a limb, stature and weight are jointly normal in each sex, with the
means and covariances of ANSUR II (see `composer.body.ansur` for who is in it) and, where the tape
goes elsewhere than the survey's, ratios from memory (`composer.body.hangs`). An estimate is the
conditional mean given all that is known, its range the central 90% of that distribution. When
the sex is not told, it is a mixture of the two: equal shares at first, then weighed by how well
each explains what was taped (Bayes' rule).

How far off, mean absolute error in mm on 1,012 of the surveyed people (tests/outside/
test_ansur_estimate.py; first from the other measures of that limb, then from stature and weight
alone; sex told / left open), the range holding 89 to 92% of them in every case:

    wrist 4.5 / 4.6, 4.6 / 5.3                    ankle 6.8 / 7.0, 8.5 / 8.5
    flexed forearm 6.8 / 7.0, 9.4 / 11.6          calf 10.5 / 10.7, 13.0 / 13.3
    flexed biceps 13.0 / 13.2, 14.0 / 15.6        lower thigh 10.8 / 10.9, 12.7 / 14.2
    elbow to wrist 8.6 / 8.6, 8.8 / 8.9           thigh 20.9 / 21.2, 16.9 / 20.3
    elbow to armpit 9.2 / 9.3, 11.1 / 11.6        ankle bone to kneecap 15.0 / 15.6, 12.3 / 12.7
    armpit to shoulder bone 7.1 / 7.2, 7.9 / 8.1  kneecap to crotch 13.5 / 13.5, 13.3 / 13.3

Measures that hang on ratios from memory could not be checked so. A thigh is better told by
weight than by the rest of the leg: give stature and weight too.

Limits: right for adults like those surveyed. For children, very heavy or very muscular bodies the
range is too narrow. A measure of the other limb is no evidence here; copy it and tape it (on chest and
back the other side is). Where a chest panel ends is the artist's choice and no estimate. Ranges
say nothing of the tape's own error (about 3 mm in a girth).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from composer.body.ansur import SEXES, population
from composer.body.fields import Field
from composer.body.hangs import GIRTHS, joint, panel_joint
from composer.body.kinds import fields_of, kind_of
from composer.body.normal import Normal, mixture_range
from composer.body.yoke_fields import PANEL_FIELDS

SHARE = 0.90
STATURE_MM, WEIGHT_KG = (1000.0, 2500.0), (25.0, 300.0)
_LENGTH_MM = 1.0     # an estimated length is never less than this


class EstimateError(ValueError):
    """Nothing can be estimated from this; the message is the sentence to show."""


@dataclass(frozen=True)
class Estimate:
    """An estimated measure: the mean, the central 90% range, and where it comes from."""

    mean_mm: float
    low_mm: float
    high_mm: float
    from_what: str

    @property
    def range_mm(self) -> list[float]:
        """[low, high], as kept in a plan."""
        return [self.low_mm, self.high_mm]


@lru_cache(maxsize=8)
def _joint(part: str, sex: str) -> Normal:
    if part in PANEL_FIELDS:
        return panel_joint(population(sex), part, tuple(f.name for f in PANEL_FIELDS[part]))
    kind = kind_of(part)
    return joint(population(sex), kind.girths, kind.levels, kind.lengths)


def _surveyed(part: str, field: Field) -> bool:
    """Whether this tape goes where the survey's went."""
    return part not in PANEL_FIELDS and field.kind == "girth" and not GIRTHS[field.name].from_memory


def estimate(kind: str, taped: Mapping[str, float], stature_mm: float | None = None, weight_kg: float | None = None,
             sex: str | None = None) -> dict[str, Estimate]:
    """Every measure of a part that is not in `taped` (mm by field name): name -> Estimate.

    `kind` is 'arm', 'leg' or the name of a part ('chest' and 'upper_back' too); `sex` is 'female',
    'male' or None. Further girths (girth@NNN) and names of no measure are left out of account.
    Means are kept within what the field accepts at all. Raises EstimateError for a number that
    can't be, KeyError for a part that is not planned here.
    """
    fields = {f.name: f for f in fields_of(kind)}
    part = kind if kind in PANEL_FIELDS else kind_of(kind).name
    if sex not in (None, *SEXES):
        raise EstimateError(f"'{str(sex)[:20]}' can't be used here; the survey has female and male, or leave it open.")
    known = {n: _number(fields[n].label, v, fields[n].low_mm, fields[n].high_mm, "mm")
             for n, v in taped.items() if n in fields}
    count = len(known)
    if stature_mm is not None:
        known["stature"] = _number("Height", stature_mm, *STATURE_MM, "mm")
    if weight_kg is not None:
        known["weight_kg"] = _number("Weight", weight_kg, *WEIGHT_KG, "kg")
    sexes = SEXES if sex is None else (sex,)
    told = [_joint(part, s).given(known) for s in sexes]
    weights = np.exp([d - max(d for _, d in told) for _, d in told])
    weights /= weights.sum()
    source = _source(count, stature_mm, weight_kg, sex)
    out = {}
    for f in fields.values():
        if f.name in known:
            continue
        parts = [(float(w), *normal.marginal(f.name)) for w, (normal, _) in zip(weights, told, strict=True)]
        mean, low, high = mixture_range(parts, SHARE)
        mean = min(max(mean, f.low_mm), f.high_mm)
        low, high = max(min(low, mean), _LENGTH_MM), max(high, mean)
        out[f.name] = Estimate(mean, low, high, source + ("" if _surveyed(part, f) else
                               " Where this tape goes it was not surveyed: its share and spread are from memory."))
    return out


def filled(kind: str, taped: Mapping[str, float], estimates: Mapping[str, Estimate]) -> dict[str, float]:
    """Taped measures and estimated means together, mm by name, in the order of taping; further girths last."""
    names = [f.name for f in fields_of(kind)]
    both = {n: e.mean_mm for n, e in estimates.items()} | dict(taped)
    return {n: both[n] for n in names if n in both} | {n: v for n, v in taped.items() if n not in names}


def _number(what: str, value: float, low: float, high: float, unit: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float | np.number) or not math.isfinite(value):
        raise EstimateError(f"{what} is {value!r}, which is not a number; put it right or leave it empty.")
    if not low <= value <= high:
        raise EstimateError(f"{what} is {value:g} {unit}; to estimate from it, it must lie within "
                            f"{low:g} to {high:g} {unit}.")
    return float(value)


def _source(taped: int, stature: float | None, weight: float | None, sex: str | None) -> str:
    have = [f"{taped} taped measure{'s' if taped > 1 else ''}"] if taped else []
    have += [n for n, v in (("stature", stature), ("weight", weight)) if v is not None]
    base = f"from {_and(have)}" if have else "from nothing but the average"
    both = "4,082 men and 1,986 women, weighed by what is known"
    who = {"female": "1,986 women", "male": "4,082 men"}.get(sex or "", both)
    return f"Estimated {base}, by ANSUR II (US Army, 2012; {who}); nine in ten such people lie in the range."


def _and(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
