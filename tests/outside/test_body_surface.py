"""The surface of a limb against outside references.

Sources: complete elliptic integral of the second kind (scipy.special.ellipe) for the perimeter
of an ellipse; trimesh for areas; body surface by Mosteller 1987, sqrt(H W / 3600), and Du Bois
and Du Bois 1916, 0.007184 W^0.425 H^0.725 (m2, kg, cm); shares of it after the Lund-Browder
chart (adult, per side: forearm 3%, upper arm 4%; from memory); ANSUR II (US Army, 2012, public
domain), every fourth subject of its tables in data/ansur2_arms.csv (mm; weight in 0.1 kg).
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.special import ellipe

from composer.body.fields import ANSUR_MM
from composer.body.limb import Level, Limb
from composer.body.measures import TYPICAL_MM, build_limb, check, refused

DATA = Path(__file__).parent / "data" / "ansur2_arms.csv"


@pytest.mark.parametrize("aspect", [0.6, 0.88, 0.93, 1.0, 1.117, 1.4, 1.8])
def test_sections_are_ellipses_of_the_taped_girth(aspect: float) -> None:
    limb = Limb((Level("a", 0, 300, aspect), Level("b", 100, 300, aspect)))
    n = 4000
    ring = limb.embed(np.column_stack([np.arange(n) / n, np.full(n, 50.0)]))[:, :2]
    half_w, half_d = np.ptp(ring, axis=0) / 2
    big, small = max(half_w, half_d), min(half_w, half_d)
    assert half_w / half_d == pytest.approx(aspect, rel=1e-4)
    assert np.abs((ring[:, 0] / half_w) ** 2 + (ring[:, 1] / half_d) ** 2 - 1).max() < 1e-4
    assert 4 * big * ellipe(1 - (small / big) ** 2) == pytest.approx(300, rel=1e-5)
    steps = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    share = np.cumsum(steps) / steps.sum() - np.arange(1, n + 1) / n
    assert np.abs(share).max() < 1e-5       # u is the share of girth


def mesh(limb: Limb, nu: int = 240, ns: int = 480) -> trimesh.Trimesh:
    s = np.linspace(limb.s_min, limb.s_max, ns)
    u = np.arange(nu) / nu
    grid = np.column_stack([np.tile(u, ns), np.repeat(s, nu)])
    i, j = np.meshgrid(np.arange(ns - 1), np.arange(nu), indexing="ij")
    a, b = i * nu + j, i * nu + (j + 1) % nu
    c, d = a + nu, b + nu
    faces = np.concatenate([np.stack([a, b, c], axis=-1).reshape(-1, 3), np.stack([b, d, c], axis=-1).reshape(-1, 3)])
    return trimesh.Trimesh(limb.embed(grid), faces, process=False)


def test_area_is_the_mesh_area() -> None:
    arm = build_limb("left_arm", TYPICAL_MM)
    as_circles = Limb(tuple(Level(lv.name, lv.s_mm, lv.girth_mm, 1.0) for lv in arm.levels))
    for limb in (arm, as_circles):
        assert mesh(limb).area == pytest.approx(limb.area_mm2(), rel=3e-4)


def test_mesh_is_seen_from_outside_with_u_to_the_right() -> None:
    limb = Limb((Level("a", 0, 300, 1.0), Level("b", 200, 300, 1.0)))
    front, right, up = limb.embed(np.array([[0.0, 100], [0.01, 100], [0.0, 110]]))
    outward = front * (1, 1, 0)
    assert np.dot(np.cross(right - front, up - front), outward) > 0
    assert mesh(limb).face_normals[0] @ (0, -1, 0) > 0.99


def subjects() -> list[dict[str, float | str]]:
    with DATA.open() as f:
        return [{k: v if k == "sex" else float(v) for k, v in row.items()} for row in csv.DictReader(f)]


def arm_of(row: dict[str, float | str]) -> dict[str, float]:
    """Measures of our arm from the survey's; ratios of relaxed to flexed and shares from memory."""
    fore, upper = row["forearmcircumferenceflexed"] * 0.97, row["bicepscircumferenceflexed"] * 0.93
    cap = row["acromialheight"] - row["axillaheight"]
    below = row["acromionradialelength"] - cap
    return {"wrist": row["wristcircumference"], "forearm": fore, "elbow": fore * 0.96, "upper_arm": upper,
            "armpit": upper * 1.05, "deltoid": upper * 1.18,
            "wrist_to_forearm": 0.74 * row["radialestylionlength"],
            "forearm_to_elbow": 0.26 * row["radialestylionlength"],
            "elbow_to_upper_arm": 0.62 * below, "upper_arm_to_armpit": 0.38 * below, "armpit_to_deltoid": 0.5 * cap}


def test_every_surveyed_arm_is_taken() -> None:
    rows = subjects()
    assert len(rows) == 1518
    told = [check(arm_of(r), "mm")[1] for r in rows]
    assert not any(refused(p) for p in told)
    assert np.mean([bool(p) for p in told]) < 0.10      # few of them are called unusual


def test_ranges_are_the_surveys_own_percentiles() -> None:
    rows = subjects()

    def column(sex: str, name: str) -> np.ndarray:
        return np.array([r[name] for r in rows if r["sex"] == sex])

    def told(women: np.ndarray, men: np.ndarray, within: float) -> object:
        return pytest.approx((np.percentile(women, 1), np.percentile(men, 99)), rel=within)

    for key, name in (("wrist girth", "wristcircumference"), ("flexed forearm girth", "forearmcircumferenceflexed"),
                      ("flexed biceps girth", "bicepscircumferenceflexed"),
                      ("radiale to stylion", "radialestylionlength")):
        assert ANSUR_MM[key] == told(column("f", name), column("m", name), 0.02)
    cap = {sex: column(sex, "acromialheight") - column(sex, "axillaheight") for sex in "fm"}
    below = {sex: column(sex, "acromionradialelength") - cap[sex] for sex in "fm"}
    assert ANSUR_MM["armpit to acromion"] == told(cap["f"], cap["m"], 0.04)
    assert ANSUR_MM["elbow to armpit"] == told(below["f"], below["m"], 0.04)


@pytest.mark.parametrize("formula", ["Mosteller", "Du Bois"])
def test_skin_of_an_arm_as_share_of_the_body(formula: str) -> None:
    fore, upper = [], []
    for row in subjects()[::5]:
        cm, kg = row["stature"] / 10, row["weightkg"] / 10
        m2 = np.sqrt(cm * kg / 3600) if formula == "Mosteller" else 0.007184 * kg**0.425 * cm**0.725
        limb = build_limb("left_arm", arm_of(row))
        elbow = next(lv.s_mm for lv in limb.levels if lv.name == "elbow")
        fore.append(limb.area_mm2(0, elbow) / 1e6 / m2)
        upper.append(limb.area_mm2(elbow) / 1e6 / m2)
    # chart: 3 and 4 of 100; the chart's own steps are half a per cent
    assert np.mean(fore) == pytest.approx(0.03, abs=0.005)
    assert np.mean(upper) == pytest.approx(0.04, abs=0.006)
    assert 0.06 < np.mean(fore) + np.mean(upper) + 0.025 < 0.105     # with the hand (2.5): rule of nines, 9
