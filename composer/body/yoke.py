"""Chest and upper back from their tapes: what is wrong is said at once, else the panel is made."""

from __future__ import annotations

from collections.abc import Mapping

from composer.body.measures import MeasureError, _in_range, _read, refused
from composer.body.panel import Panel
from composer.body.swaps import Problem
from composer.body.units import check_unit
from composer.body.yoke_fields import PANEL_FIELDS, PANELS
from composer.body.yoke_panel import make_panel


def check_panel(
    part: str, values: Mapping[str, str | float | None], unit: str = "cm"
) -> tuple[dict[str, float], list[Problem]]:
    """Read every measure of 'chest' or 'upper_back'; see `composer.body.measures.check`."""
    unit = check_unit(unit)
    clean: dict[str, float] = {}
    problems: list[Problem] = []
    fields = PANEL_FIELDS[part]
    for f in fields:
        value = _read(f.name, f"{f.label} ({f.kind})", values.get(f.name), unit, problems, f)
        if value is not None and _in_range(f, value, unit, problems):
            clean[f.name] = value
    known = {f.name for f in fields}
    problems += [
        Problem(n, f"'{n[:40]}' is no measure of the {part.replace('_', ' ')} and was left out.", "warning")
        for n in values
        if n not in known
    ]
    if len(clean) == len(fields) and not refused(problems):
        try:
            make_panel(part, tuple(sorted(clean.items())))
        except ValueError as e:
            problems.append(Problem("", str(e)))
    return clean, problems


def build_panel(part: str, measures_mm: Mapping[str, float]) -> Panel:
    """The panel of 'chest' or 'upper_back' from its measures (mm by name). The same measures give the same object.

    Raises MeasureError (a ValueError) with every sentence when measures are missing, out of range or make no trunk.
    """
    if part not in PANELS:
        raise ValueError(f"'{part}' is no panel; chest and upper back are.")
    clean, problems = check_panel(part, measures_mm, "mm")
    bad = [p for p in problems if p.severity == "refuse"]
    if bad:
        raise MeasureError([Problem(p.field, f"{part.replace('_', ' ').capitalize()}: {p.sentence}") for p in bad])
    return make_panel(part, tuple(sorted(clean.items())))
