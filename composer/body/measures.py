"""From what was typed to a limb: all that is wrong is said at once, nothing is half taken.

Measures of a limb are those of its kind (`composer.body.kinds`), mm by name, and as many further
girths as wanted under the name 'girth@NNN', NNN being mm along the skin from the wrist or ankle.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np
from scipy.interpolate import PchipInterpolator

from composer.body.fields import BY_NAME, FIELDS, GIRTHS, LENGTHS, LEVELS, TYPICAL_MM, Field
from composer.body.kinds import ARM, Kind, kind_of
from composer.body.limb import Level, Limb
from composer.body.swaps import Problem, swapped
from composer.body.units import MM, LengthError, check_unit, format_length, number, parse_length

__all__ = [
    "BY_NAME",
    "FIELDS",
    "GIRTHS",
    "LENGTHS",
    "LEVELS",
    "TYPICAL_MM",
    "Field",
    "MeasureError",
    "Problem",
    "build_limb",
    "check",
    "extra_name",
    "refused",
]

EXTRA = "girth@"
APART_MM = 10.0
"""Least distance of a further girth from the levels beside it."""


class MeasureError(ValueError):
    """Measures that make no limb; `problems` has one entry for each thing that is wrong."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__(" ".join(p.sentence for p in problems))
        self.problems = problems


def extra_name(s_mm: float) -> str:
    """The name under which a further girth, taped `s_mm` above the far end, is kept."""
    return f"{EXTRA}{s_mm:g}"


def refused(problems: list[Problem]) -> bool:
    """Whether anything here is more than a warning."""
    return any(p.severity == "refuse" for p in problems)


def check(values: Mapping[str, str | float | None], unit: str = "cm",
          kind: str = "arm") -> tuple[dict[str, float], list[Problem]]:
    """Read every measure; returns those that can be used (mm by name) and all problems at once.

    `values` are as typed or numbers, in `unit` where none is written. A problem of severity
    'refuse' must be put right before a limb can be made, a 'warning' is unusual but possible.
    `kind` is 'arm' or 'leg', or the name of a part. Raises LengthError for an unknown unit and
    KeyError for an unknown kind only.
    """
    unit, limb = check_unit(unit), kind_of(kind)
    clean: dict[str, float] = {}
    told: dict[str, float] = {}
    problems: list[Problem] = []
    for f in limb.fields:
        value = _read(f.name, f"{f.label} ({f.kind})", values.get(f.name), unit, problems, f)
        if value is not None:
            told[f.name] = value
            if _in_range(f, value, unit, problems):
                clean[f.name] = value
    problems += swapped(told, unit, limb)
    whole = all(f.name in clean for f in limb.fields)
    for name in values:
        if name.startswith(EXTRA):
            _extra(name, values[name], clean, limb, whole, unit, problems)
        elif name not in limb.by_name:
            problems.append(Problem(name, f"'{name[:40]}' is no measure of {limb.called} and was left out.", "warning"))
    if whole and not refused(problems):
        try:
            _limb(limb, tuple(sorted(clean.items())))
        except ValueError as e:
            problems.append(Problem("", str(e)))
    return clean, problems


def _read(name: str, what: str, value: str | float | None, unit: str, problems: list[Problem],
          f: Field | None = None) -> float | None:
    try:
        return parse_length(value, unit, what)
    except LengthError as e:
        said = str(e)
    except (TypeError, ValueError, OverflowError):
        said = f"{what} is not a number; write it as 17.5 cm, 175 mm or 6 7/8 in."
    if f is not None:
        said += f" {_usual(f, unit)} is usual. Range: {f.source}."
    problems.append(Problem(name, said))
    return None


def _usual(f: Field, unit: str) -> str:
    return f"{number(f.usual_low_mm, unit)} to {format_length(f.usual_high_mm, unit)}"


def _in_range(f: Field, mm: float, unit: str, problems: list[Problem]) -> bool:
    said = f"{f.label} ({f.kind}) is {format_length(mm, unit)}"
    if not f.low_mm <= mm <= f.high_mm:
        band = f"{number(f.low_mm, unit)} to {format_length(f.high_mm, unit)}"
        problems.append(Problem(f.name, f"{said}; it must lie within {band}.{_meant(f, mm, unit)} Range: {f.source}, "
                                        "widened for young, very muscular and heavy people."))
        return False
    if not f.usual_low_mm <= mm <= f.usual_high_mm:
        problems.append(Problem(f.name, f"{said}, unusual but possible ({_usual(f, unit)} is usual): tape it once "
                                        f"more. Range: {f.source}.", "warning"))
    return True


