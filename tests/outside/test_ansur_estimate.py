"""Estimated measures against the survey they come from.

Sources: ANSUR II (US Army anthropometric survey, 2012, public domain). data/ansur2_means.csv has
means and SDs as in the project's summary of it; data/ansur2_sample.csv every sixth subject of the
raw tables (331 women, 681 men). Those subjects are also among the 6,068 that the table was made
from: with 26 variables that flatters the errors by well under 1%, but it is no independent sample.
Conditional normal against scipy.stats and plain least squares (numpy.linalg.lstsq).
"""

from __future__ import annotations

import csv
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from composer.body.ansur import NAMES, SEXES, population
from composer.body.estimate import estimate
from composer.body.fields import ANSUR_MM
from composer.body.leg_fields import ANSUR_LEG_MM
from composer.body.normal import Normal, mixture_range

DATA = Path(__file__).parent / "data"
SURVEYED = {"wristcircumference": "wrist", "forearmcircumferenceflexed": "forearm_flexed",
            "bicepscircumferenceflexed": "biceps_flexed", "radialestylionlength": "radiale_stylion",
            "chestcircumference": "chest", "thighcircumference": "thigh", "lowerthighcircumference": "lower_thigh",
            "calfcircumference": "calf", "anklecircumference": "ankle", "stature": "stature", "weightkg": "weight_kg"}
ARM = ("wrist", "forearm_flexed", "biceps_flexed", "radiale_stylion", "elbow_axilla", "axilla_acromion")
LEG = ("ankle", "calf", "lower_thigh", "thigh", "malleolus_knee", "knee_crotch", "crotch_trochanter")


@lru_cache(maxsize=1)
def sample() -> dict[str, np.ndarray]:
    """sex -> (n, measures) in the order of NAMES."""
    with (DATA / "ansur2_sample.csv").open(newline="") as f:
        rows = list(csv.DictReader(f))
    return {sex: np.array([[float(r[n]) for n in NAMES] for r in rows if r["sex"] == sex]) for sex in SEXES}


def test_table_is_the_published_summary() -> None:
    with (DATA / "ansur2_means.csv").open(newline="") as f:
        rows = list(csv.DictReader(f))
    assert len(rows) == 2 * len(SURVEYED)
    for r in rows:
        mean, sd = population(r["sex"]).marginal(SURVEYED[r["measure"]])
        assert mean == pytest.approx(float(r["mean"]), abs=0.006)
        assert sd == pytest.approx(float(r["sd"]), abs=0.006)


@pytest.mark.parametrize("sex", SEXES)
def test_mean_person_gets_the_published_means(sex: str) -> None:
    with (DATA / "ansur2_means.csv").open(newline="") as f:
        mean = {r["measure"]: float(r["mean"]) for r in csv.DictReader(f) if r["sex"] == sex}
    body = {"stature_mm": mean["stature"], "weight_kg": mean["weightkg"], "sex": sex}
    arm, leg = estimate("arm", {}, **body), estimate("leg", {}, **body)
    for told, published in ((arm["wrist"], "wristcircumference"), (leg["ankle"], "anklecircumference"),
                            (leg["calf"], "calfcircumference"), (leg["upper_thigh"], "thighcircumference")):
        assert told.mean_mm == pytest.approx(mean[published], abs=0.05) and "memory" not in told.from_what
    assert arm["wrist_to_forearm"].mean_mm + arm["forearm_to_elbow"].mean_mm == pytest.approx(
        mean["radialestylionlength"], abs=0.05)
    # a mean person with a mean wrist taped as well is still the mean person
    again = estimate("left_arm", {"wrist": mean["wristcircumference"]}, **body)
    assert again["upper_arm"].mean_mm == pytest.approx(arm["upper_arm"].mean_mm, abs=0.05)


@pytest.mark.parametrize("sex", SEXES)
def test_conditional_mean_is_the_regression_of_the_raw_data(sex: str) -> None:
    """A normal with the sample's own mean and covariance must say what least squares says."""
    people, names = sample()[sex], ("stature", "weight_kg", "calf", "ankle")
    at = [NAMES.index(n) for n in names]
    x, y = np.column_stack([np.ones(len(people)), people[:, at]]), people[:, NAMES.index("thigh")]
    fit = x @ np.linalg.lstsq(x, y, rcond=None)[0]
    normal = Normal(NAMES, people.mean(axis=0), np.cov(people.T))
    told = [normal.given(dict(zip(names, row, strict=True)))[0].marginal("thigh") for row in people[:, at]]
    assert np.abs(fit - [m for m, _ in told]).max() < 1e-6
    assert told[0][1] == pytest.approx(np.sqrt(((y - fit) ** 2).sum() / (len(y) - 1)), abs=1e-6)


