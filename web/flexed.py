"""The optional second tape on Measure, muscles flexed: read from the form, shown beside the first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from composer.body.flexed import PREFIX, check_flexed, flexed_fields
from composer.body.swaps import Problem
from composer.body.units import number
from composer.plan.flexed import kept_flexed
from composer.plan.model import Plan


@dataclass(frozen=True)
class Tape:
    """One of the girths as the form shows it."""

    key: str
    label: str
    where: str
    value: str


def typed_of(plan: Plan, part: str, unit: str) -> dict[str, str]:
    """What is kept with the part, as it would be typed."""
    found = next((p for p in plan.parts if p.name == part), None)
    return {n: number(float(v), unit) for n, v in kept_flexed(found).items()} if found else {}


def typed_in(form: Mapping[str, Any], part: str) -> dict[str, str]:
    """What the form has of it."""
    return {f.name: str(form.get(PREFIX + f.name) or "") for f in flexed_fields(part)}


def read(plan: Plan, part: str, typed: Mapping[str, str], clean: Mapping[str, float],
         unit: str) -> tuple[dict[str, float], list[Problem]]:
    """mm by name, an untouched field keeping its exact mm, and what is wrong."""
    was = typed_of(plan, part, unit)
    found = next((p for p in plan.parts if p.name == part), None)
    exact = {n: f"{float(kept_flexed(found)[n]):.6f} mm" if found and text.strip() and text.strip() == was.get(n)
             else text for n, text in typed.items()}
    return check_flexed(exact, clean, unit, part)


def shown(part: str, typed: Mapping[str, str]) -> list[Tape]:
    """The fields as the form shows them; none on chest and back."""
    return [Tape(PREFIX + f.name, f.label, f.where, typed.get(f.name, "")) for f in flexed_fields(part)]
