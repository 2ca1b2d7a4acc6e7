"""Measures that are each possible but not together, most often two that changed places."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from composer.body.fields import Field
from composer.body.kinds import ARM, Kind
from composer.body.units import format_length


@dataclass(frozen=True)
class Problem:
    """Something wrong with a field ('' for the whole): the sentence to show, and how bad.

    `severity` is 'refuse' (nothing can be made of it) or 'warning' (unusual but possible).
    """

    field: str
    sentence: str
    severity: str = "refuse"


_ARM_PAIRS = (
    # smaller, larger, refused above this ratio, remarked above this ratio
    ("wrist", "forearm", 1.0, 0.9),
    ("wrist", "elbow", 1.0, 0.9),
    ("wrist", "upper_arm", 1.0, 0.9),
    ("elbow", "forearm", 1.5, 1.10),
    ("forearm", "upper_arm", 1.6, 1.08),
    ("elbow", "upper_arm", 1.6, 1.12),
    ("upper_arm", "armpit", 1.5, 1.15),
    ("upper_arm", "deltoid", 1.3, 1.02),
    ("armpit", "deltoid", 1.3, 1.05),
    ("forearm_to_elbow", "wrist_to_forearm", 6.0, 0.9),
    ("upper_arm_to_armpit", "elbow_to_upper_arm", 6.0, 1.5),
)
_LEG_PAIRS = (
    ("ankle", "calf", 1.0, 0.78),
    ("ankle", "below_knee", 1.0, 0.85),
    ("ankle", "knee", 1.0, 0.85),
    ("ankle", "mid_thigh", 1.0, 0.65),
    ("below_knee", "calf", 1.5, 1.04),
    ("knee", "mid_thigh", 1.3, 0.95),
    ("calf", "mid_thigh", 1.3, 0.95),
    ("mid_thigh", "upper_thigh", 1.4, 1.02),
    ("upper_thigh", "hip", 1.4, 1.05),
    ("calf_to_below_knee", "ankle_to_calf", 6.0, 0.8),
    ("below_knee_to_knee", "ankle_to_calf", 6.0, 0.6),
    ("upper_thigh_to_hip", "mid_thigh_to_upper_thigh", 6.0, 1.0),
)
_PAIRS = {"arm": _ARM_PAIRS, "leg": _LEG_PAIRS}
"""Ratios are our own, set so that thin and muscular limbs pass; no published source. Only a wrist
or an ankle is refused at equality; the others may be so on one body in a thousand."""
_LEAST = ("wrist", "ankle")


def swapped(mm: Mapping[str, float], unit: str, kind: Kind = ARM) -> list[Problem]:
    """Problems of pairs among the measures that are there (mm by name, in range or not)."""
    out = []
    for small, large, refuse, remark in _PAIRS[kind.name]:
        if small not in mm or large not in mm:
            continue
        a, b = kind.by_name[small], kind.by_name[large]
        as_told, other_way = ((_fits(a, mm[x]) and _fits(b, mm[y])) for x, y in ((small, large), (large, small)))
        if not (as_told or other_way):
            continue
        ratio = mm[small] / mm[large]
        if ratio > remark or (small in _LEAST and ratio >= refuse):
            bad = ratio >= refuse
            word = "larger than" if ratio > 1 else "as large as" if ratio == 1 else "nearly as large as"
            if a.kind == "length":
                word = word.replace("large", "long").replace("longr", "longer")
            one, other = _named(a), _named(b)
            out.append(Problem(
                small, f"The {one} ({format_length(mm[small], unit)}) is {word} the {other} "
                f"({format_length(mm[large], unit)}){f', which no {kind.name} is' if bad else ', which is unusual'}; "
                f"were {one} and {other} swapped?", "refuse" if bad else "warning"))
    return out


def _named(f: Field) -> str:
    label = f.label.lower()
    return f"girth {label}" if label.startswith("below") else label


def _fits(f: Field, mm: float) -> bool:
    return f.low_mm <= mm <= f.high_mm
