"""A second tape, with the muscle flexed: which girths have one, and what is plausible.

It takes the place of the usual share by which a girth grows when flexed (`composer.body.flex.FACTORS`). Optional.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from composer.body.fields import ANSUR_MM
from composer.body.kinds import kind_of
from composer.body.swaps import Problem
from composer.body.units import LengthError, format_length, number, parse_length

PREFIX = "flexed@"
LEAST, MOST = 0.9, 1.4
"""Girth flexed over girth relaxed beyond which one of the two was misread (from memory, no published source)."""
USUAL_MOST = 1.2


@dataclass(frozen=True)
class Flexed:
    """A girth that can be taped flexed too: its field, label, how; the usual band (mm) and where it comes from, or
    None where no survey gives one."""

    name: str
    label: str
    where: str
    usual_mm: tuple[float, float] | None = None
    source: str = ""


_SURVEY = "ANSUR II (US Army, 2012), 1st percentile of women to 99th of men"
FLEXED: dict[str, tuple[Flexed, ...]] = {
    "arm": (
        Flexed("forearm", "Forearm, flexed", "At the same level as the forearm tape, elbow bent square and fist "
               "clenched hard.", ANSUR_MM["flexed forearm girth"], f"flexed forearm girth, {_SURVEY}"),
        Flexed("upper_arm", "Upper arm, flexed", "At the same level as the upper-arm tape, elbow bent square and the "
               "biceps as hard as it goes.", ANSUR_MM["flexed biceps girth"], f"flexed biceps girth, {_SURVEY}"),
    ),
    "leg": (Flexed("calf", "Calf, flexed", "At the same level as the calf tape, standing on tiptoe."),),
}


def flexed_fields(part: str) -> tuple[Flexed, ...]:
    """The girths of a part that can be taped flexed; none on chest and back."""
    try:
        return FLEXED[kind_of(part).name]
    except KeyError:
        return ()


def check_flexed(values: Mapping[str, str | float | None], relaxed: Mapping[str, float], unit: str,
                 part: str) -> tuple[dict[str, float], list[Problem]]:
    """Read what was taped flexed, by field name; empty ones are left out. `relaxed` are the measures that can be used,
    mm. Returns mm by name and all problems, each under PREFIX and the name."""
    clean: dict[str, float] = {}
    problems: list[Problem] = []
    known = {f.name: f for f in flexed_fields(part)}
    for name, value in values.items():
        if value is None or not str(value).strip():
            continue
        key, f = f"{PREFIX}{name}", known.get(name)
        if f is None:
            problems.append(Problem(key, f"'{name[:40]}' can't be taped flexed here and was left out.", "warning"))
            continue
        try:
            mm = parse_length(value, unit, f.label)
        except LengthError as err:
            problems.append(Problem(key, f"{err} Leave it empty where it was not taped."))
            continue
        said, at_rest = f"{f.label} is {format_length(mm, unit)}", relaxed.get(name)
        if at_rest is None:
            problems.append(Problem(key, f"{said}, but the same girth at rest is missing; tape it too."))
        elif not LEAST * at_rest <= mm <= MOST * at_rest:
            band = f"{number(LEAST * at_rest, unit)} to {format_length(MOST * at_rest, unit)}"
            problems.append(Problem(key, f"{said} against {format_length(at_rest, unit)} at rest; it must lie within "
                                         f"{band}. Tape both once more at one level. Range: {LEAST:g} to {MOST:g} of "
                                         "the girth at rest, from memory, no published source."))
        else:
            clean[name] = mm
            if not at_rest <= mm <= USUAL_MOST * at_rest:
                less = "less than" if mm < at_rest else f"{mm / at_rest:.2f} times"
                problems.append(Problem(key, f"{said}, {less} the {format_length(at_rest, unit)} at rest, unusual but "
                                             "possible: tape both once more.", "warning"))
            elif f.usual_mm is not None and not f.usual_mm[0] <= mm <= f.usual_mm[1]:
                band = f"{number(f.usual_mm[0], unit)} to {format_length(f.usual_mm[1], unit)}"
                problems.append(Problem(key, f"{said}, unusual but possible ({band} is usual). Range: {f.source}.",
                                        "warning"))
    return clean, problems
