"""Skin areas of arms and legs against the Lund-Browder chart, for several statures and builds.

Sources: Lund-Browder chart, adult, per side: upper arm 4%, forearm 3%, thigh 9.5%, lower leg 7% of the
body's skin (from memory, as in the project's facts); body surface by Mosteller 1987, sqrt(cm kg / 3600)
m2, and by Du Bois 1916, 0.007184 kg^0.425 cm^0.725 m2. The chart's segments end where a burn is
drawn, not where a tape lies: our lower leg starts above the ankle bones, and our upper arm is open
at the cap, so it is held between armpit and cap. Measures are estimates for that body.
"""

from __future__ import annotations

import math

import pytest

from composer.body.correspond import landmarks
from composer.body.estimate import estimate, filled
from composer.body.limb import Limb
from composer.body.measures import build_limb

BODIES = [(sex, mm, bmi) for sex, statures in (("female", (1520, 1630, 1740)), ("male", (1640, 1756, 1880)))
          for mm in statures for bmi in (22.0, 26.0, 30.0)]


def limb(kind: str, sex: str, mm: float, kg: float) -> Limb:
    return build_limb(f"left_{kind}", filled(kind, {}, estimate(kind, {}, mm, kg, sex)))


@pytest.mark.parametrize(("sex", "mm", "bmi"), BODIES)
def test_segments_are_the_charts_share_of_the_body(sex: str, mm: float, bmi: float) -> None:
    kg = bmi * (mm / 1000) ** 2
    mosteller = math.sqrt(mm / 10 * kg / 3600)
    du_bois = 0.007184 * kg**0.425 * (mm / 10) ** 0.725
    assert mosteller == pytest.approx(du_bois, rel=0.06)
    leg, arm = limb("leg", sex, mm, kg), limb("arm", sex, mm, kg)
    at = landmarks(leg) | landmarks(arm)
    body = mosteller * 1e6
    assert 100 * leg.area_mm2(at["knee"], at["upper thigh"]) / body == pytest.approx(9.5, rel=0.10)
    assert 100 * leg.area_mm2(at["ankle"], at["knee"]) / body == pytest.approx(7.0 * 0.93, rel=0.08)
    assert 100 * arm.area_mm2(at["wrist"], at["elbow"]) / body == pytest.approx(3.0 * 1.12, rel=0.12)
    below, whole = (100 * arm.area_mm2(at["elbow"], at[top]) / body for top in ("armpit", "cap"))
    assert below < 4.0 < whole < 5.0
