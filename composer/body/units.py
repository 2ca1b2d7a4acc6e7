"""Lengths as people write them, to millimetres and back.

Inside everything is mm. The inch is the international inch of 1959, 25.4 mm exactly.
"""

from __future__ import annotations

import math
import re

MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}
"""Millimetres in one of each unit that is accepted and shown."""

_NAMES = {
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
    "cm": "cm", "centimetre": "cm", "centimetres": "cm", "centimeter": "cm", "centimeters": "cm",
    "in": "in", "in.": "in", "inch": "in", "inches": "in", '"': "in", "\u2033": "in", "\u201d": "in", "''": "in",
}
_FRACTIONS = {"\u00bc": "1/4", "\u00bd": "1/2", "\u00be": "3/4", "\u2153": "1/3", "\u2154": "2/3",
              "\u215b": "1/8", "\u215c": "3/8", "\u215d": "5/8", "\u215e": "7/8"}
_SHAPE = re.compile(
    r"(?:(?P<whole>[0-9]+)\s+)?(?P<top>[0-9]+)\s*/\s*(?P<bottom>[0-9]+)\s*(?P<unit1>\D*)"
    r"|(?P<number>[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)\s*(?P<unit2>[^0-9.,]*)", re.ASCII)
HOW = "Write it as 17.5 cm, 175 mm or 6 7/8 in."


class LengthError(ValueError):
    """A length that can't be read; the message is the sentence to show."""


def check_unit(unit: str) -> str:
    """The unit's own short name (mm, cm, in). Raises LengthError for any other."""
    found = _NAMES.get(str(unit).strip().lower())
    if found is None:
        raise LengthError(f"'{str(unit)[:20]}' is no unit of length known here; use mm, cm or in.")
    return found


def parse_length(value: str | float | None, unit: str = "cm", what: str = "The length") -> float:
    """A length in mm from what was typed ('17.5', '17,5 cm', '6 7/8 in', '175 mm') or a number.

    `unit` counts where none is written; `what` names the length in the sentence. Raises
    LengthError when nothing, no number, not a finite number, or nothing above 0 was given.
    """
    default = check_unit(unit)
    if value is None or (isinstance(value, str) and not value.strip()):
        raise LengthError(f"{what} is missing. {HOW}")
    if isinstance(value, bool):
        raise LengthError(f"{what} is {value}, which is no length. {HOW}")
    mm = _text(value, default, what) if isinstance(value, str) else float(value) * MM[default]
    if math.isnan(mm):
        raise LengthError(f"{what} is not a number. {HOW}")
    if math.isinf(mm):
        raise LengthError(f"{what} is larger than any number that can be kept. {HOW}")
    if mm <= 0:
        raise LengthError(f"{what} is {_short(value)}; a length must be more than 0.")
    return mm


def _text(text: str, default: str, what: str) -> float:
    plain = text.strip().replace("\u00a0", " ").replace("\u2044", "/").replace("\u2212", "-")
    for sign, spelled in _FRACTIONS.items():
        plain = plain.replace(sign, f" {spelled}")
    plain = plain.strip()
    if plain.startswith("-"):
        raise LengthError(f"{what} is {_short(text)}; a length must be more than 0.")
    if re.match(r"(?i)\+?(nan|inf(inity)?)\b", plain):
        raise LengthError(f"{what} is '{_short(text)}', which is not a number. {HOW}")
    m = _SHAPE.fullmatch(plain.removeprefix("+").strip())
    if m is None:
        raise LengthError(f"{what} is '{_short(text)}', which can't be read as a length. {HOW}")
    named = (m["unit1"] or m["unit2"] or "").strip().lower()
    if named and named not in _NAMES:
        raise LengthError(f"{what} is '{_short(text)}': '{_short(named)}' is no unit of length known here. {HOW}")
    unit = _NAMES[named] if named else default
    if m["number"]:
        return float(m["number"].replace(",", ".")) * MM[unit]
    try:
        return (int(m["whole"] or 0) + int(m["top"]) / int(m["bottom"])) * MM[unit]
    except ZeroDivisionError:
        raise LengthError(f"{what} is '{_short(text)}', a fraction of nothing. {HOW}") from None
    except (OverflowError, ValueError):
        return math.inf


def _short(value: object) -> str:
    text = str(value).strip()
    return text if len(text) <= 24 else text[:21] + "..."


def number(mm: float, unit: str) -> str:
    """The bare figure in a unit: cm with one decimal, inches with two, mm whole."""
    unit = check_unit(unit)
    return f"{mm / MM[unit]:.{ {'mm': 0, 'cm': 1, 'in': 2}[unit]}f}"


def format_length(mm: float, unit: str = "cm") -> str:
    """A length for reading, with its unit: '17.5 cm', '6.89 in', '175 mm'."""
    return f"{number(mm, unit)} {check_unit(unit)}"


def format_area(mm2: float, unit: str = "cm") -> str:
    """An area for reading: square inches where lengths are read in inches, else cm²; small ones with a decimal."""
    inches = check_unit(unit) == "in"
    value, few = mm2 / (25.4 * 25.4 if inches else 100.0), 2.0 if inches else 10.0
    return f"{value:.{1 if value < few else 0}f} {'in' if inches else 'cm'}\u00b2"
