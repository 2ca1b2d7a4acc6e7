"""JSON from outside is what it says or a ValueError, whatever was sent."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.json_in import read_json

VALUES = st.recursive(st.none() | st.booleans() | st.integers(-10**17, 10**17) | st.floats(allow_nan=False) | st.text(),
                      lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner), max_leaves=20)


@given(VALUES)
@settings(max_examples=60, deadline=None)
def test_what_was_written_is_read(value: object) -> None:
    assert read_json(json.dumps(value)) == value


@pytest.mark.parametrize("text", ["", "{", "[" * 5000, "[" * 300 + "]" * 300, '{"a":' * 900 + "1" + "}" * 900,
                                  '"\\ud800"', '{"\\udfff": 1}', "nul", None])
def test_what_is_none_is_a_value_error(text: object) -> None:
    with pytest.raises(ValueError):
        read_json(text)


def test_whole_numbers_too_large_come_as_floats_and_whole_characters_stay() -> None:
    assert math.isinf(read_json("9" * 5000)) and read_json("9" * 30) == 1e30
    assert read_json('"\\ud83c\\udf0a"') == "\U0001f30a"
