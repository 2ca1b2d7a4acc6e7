"""Arms and limbs for the tests of this room: hypothesis strategies and a few fixed ones."""

from __future__ import annotations

import numpy as np
from hypothesis import settings
from hypothesis import strategies as st

from composer.body.limb import Level, Limb
from composer.body.measures import build_limb

FEW = settings(max_examples=40, deadline=None, derandomize=True)

THIN = {"wrist": 120, "forearm": 170, "elbow": 172, "upper_arm": 165, "armpit": 180, "deltoid": 210,
        "wrist_to_forearm": 130, "forearm_to_elbow": 45, "elbow_to_upper_arm": 80, "upper_arm_to_armpit": 45,
        "armpit_to_deltoid": 40}
MUSCULAR = {"wrist": 200, "forearm": 400, "elbow": 340, "upper_arm": 520, "armpit": 530, "deltoid": 600,
            "wrist_to_forearm": 200, "forearm_to_elbow": 60, "elbow_to_upper_arm": 130, "upper_arm_to_armpit": 70,
            "armpit_to_deltoid": 70}


@st.composite
def arm_measures(draw: st.DrawFn) -> dict[str, float]:
    """Measures (mm) of an arm from child-thin to very muscular."""
    def share(lo: float, hi: float) -> float:
        return draw(st.floats(lo, hi))

    wrist = share(108, 210)
    forearm = wrist * share(1.3, 1.95)
    upper = forearm * share(0.96, 1.3)
    armpit = upper * share(1.0, 1.1)
    return {"wrist": wrist, "forearm": forearm, "elbow": forearm * share(0.86, 1.02), "upper_arm": upper,
            "armpit": armpit, "deltoid": armpit * share(1.03, 1.2),
            "wrist_to_forearm": share(120, 230), "forearm_to_elbow": share(40, 90),
            "elbow_to_upper_arm": share(80, 160), "upper_arm_to_armpit": share(40, 90),
            "armpit_to_deltoid": share(35, 80)}


@st.composite
def leg_measures(draw: st.DrawFn) -> dict[str, float]:
    """Measures (mm) of a leg from child-thin to very heavy."""
    def share(lo: float, hi: float) -> float:
        return draw(st.floats(lo, hi))

    ankle = share(165, 300)
    calf = ankle * share(1.5, 1.9)
    knee = calf * share(0.95, 1.1)
    mid = knee * share(1.15, 1.5)
    upper = mid * share(1.05, 1.2)
    return {"ankle": ankle, "calf": calf, "below_knee": calf * share(0.86, 0.99), "knee": knee, "mid_thigh": mid,
            "upper_thigh": upper, "hip": upper * share(1.0, 1.12), "ankle_to_calf": share(150, 320),
            "calf_to_below_knee": share(40, 110), "below_knee_to_knee": share(32, 80),
            "knee_to_mid_thigh": share(100, 230), "mid_thigh_to_upper_thigh": share(90, 220),
            "upper_thigh_to_hip": share(40, 120)}


def legs() -> st.SearchStrategy[Limb]:
    return leg_measures().map(lambda m: build_limb("left_leg", m))


def arms() -> st.SearchStrategy[Limb]:
    """Limbs with elliptic sections."""
    return arm_measures().map(lambda m: build_limb("left_arm", m))


@st.composite
def cones(draw: st.DrawFn) -> Limb:
    """A round cone (or nearly a cylinder) as a limb."""
    start, slope, length = draw(st.floats(120, 400)), draw(st.floats(-0.35, 0.9)), draw(st.floats(150, 320))
    return Limb((Level("a", 0.0, start), Level("b", length, max(start + slope * length, 60.0))))


def cylinder(girth_mm: float = 300.0, length_mm: float = 400.0) -> Limb:
    return Limb((Level("a", 0.0, girth_mm), Level("b", length_mm, girth_mm)))


def round_limb(limb: Limb) -> Limb:
    """The same girths with circles for sections."""
    return Limb(tuple(Level(lv.name, lv.s_mm, lv.girth_mm, 1.0, lv.landmark) for lv in limb.levels))


def spots(half_width: float, half_height: float, n: int = 40) -> np.ndarray:
    """Flat points (n, 2), mm, spread over a rectangle; always the same."""
    rng = np.random.default_rng(7)
    return rng.uniform(-1, 1, (n, 2)) * (half_width, half_height)


def oval(half_width: float, half_height: float, n: int = 60) -> np.ndarray:
    t = np.linspace(0, 2 * np.pi, n, endpoint=False)
    return np.column_stack([half_width * np.cos(t), half_height * np.sin(t)])
