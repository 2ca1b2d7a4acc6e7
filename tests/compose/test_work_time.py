"""Hours at the needle. The paces are from memory, no published source; what is checked is how they are put together."""

from __future__ import annotations

import numpy as np
import pytest

from composer.art.drawing import Drawing, Layer
from composer.compose.fit_limits import LimitError, limits_from
from composer.compose.work_time import HIGH, LINE_MM_H, LOW, MM2_H, hours_said, work_of


def block(x: float, y: float, w: float, h: float) -> np.ndarray:
    return np.array([(x, y), (x + w, y), (x + w, y + h), (x, y + h)])


BAR = Drawing((block(0, 0, 100, 50),), (Layer("mid", (block(0, 0, 100, 25),)),
                                        Layer("line", (block(0, 40, 100, 0.5),))))
TONES = {"black": 0.01, "dark": 0.0, "mid": 0.5, "light": 0.0, "open": 0.49}


def test_a_line_is_as_long_as_it_is_and_its_ink_is_no_solid_black() -> None:
    work = work_of(BAR, TONES)
    assert work.line_mm == pytest.approx(100.5) and work.mm2["black"] == pytest.approx(0.0, abs=1e-9)
    assert work.hours == pytest.approx(100.5 / LINE_MM_H + 2500 / MM2_H["mid"])


def test_twice_as_large_is_twice_the_line_and_four_times_the_shade() -> None:
    work, large = work_of(BAR, TONES), work_of(BAR, TONES).larger(2.0)
    assert large.line_mm == 2 * work.line_mm and large.mm2["mid"] == 4 * work.mm2["mid"]


@pytest.mark.parametrize(("hours", "pace", "says"), [(0.1, 1.0, "about half an hour"),
                                                     (2.0, 1.0, "about 1.5 to 3 hours"),
                                                     (2.0, 2.0, "about 0.5 to 1.5 hours"),
                                                     (20.0, 1.0, "about 14 to 30 hours")])
def test_it_is_a_range_and_goes_by_the_artists_own_pace(hours: float, pace: float, says: str) -> None:
    assert hours_said(hours, pace) == says and LOW < 1 < HIGH


def test_own_pace_is_kept_within_what_can_be() -> None:
    assert limits_from({"own_pace": 1.5}).own_pace == 1.5
    with pytest.raises(LimitError, match="own pace"):
        limits_from({"own_pace": 0.0})


def test_colour_is_packed_once_over_dark_shades_and_instead_of_light_ones() -> None:
    tones = {"black": 0.2, "dark": 0.2, "mid": 0.2, "light": 0.2, "open": 0.2}
    grey, coloured = work_of(BAR, tones), work_of(BAR, tones, {"red": 0.3, "green": 0.2})
    assert coloured.mm2["colour"] == pytest.approx(2500.0) and grey.mm2["colour"] == 0.0
    assert [coloured.mm2[t] / grey.mm2[t] for t in ("black", "dark", "mid", "light")] == pytest.approx([1, 1, 0.5, 0.5])
    assert coloured.hours - grey.hours == pytest.approx(2500 / MM2_H["colour"] - 500 / MM2_H["mid"]
                                                        - 500 / MM2_H["light"])
    assert coloured.larger(2.0).mm2["colour"] == pytest.approx(10000.0)


@pytest.mark.parametrize("odd", [{"red": 5.0}, {"red": "much"}, {"red": True}, {"red": -0.1}, {"red": float("nan")}])
def test_odd_shares_of_a_side_file_count_for_nothing(odd: dict) -> None:
    assert work_of(BAR, TONES, odd) == work_of(BAR, TONES)
