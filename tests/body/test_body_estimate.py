"""Estimates: marked, sane, and narrower the more is known."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from limb_cases import FEW

from composer.body.ansur import population
from composer.body.estimate import EstimateError, estimate, filled
from composer.body.hangs import GIRTHS, PLACES, joint
from composer.body.kinds import KINDS, kind_of
from composer.body.measures import build_limb, check, refused
from composer.body.yoke import check_panel
from composer.body.yoke_fields import PANEL_FIELDS


@FEW
@given(kind=st.sampled_from(["arm", "leg"]), stature=st.floats(1450, 2000), bmi=st.floats(17.5, 36),
       sex=st.sampled_from([None, "female", "male"]), data=st.data())
def test_any_usual_body_makes_a_limb(kind: str, stature: float, bmi: float, sex: str | None,
                                         data: st.DataObject) -> None:
    """Nothing taped but a few measures near their own estimates: the rest must make a limb."""
    limb, weight = kind_of(kind), bmi * (stature / 1000) ** 2
    first = estimate(kind, {}, stature, weight, sex)
    some = data.draw(st.lists(st.sampled_from([f.name for f in limb.fields]), max_size=4, unique=True))
    taped = {n: first[n].mean_mm * data.draw(st.floats(0.96, 1.04)) for n in some}
    told = estimate(kind, taped, stature, weight, sex)
    assert set(told) == {f.name for f in limb.fields} - set(taped)
    for e in told.values():
        assert 0 < e.low_mm <= e.mean_mm <= e.high_mm and e.from_what.startswith("Estimated from")
    whole = filled(kind, taped, told)
    assert list(whole) == [f.name for f in limb.fields] and not refused(check(whole, "mm", kind)[1])
    assert build_limb(f"left_{kind}", whole).s_max > 100


@pytest.mark.parametrize(("kind", "more", "then"), [
    ("arm", "wrist", "forearm"), ("arm", "forearm", "elbow"), ("arm", "upper_arm", "deltoid"),
    ("arm", "wrist_to_forearm", "elbow_to_upper_arm"), ("leg", "ankle", "calf"), ("leg", "calf", "below_knee"),
    ("leg", "upper_thigh", "mid_thigh"), ("leg", "ankle_to_calf", "knee_to_mid_thigh")])
@pytest.mark.parametrize("sex", ["female", "male", None])
def test_more_here_means_more_there(kind: str, more: str, then: str, sex: str | None) -> None:
    base = estimate(kind, {}, sex=sex)[more].mean_mm
    said = [estimate(kind, {more: base * k}, sex=sex)[then].mean_mm for k in (0.9, 0.95, 1.0, 1.05, 1.1)]
    assert said == sorted(said) and said[-1] > said[0] * 1.01


def test_heavier_is_rounder_and_taller_is_longer() -> None:
    for kind in KINDS:
        limb = kind_of(kind)
        light, heavy = (estimate(kind, {}, 1700, kg, "female") for kg in (55, 95))
        assert all(heavy[g].mean_mm > light[g].mean_mm for g in limb.girths)
        short, tall = (estimate(kind, {}, mm, 70, "male") for mm in (1600, 1900))
        assert sum(tall[n].mean_mm for n in limb.lengths) > 1.1 * sum(short[n].mean_mm for n in limb.lengths)


@pytest.mark.parametrize("kind", ["arm", "leg"])
def test_what_is_known_narrows_the_range(kind: str) -> None:
    limb = kind_of(kind)
    typical = limb.typical_mm
    taped: dict[str, float] = {}
    width = {n: e.high_mm - e.low_mm for n, e in estimate(kind, {}, sex="male").items()}
    for f in limb.fields[:-1]:
        taped[f.name] = typical[f.name]
        told = estimate(kind, taped, sex="male")
        assert f.name not in told
        for n, e in told.items():
            assert e.high_mm - e.low_mm <= width[n] + 1e-6      # a normal's spread can only shrink
            width[n] = e.high_mm - e.low_mm


def test_lengths_that_share_a_level_trade_against_each_other() -> None:
    base = estimate("arm", {}, 1756, 85, "male")
    far = estimate("arm", {"wrist_to_forearm": base["wrist_to_forearm"].mean_mm + 25}, 1756, 85, "male")
    assert far["forearm_to_elbow"].mean_mm < base["forearm_to_elbow"].mean_mm


def test_sex_left_open_lies_between_and_is_wider() -> None:
    for name in ("calf", "upper_thigh", "ankle_to_calf"):
        f, m, o = (estimate("leg", {}, sex=s)[name] for s in ("female", "male", None))
        assert min(f.mean_mm, m.mean_mm) < o.mean_mm < max(f.mean_mm, m.mean_mm)
        assert o.low_mm <= max(f.low_mm, m.low_mm) and o.high_mm >= min(f.high_mm, m.high_mm)
    big = estimate("arm", {"wrist": 195, "wrist_to_forearm": 215})["upper_arm"]
    man = estimate("arm", {"wrist": 195, "wrist_to_forearm": 215}, sex="male")["upper_arm"]
    assert big.mean_mm == pytest.approx(man.mean_mm, rel=0.01)      # such a wrist tells the sex


def test_where_it_comes_from_is_said() -> None:
    told = estimate("arm", {"wrist": 170}, 1700, None, None)
    assert "1 taped measure and stature" in told["forearm"].from_what and "from memory" in told["forearm"].from_what
    assert "average" in estimate("arm", {})["wrist"].from_what
    assert "1,986 women" in estimate("leg", {}, sex="female")["calf"].from_what
    assert "4,082 men and 1,986 women" in estimate("leg", {})["calf"].from_what
    assert told["elbow"].range_mm == [told["elbow"].low_mm, told["elbow"].high_mm]


@pytest.mark.parametrize(("args", "says"), [
    (({"wrist": float("nan")},), "Wrist is nan, which is not a number"), (({"wrist": 900},), "must lie within"),
    (({}, 170), "Height is 170 mm"), (({}, None, 900), "Weight is 900 kg"), (({}, None, None, "x"), "female and male"),
    (({"wrist": True},), "not a number"), (({"wrist": "17"},), "not a number")])
def test_nothing_is_estimated_from_nonsense(args: tuple, says: str) -> None:
    with pytest.raises(EstimateError, match=says):
        estimate("arm", *args)
    with pytest.raises(KeyError, match="not planned here"):
        estimate("hand", {})


def test_further_girths_and_other_names_change_nothing() -> None:
    plain, more = estimate("arm", {"wrist": 170}), estimate("arm", {"wrist": 170, "girth@60": 190, "tail": 3})
    assert {n: e.mean_mm for n, e in plain.items()} == {n: e.mean_mm for n, e in more.items()}


@pytest.mark.parametrize("part", list(PANEL_FIELDS))
@pytest.mark.parametrize(("stature", "kg"), [(None, None), (1500, 45), (1628, 68), (1700, 70), (1756, 85), (1850, 90)])
def test_chest_and_back_are_estimated_too(part: str, stature: float | None, kg: float | None) -> None:
    told = estimate(part, {}, stature, kg)
    whole = filled(part, {}, told)
    problems = check_panel(part, whole, "mm")[1]
    assert list(whole) == [f.name for f in PANEL_FIELDS[part]]
    assert not [p for p in problems if p.field]         # every measure is in its own range, without remark
    if stature in (None, 1628, 1756):
        assert not refused(problems)                    # and about the mean they make a panel together
    for name, e in told.items():
        assert 0 < e.low_mm < e.mean_mm < e.high_mm and "from memory" in e.from_what
        if name.endswith("_left"):
            assert told[name.replace("_left", "_right")].mean_mm == pytest.approx(e.mean_mm)


def test_one_side_of_the_chest_tells_of_the_other() -> None:
    base = estimate("chest", {})["notch_to_acromion_left"]
    told = estimate("chest", {"notch_to_acromion_right": base.mean_mm + 20})["notch_to_acromion_left"]
    assert told.mean_mm > base.mean_mm + 12
    assert told.high_mm - told.low_mm < 0.6 * (base.high_mm - base.low_mm)


def test_every_field_hangs_somewhere() -> None:
    for limb in KINDS.values():
        assert set(limb.girths) <= set(GIRTHS) and set(limb.levels) <= set(PLACES)
        names = joint(population("male"), limb.girths, limb.levels, limb.lengths).names
        assert names == ("stature", "weight_kg", *limb.girths, *limb.lengths)