def _meant(f: Field, mm: float, unit: str) -> str:
    """A hint when the value would fit in another unit."""
    for other in ("cm", "mm", "in"):
        if unit != other and f.low_mm <= mm / MM[unit] * MM[other] <= f.high_mm:
            return f" It would fit if it was taped in {other}."
    return ""


def _extra(name: str, typed: str | float | None, clean: dict[str, float], kind: Kind, whole: bool, unit: str,
           problems: list[Problem]) -> None:
    """Take a further girth into `clean` under its tidy name, or say what is wrong with it."""
    if typed is None or not str(typed).strip():
        return
    try:
        s = parse_length(name[len(EXTRA):], "mm")
    except LengthError:
        problems.append(Problem(name, f"'{name[:40]}' must name its place in mm above the {kind.far}, "
                                      "such as girth@60."))
        return
    mm = _read(name, f"The girth at {format_length(s, unit)} above the {kind.far}", typed, unit, problems)
    if mm is not None and (not whole or _extra_fits(name, s, mm, clean, kind, unit, problems)):
        clean[extra_name(s)] = mm


def _extra_fits(name: str, s: float, mm: float, clean: dict[str, float], kind: Kind, unit: str,
                problems: list[Problem]) -> bool:
    s_base = _base_s(clean, kind)
    near = [x for x in s_base if abs(x - s) < APART_MM]
    if not s_base[0] < s < s_base[-1] or near:
        problems.append(Problem(name, f"A further girth at {format_length(s, unit)} above the {kind.far} must lie "
                                f"between the {kind.far} and the {kind.near} tape "
                                f"({format_length(s_base[-1], unit)}) and at least "
                                f"{format_length(APART_MM, unit)} from every other level."))
        return False
    others = [n for n in clean if n.startswith(EXTRA) and abs(float(n[len(EXTRA):]) - s) < APART_MM]
    if others:
        problems.append(Problem(name, f"Two further girths lie less than {format_length(APART_MM, unit)} from each "
                                      "other; keep one."))
        return False
    beside = float(PchipInterpolator(s_base, [clean[g] for g in kind.girths])(s))
    if not 0.6 * beside <= mm <= 1.6 * beside:
        band = f"{number(0.6 * beside, unit)} to {format_length(1.6 * beside, unit)}"
        problems.append(Problem(name, f"The girth at {format_length(s, unit)} above the {kind.far} is "
                                f"{format_length(mm, unit)}; between its neighbours it must lie within {band}. "
                                "Range: 0.6 to 1.6 of what the levels beside it give there, our own rule."))
        return False
    return True


def _base_s(clean: Mapping[str, float], kind: Kind = ARM) -> list[float]:
    return np.concatenate([[0.0], np.cumsum([clean[n] for n in kind.lengths])]).tolist()


def build_limb(part_name: str, measures_mm: Mapping[str, float]) -> Limb:
    """The limb of a part from its measures (mm by name). The same measures give the same object.

    Raises MeasureError (a ValueError) with every sentence when measures are missing, out of
    range or make no skin, and KeyError with a sentence for a part that is no limb.
    """
    kind = kind_of(part_name)
    clean, problems = check(measures_mm, "mm", kind.name)
    bad = [p for p in problems if p.severity == "refuse"]
    if bad:
        raise MeasureError([Problem(p.field, f"{part_name.replace('_', ' ').capitalize()}: {p.sentence}") for p in bad])
    return _limb(kind, tuple(sorted(clean.items())))


@lru_cache(maxsize=256)
def _limb(kind: Kind, items: tuple[tuple[str, float], ...]) -> Limb:
    m = dict(items)
    base = _base_s(m, kind)
    levels = [Level(n, s, m[g], a) for n, s, g, a in zip(kind.levels, base, kind.girths, kind.aspects, strict=True)]
    aspect = PchipInterpolator(base, kind.aspects)
    for name, girth in items:
        if name.startswith(EXTRA):
            s = float(name[len(EXTRA):])
            levels.append(Level(f"{s:g} mm up", s, girth, float(aspect(s)), landmark=False))
    return Limb(tuple(sorted(levels, key=lambda lv: lv.s_mm)))
