"""Bent knees and elbows against what was published.

Sources: K. Bethke, SM thesis, Massachusetts Institute of Technology, 2005, as noted in the project's
facts (88% of the leg's skin within +-0.3; below the kneecap +0.7 along and up to +1.0 round; -0.6 in
the hollow). The reach of our fields was set on the 88%, on the leg of facts/geometry.md: on that leg
the check is of the fit, on others of how well it carries. Lin, Moerman, McMahan, Pasch and Herr, IEEE
Trans. Biomed. Eng. 2016, doi 10.1109/tbme.2016.2626442, abstract: peaks of about +0.3 above the
kneecap and -0.5 behind the knee, two residual limbs of one person. Elbow: facts/geometry.md, 24% at 90
and 37% at 140 degrees, tuned there to garment figures from memory (no published source).
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from composer.body.bends import JOINTS, KNEE_ALONG, LIFT, REACH, SPREAD_MM
from composer.body.correspond import landmarks
from composer.body.estimate import estimate, filled
from composer.body.flex import folding, strain
from composer.body.kinds import LEG
from composer.body.limb import Level, Limb
from composer.body.measures import build_limb

FACTS_LEG = Limb(tuple(Level(n, s, c, landmark=n != "") for n, s, c in (
    ("ankle", 0, 225), ("", 60, 235), ("fullest calf", 270, 380), ("below the knee", 350, 345), ("knee", 400, 390),
    ("mid thigh", 570, 530), ("upper thigh", 740, 600))))
ARM_OF_FACTS = Limb(tuple(Level(n, s, c) for n, s, c in (
    ("wrist", 0, 170), ("fullest forearm", 190, 280), ("elbow", 250, 265), ("fullest upper arm", 370, 330),
    ("armpit", 430, 350), ("cap", 490, 400))))


def skin(limb: Limb, top: str = "upper thigh") -> tuple[np.ndarray, np.ndarray]:
    """Points (n, 2) spread evenly over (u, s), and the skin area that each stands for."""
    s = np.linspace(limb.s_min, landmarks(limb)[top], 601)
    s = (s[1:] + s[:-1]) / 2
    us = np.column_stack([np.tile((np.arange(160) + 0.5) / 160, len(s)), np.repeat(s, 160)])
    return us, limb.girth(us[:, 1])


def within(limb: Limb) -> float:
    us, area = skin(limb)
    ok = np.all(np.abs(strain(limb, "leg", us, "bent")) <= 0.3, axis=1)
    return float(area[ok].sum() / area.sum())


def test_knee_has_the_thesis_figures() -> None:
    us, _ = skin(FACTS_LEG)
    told = strain(FACTS_LEG, "leg", us, "bent")
    assert told[:, 0].max() == pytest.approx(0.7, abs=0.005)
    assert told[:, 1].max() == pytest.approx(1.0, abs=0.005)
    assert told[:, 0].min() == pytest.approx(-0.6, abs=0.005)
    knee = landmarks(FACTS_LEG)["knee"]
    for column in (0, 1):                                     # both peaks in front, below the kneecap's middle
        u, s = us[told[:, column].argmax()]
        assert abs(u - round(u)) < 0.01 and knee - 60 < s < knee - 15
    u, s = us[told[:, 0].argmin()]
    assert abs(u - 0.5) < 0.01 and abs(s - knee) < 2          # the hollow
    assert folding(FACTS_LEG, "leg", np.array([[u, s]]), "bent")[0]
    assert within(FACTS_LEG) == pytest.approx(0.88, abs=0.003)


def test_share_carries_over_to_the_survey_mean_legs() -> None:
    shares = []
    with (Path(__file__).parent / "data" / "ansur2_means.csv").open(newline="") as f:
        mean = {(r["sex"], r["measure"]): float(r["mean"]) for r in csv.DictReader(f)}
    for sex in ("female", "male"):
        told = estimate("leg", {}, mean[sex, "stature"], mean[sex, "weightkg"], sex)
        shares.append(within(build_limb("left_leg", filled("leg", {}, told))))
    shares.append(within(build_limb("left_leg", LEG.typical_mm)))
    assert all(0.86 <= x <= 0.91 for x in shares)


def test_hollow_agrees_with_the_second_source_and_the_front_does_not() -> None:
    """-0.5 (Lin 2016) against our -0.6; +0.3 against our +0.7, which is on the far side: said in bends.py."""
    knee = landmarks(FACTS_LEG)["knee"]
    hollow = strain(FACTS_LEG, "leg", np.array([[0.5, knee]]), "bent")[0, 0]
    assert hollow == pytest.approx(-0.5, abs=0.15)
    by_the_elbows_law = np.radians(90) * LIFT * 390 / (2 * np.pi) / SPREAD_MM
    assert 0.3 < by_the_elbows_law < KNEE_ALONG


def test_knee_does_not_stretch_more_than_the_way_round_it() -> None:
    """Over the front the skin gains at most angle x radius in length, at full bend about 150 degrees."""
    knee = landmarks(FACTS_LEG)["knee"]
    s = np.linspace(FACTS_LEG.s_min, FACTS_LEG.s_max, 4001)
    gain = np.trapezoid(strain(FACTS_LEG, "leg", np.column_stack([np.zeros(4001), s]), "bent")[:, 0], s)
    radius = float(FACTS_LEG.girth(knee)) / (2 * np.pi)
    assert gain == pytest.approx(KNEE_ALONG * REACH * radius, rel=1e-3)
    assert np.radians(90) * radius < gain < np.radians(150) * radius       # more than 90 degrees give


@pytest.mark.parametrize(("deg", "percent"), [(90, 24), (140, 37)])
def test_elbow_has_the_figures_of_the_facts(deg: float, percent: float) -> None:
    elbow = landmarks(ARM_OF_FACTS)["elbow"]
    point = strain(ARM_OF_FACTS, "arm", np.array([[0.5, elbow]]), "bent", bend_deg={"elbow": deg})[0, 0]
    assert 100 * point == pytest.approx(percent, abs=0.5)
    s = np.linspace(ARM_OF_FACTS.s_min, ARM_OF_FACTS.s_max, 4001)
    along = strain(ARM_OF_FACTS, "arm", np.column_stack([np.full(4001, 0.5), s]), "bent",
                   bend_deg={"elbow": deg, "wrist": 0})[:, 0]
    gain = np.radians(deg) * 0.65 * 265 / (2 * np.pi)                      # theta x 0.65 radius
    assert np.trapezoid(along, s) == pytest.approx(gain, rel=1e-3)
    assert np.interp(0.5 * point, along[s < elbow], s[s < elbow]) == pytest.approx(elbow - 90, abs=1)    # 180 mm wide
    side = strain(ARM_OF_FACTS, "arm", np.array([[0.5 + 1 / 6, elbow]]), "bent", bend_deg={"elbow": deg})[0, 0]
    assert side == pytest.approx(point / 2, rel=1e-6)                      # cosine falloff: half at 60 degrees round
    assert np.isnan(strain(ARM_OF_FACTS, "arm", np.array([[0.0, elbow]]), "bent")).all()


def test_joints_bend_by_what_anatomy_books_allow() -> None:
    """Elbow and knee flexion to about 150 degrees, wrist to about 80 to 90 (from memory, no source at hand)."""
    most = {j.name: j.most_deg for joints in JOINTS.values() for j in joints}
    assert most == {"elbow": 150, "wrist": 90, "knee": 150}
