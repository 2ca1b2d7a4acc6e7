"""Lengths as typed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from limb_cases import FEW

from composer.body.units import LengthError, check_unit, format_length, number, parse_length


@pytest.mark.parametrize(("typed", "unit", "mm"), [
    ("17.5", "cm", 175), ("17,5 cm", "in", 175), ("175 mm", "cm", 175), ("175", "mm", 175), (".5", "cm", 5),
    ("17.", "cm", 170), ("6 7/8 in", "cm", 174.625), ('6 7/8"', "cm", 174.625), ("6⅞ in", "cm", 174.625),
    ("7/8", "in", 22.225), ("6.875 inches", "mm", 174.625), (" 17.5\u00a0CM ", "mm", 175), ("+3", "cm", 30),
    (17.5, "cm", 175), (7, "in", 177.8), ("1 in", "cm", 25.4), ("1\u2033", "cm", 25.4),
])
def test_reads_what_people_write(typed: str | float, unit: str, mm: float) -> None:
    assert parse_length(typed, unit) == pytest.approx(mm, abs=1e-9)


def test_inch_is_the_1959_inch_exactly() -> None:
    # International yard and pound agreement, 1959: 1 inch = 25.4 mm exactly.
    assert parse_length("1", "in") == 25.4
    assert parse_length("10 in") == 254.0


@pytest.mark.parametrize(("typed", "says"), [
    ("", "missing"), ("   ", "missing"), (None, "missing"), ("nan", "not a number"), ("-inf", "more than 0"),
    ("Infinity", "not a number"), (float("nan"), "not a number"), (float("inf"), "larger than"),
    ("-3 cm", "more than 0"), ("abc", "can't be read"),
    ("\u22123", "more than 0"), (-1.0, "more than 0"), ("0", "more than 0"), (0, "more than 0"),
    ("17 5", "can't be read"), ("1.2.3", "can't be read"), ("3 ells", "no unit"), ("1/0 in", "fraction of nothing"),
    ("9" * 400, "larger than"), ("9" * 5000 + "/1", "larger than"), (True, "no length"), ("1e3", "can't be read"),
    ("<script>", "can't be read"), ("٣ cm", "can't be read"),
])
def test_bad_lengths_get_a_sentence(typed: str | float | None, says: str) -> None:
    with pytest.raises(LengthError) as e:
        parse_length(typed, "cm", "Wrist")
    text = str(e.value)
    assert text.startswith("Wrist is ") and says in text and text.endswith(".") and len(text) < 200


def test_unknown_unit_is_named() -> None:
    with pytest.raises(LengthError, match="'ell' is no unit"):
        check_unit("ell")


@FEW
@given(mm=st.floats(1, 2000), unit=st.sampled_from(["mm", "cm", "in"]))
def test_shown_and_read_again_within_half_a_last_digit(mm: float, unit: str) -> None:
    half = {"mm": 0.5, "cm": 0.5, "in": 0.127}[unit]
    assert parse_length(format_length(mm, unit), "mm") == pytest.approx(mm, abs=half + 1e-9)
    assert format_length(mm, unit) == f"{number(mm, unit)} {unit}"


def test_shown_as_the_trade_writes_it() -> None:
    assert [format_length(175, u) for u in ("cm", "in", "mm")] == ["17.5 cm", "6.89 in", "175 mm"]
