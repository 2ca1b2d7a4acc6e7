"""The skin of a sleeve: its area, edges, fading, and what keeps to it."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from skin_cases import TUBE, box, put, random_scene

from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.yoke import build_panel
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.compose.extent import area_mm2, cover, cut_limb, edge_at, faded_area_mm2, ink_weight, region, within
from composer.compose.gaps import survey
from composer.compose.into_chest import area_mm2 as into_chest_area
from composer.compose.into_chest import chest_weight, inner_edge, sleeve_on
from composer.compose.into_chest import faded_area_mm2 as faded_into_area
from composer.plan.extents import EdgeLine, Extent, preset
from composer.plan.scene import Scene

ARM = build_limb("left_arm", dict(TYPICAL_MM))


def _tube(low: float, high: float, form: str = "straight", depth: float = 0.0) -> Extent:
    return Extent(EdgeLine("", low, form, depth), EdgeLine("", high, form, depth))


@pytest.mark.parametrize(("form", "depth"), [("straight", 0.0), ("wavy", 30.0), ("fading", 40.0)])
def test_area_on_a_cylinder_is_girth_times_length(form: str, depth: float) -> None:
    """A whole number of waves cancels out; a raised cosine over its depth leaves half of it."""
    e = _tube(100, 300, form, depth)
    assert area_mm2(TUBE, e) == pytest.approx(260 * 200, rel=1e-6)
    half = depth if form == "fading" else 0.0
    assert faded_area_mm2(TUBE, e) == pytest.approx(260 * (200 - half), rel=2e-3)


def test_area_on_an_arm_is_the_integral_of_the_girth() -> None:
    e = preset("left_arm", "half")
    assert area_mm2(ARM, e) == pytest.approx(ARM.area_mm2(*e.span(ARM)), rel=1e-6)


def test_edges_close_round_the_limb() -> None:
    e = _tube(100, 300, "wavy", 24)
    first, last = edge_at(TUBE, e.near, np.array([0.0, 1.0]))
    assert first == pytest.approx(last)
    assert np.ptp(region(TUBE, e)[:, 1]) == pytest.approx(224, abs=0.1)


def test_fading_is_whole_inside_and_nothing_beyond() -> None:
    e = _tube(100, 300, "fading", 40)
    w = ink_weight(TUBE, e, np.array([(0.2, 99.0), (0.2, 120.0), (0.7, 141.0), (0.7, 280.0), (0.1, 301.0)]))
    assert w == pytest.approx([0, 0.5, 1, 0.5, 0])


def test_cover_counts_only_what_lies_in_the_sleeve() -> None:
    scene = Scene(TUBE, -0.5, (put(TUBE, "a", box(50, 100), 0.02, 100),))
    assert cover(scene, _tube(100, 300)) == pytest.approx(50 * 50 / (260 * 200), rel=1e-4)
    assert cover(scene, _tube(200, 300)) == 0
    assert cover(Scene(TUBE, -0.5, ()), _tube(200, 300)) == 0


def test_a_cut_limb_keeps_its_girth_and_section() -> None:
    low, high = 105.0, 433.0
    short = cut_limb(ARM, low, high)
    s = np.linspace(low, high, 301)
    assert (short.s_min, short.s_max) == (low, high)
    assert np.abs(short.girth(s) - ARM.girth(s)).max() < 0.05
    us = np.column_stack([np.linspace(0, 1, 301), s])
    assert np.abs(short.embed(us)[:, :2] - ARM.embed(us)[:, :2]).max() < 0.1
    assert cut_limb(ARM, ARM.s_min, ARM.s_max) is ARM


def test_gaps_keep_to_the_sleeve() -> None:
    scene = random_scene(np.random.default_rng(4), 10, 40, 80, limb=ARM)
    e = preset("left_arm", "half")
    low, high = e.span(ARM)
    found = survey(within(scene, e))
    assert found.gaps
    for g in found.gaps:
        s = np.concatenate(g.rings)[:, 1]
        assert low - 0.1 <= s.min() and s.max() <= high + 0.1
    assert sum(g.area_mm2 for g in found.gaps) < (1 - cover(scene, e)) * area_mm2(ARM, e)
    wide = survey(scene)
    assert min(np.concatenate(g.rings)[:, 1].min() for g in wide.gaps) < low - 50


@pytest.mark.parametrize("pieces", [0, 10])
def test_gaps_follow_a_wavy_edge(pieces: int) -> None:
    scene = random_scene(np.random.default_rng(4), pieces, 40, 80, limb=ARM)
    e = Extent(EdgeLine("", 120.0, "wavy", 24.0), EdgeLine("", 420.0, "wavy", 16.0))
    found = survey(within(scene, e))
    sleeve = shapely.Polygon(region(ARM, e))
    turns = range(-2, 3)
    skin = shapely.union_all([shapely.transform(sleeve, lambda p, k=k: p + np.array([k, 0.0])) for k in turns])
    worst, reached = 0.0, set()
    for g in found.gaps:
        ring = g.rings[0]
        out = ring[~shapely.contains_xy(shapely.buffer(skin, 1e-9), *ring.T)]
        off = np.maximum(edge_at(ARM, e.far, out[:, 0]) - out[:, 1], out[:, 1] - edge_at(ARM, e.near, out[:, 0]))
        worst = max([worst, *off.tolist()])
        reached |= {n for n in g.neighbours if n.startswith("border")}
        low = ring[np.abs(ring[:, 1] - edge_at(ARM, e.far, ring[:, 0])) < 0.6]
        if "border:far" in g.neighbours:
            assert np.ptp(low[:, 1]) > 3.0
    assert worst < 0.5 and reached == {"border:far", "border:near"}
    straight = survey(within(scene, Extent(EdgeLine("", 120.0), EdgeLine("", 420.0))))
    both = [sum(g.area_mm2 for g in f.gaps) for f in (found, straight)]
    assert both[0] == pytest.approx(both[1], rel=0.03)


def _into(mm: float, form: str = "straight", depth: float = 0.0) -> Extent:
    return Extent(EdgeLine("wrist"), EdgeLine("cap", 0.0, form, depth), chest_mm=mm)


def test_into_the_chest_takes_a_strip_along_the_armhole() -> None:
    panel = build_panel("chest", PANEL_TYPICAL_MM["chest"])
    edge, end = panel.edge("armhole_left"), inner_edge(panel, "left_arm", _into(60.0))
    middle = len(edge) // 2
    way = np.linspace(edge[middle], end[middle], 80)
    assert np.linalg.norm(np.diff(panel.embed(way), axis=0), axis=1).sum() == pytest.approx(60.0, abs=0.5)
    form = sleeve_on(panel, "left_arm", _into(60.0))
    assert form.is_valid and shapely.get_coordinates(form)[:, 0].min() > 0.05   # on the client's left alone
    mirrored = shapely.transform(sleeve_on(panel, "right_arm", _into(60.0)), lambda p: p * (-1, 1))
    assert shapely.symmetric_difference(form, mirrored).area < 0.01 * form.area
    small, large = (into_chest_area(panel, "left_arm", _into(mm)) for mm in (60.0, 120.0))
    length = panel.length(edge)
    assert 60 * length < small < 1.5 * 60 * length and 2 * small < large   # it fans out
    assert into_chest_area(panel, "left_arm", _into(0.0)) == 0.0


def test_the_edge_on_the_chest_waves_and_fades_as_the_upper_edge_does() -> None:
    panel = build_panel("chest", PANEL_TYPICAL_MM["chest"])
    straight, wavy, fading = _into(100.0), _into(100.0, "wavy", 16.0), _into(100.0, "fading", 40.0)
    off = np.hypot(*(panel.to_mm(inner_edge(panel, "left_arm", wavy))
                     - panel.to_mm(inner_edge(panel, "left_arm", straight))).T)
    assert 6.0 < off.max() < 9.5
    whole = into_chest_area(panel, "left_arm", straight)
    assert into_chest_area(panel, "left_arm", wavy) == pytest.approx(whole, rel=0.05)
    assert faded_into_area(panel, "left_arm", straight) == pytest.approx(whole, rel=1e-6)
    end = panel.length(inner_edge(panel, "left_arm", straight))
    left = faded_into_area(panel, "left_arm", fading)
    assert whole - left == pytest.approx(20.0 * end, rel=0.12)     # a raised cosine leaves half of its depth
    way = np.linspace(panel.edge("armhole_left")[30], inner_edge(panel, "left_arm", fading)[30], 11)[1:-1]
    weight = chest_weight(panel, [("left_arm", fading)], way)
    assert weight[0] == 1.0 and (np.diff(weight) <= 0).all() and weight[-1] < 0.3
    assert (chest_weight(panel, [("left_arm", fading)], way * (-1, 1)) == 0).all()


def test_a_sleeve_that_runs_on_does_not_fade_at_the_shoulder() -> None:
    us = np.array([[0.1, ARM.s_max - 1.0]])
    assert ink_weight(ARM, _into(100.0, "fading", 40.0), us) == 1.0 > ink_weight(ARM, _into(0.0, "fading", 40.0), us)
    assert area_mm2(ARM, _into(100.0, "wavy", 30.0)) == pytest.approx(area_mm2(ARM, _into(100.0)), rel=1e-9)