def test_density_is_scipys() -> None:
    people = population("male")
    known = {"wrist": 171.0, "calf": 405.0, "stature": 1801.0}
    at = [NAMES.index(n) for n in known]
    right = multivariate_normal(people.mean[at], people.cov[np.ix_(at, at)]).logpdf(list(known.values()))
    assert people.given(known)[1] == pytest.approx(right, abs=1e-9)


@pytest.mark.parametrize("known", [("others",), ("stature", "weight_kg")], ids=["others", "stature and weight"])
@pytest.mark.parametrize("measure", [*ARM, *LEG])
def test_leave_one_out_error_and_coverage(measure: str, known: tuple[str, ...], record_property) -> None:
    """Each measure from the rest, both with the sex told and left open; nine in ten must lie in the range."""
    limb = ARM if measure in ARM else LEG
    names = [n for n in limb if n != measure] if known == ("others",) else list(known)
    at, y_at = [NAMES.index(n) for n in names], NAMES.index(measure)
    both, density, truth, own_mean, own_sd = [], [], [], [], []
    for sex, people in sample().items():
        truth.append(people[:, y_at])
        mean, sd, log = (np.array(v) for v in zip(*(
            _told(people[:, at], names, measure, other) for other in SEXES), strict=True))
        i = SEXES.index(sex)
        own_mean.append(mean[i])
        own_sd.append(sd[i])
        both.append((mean, sd))
        density.append(log)
    y = np.concatenate(truth)
    mean, sd = np.concatenate(own_mean), np.concatenate(own_sd)
    inside = np.abs(y - mean) <= norm.ppf(0.95) * sd
    record_property("mae_mm", float(np.abs(y - mean).mean()))
    assert 0.86 <= inside.mean() <= 0.94
    assert np.abs(y - mean).mean() == pytest.approx(sd.mean() * np.sqrt(2 / np.pi), rel=0.12)
    # sex left open: the mixture
    means, sds = (np.concatenate([b[k] for b in both], axis=1).T for k in (0, 1))
    weight = np.exp(np.concatenate(density, axis=1).T)
    weight /= weight.sum(axis=1, keepdims=True)
    share = (weight * norm.cdf((y[:, None] - means) / sds)).sum(axis=1)
    assert 0.86 <= ((share >= 0.05) & (share <= 0.95)).mean() <= 0.94


def _told(x: np.ndarray, names: list[str], wanted: str, sex: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    people = population(sex)
    told = [people.given(dict(zip(names, row, strict=True))) for row in x]
    pairs = [t[0].marginal(wanted) for t in told]
    return np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs]), np.array([t[1] for t in told])


def test_estimates_themselves_cover_the_sample() -> None:
    """Through the front door: girths whose tape goes where the survey's went."""
    hits, misses = [], []
    for sex, people in sample().items():
        for row in people[::20]:
            p = dict(zip(NAMES, row, strict=True))
            for open_sex in (None, sex):
                told = estimate("leg", {"ankle": p["ankle"], "upper_thigh": p["thigh"]}, p["stature"], p["weight_kg"],
                                open_sex)["calf"]
                hits.append(told.low_mm <= p["calf"] <= told.high_mm)
                misses.append(abs(told.mean_mm - p["calf"]))
    assert 0.86 <= np.mean(hits) <= 0.97 and np.mean(misses) < 12    # 51 people twice over: a wider band


def test_mixture_range_against_a_million_draws() -> None:
    parts = [(0.3, 170.0, 8.0), (0.7, 215.0, 9.0)]
    rng = np.random.default_rng(4)
    pick = rng.random(1_000_000) < 0.3
    drawn = np.where(pick, rng.normal(170, 8, 1_000_000), rng.normal(215, 9, 1_000_000))
    mean, low, high = mixture_range(parts)
    assert (mean, low, high) == pytest.approx((drawn.mean(), *np.percentile(drawn, [5, 95])), abs=0.1)


def test_ranges_of_fields_are_the_survey_of_both_limbs() -> None:
    """1st percentile of women and 99th of men, from the normals: within 4.5% of the raw ones kept with the fields."""
    pairs = {("wrist girth", "wrist"), ("flexed forearm girth", "forearm_flexed"), ("elbow to armpit", "elbow_axilla"),
             ("flexed biceps girth", "biceps_flexed"), ("radiale to stylion", "radiale_stylion")}
    legs = {("ankle girth", "ankle"), ("calf girth", "calf"), ("thigh girth", "thigh"),
            ("outer ankle bone to kneecap", "malleolus_knee"), ("kneecap to crotch", "knee_crotch")}
    for kept, names in ((ANSUR_MM, pairs), (ANSUR_LEG_MM, legs)):
        for key, name in names:
            (mf, sf), (mm, sm) = (population(sex).marginal(name) for sex in SEXES)
            assert (mf + norm.ppf(0.01) * sf, mm + norm.ppf(0.99) * sm) == pytest.approx(kept[key], rel=0.045)
