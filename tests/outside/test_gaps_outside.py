"""Gaps, hold and axes against general-purpose libraries and textbook figures."""

from __future__ import annotations

import sys
from pathlib import Path

import networkx as nx
import numpy as np
import pytest
import shapely
from scipy import ndimage
from scipy.spatial import Delaunay
from shapely.geometry import Polygon
from skimage.measure import label as label_image
from skimage.measure import regionprops

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "compose"))
from skin_cases import ARM, TUBE, random_scene

from composer.body.patch import lay_patch
from composer.compose.basins import find_basins
from composer.compose.chart import chart_of
from composer.compose.flow import flow_of, outline_axis
from composer.compose.gaps import survey
from composer.compose.hold import Hold
from composer.compose.meetings import find_meetings
from composer.compose.mesh import triangulate
from composer.compose.skin import build_skin


def flat_of(limb, gap):  # type: ignore[no-untyped-def]
    lo, hi = gap.rings[0].min(axis=0), gap.rings[0].max(axis=0)
    u, s = (lo + hi) / 2
    patch = lay_patch(limb, u, s, s - lo[1], hi[1] - s)
    return patch, Polygon(patch.to_flat(gap.rings[0]), [patch.to_flat(r) for r in gap.rings[1:]])


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_widest_circle_against_shapely(seed: int) -> None:
    """shapely.maximum_inscribed_circle (GEOS) of each outline laid flat about its own middle."""
    for g in survey(random_scene(np.random.default_rng(seed), 22, 40, 80)).gaps:
        patch, flat = flat_of(ARM, g)
        circle = shapely.maximum_inscribed_circle(flat, tolerance=0.005)
        assert g.widest_mm / 2 == pytest.approx(circle.length, abs=0.35 if flat.area > 3000 else 0.15)
        centre = shapely.Point(patch.to_flat(np.array([g.centre]))[0])
        assert flat.contains(centre)
        assert flat.exterior.distance(centre) >= g.widest_mm / 2 - 0.35


@pytest.mark.parametrize("seed", [5, 6])
def test_peaks_against_a_euclidean_distance_transform(seed: int) -> None:
    """On a cylinder: scipy.ndimage.distance_transform_edt of a 0.5 mm raster, three turns wide,
    gives the radius of every pocket's widest circle."""
    scene = random_scene(np.random.default_rng(seed), 14, 40, 80, limb=TUBE)
    skin = build_skin(scene, 2.0)
    chart = chart_of(TUBE)
    basins = find_basins(chart, skin.mesh, skin.empty)
    mm = 0.5
    u, s = np.meshgrid(np.arange(0, 780, mm) + mm / 2, np.arange(-20, 420, mm) + mm / 2)
    free = (s > 0) & (s < 400)
    for x in scene.laid:
        flat = shapely.segmentize(x.flat.outline, 2.0)
        shape = shapely.transform(flat, lambda p, x=x: x.patch.to_skin(p) * (260, 1))
        for k in range(-2, 5):
            free &= ~shapely.contains_xy(shapely.transform(shape, lambda p, k=k: p + np.array([k * 260, 0])), u, s)
    field = ndimage.distance_transform_edt(free) * mm
    seen = 0
    for peak in basins.peak:
        if basins.radius[peak] < 5:
            continue
        cu, cs = chart.to_skin(skin.mesh.centre[peak][None])[0]
        j, i = int((cu % 1 + 1) * 260 / mm), int((cs + 20) / mm)
        near = field[max(i - 3, 0) : i + 4, j - 3 : j + 4].max()
        assert basins.radius[peak] == pytest.approx(near, abs=1.2 * mm)
        seen += 1
    assert seen >= 5


def test_triangles_against_a_plain_delaunay_of_many_turns() -> None:
    """scipy.spatial.Delaunay (Qhull) of seven turns of the points: the middle one, side by side."""
    skin = build_skin(random_scene(np.random.default_rng(8), 20, 40, 80), 2.0)
    p = skin.mesh.points
    n = len(p)
    many = np.concatenate([p + np.array([k, 0.0]) for k in range(-3, 4)])
    tri = Delaunay(many).simplices
    at, turn = tri % n, tri // n - 3
    whole = set()
    for a, t in zip(at.tolist(), turn.tolist(), strict=True):
        low = min(range(3), key=lambda k: (a[k], t[k]))
        if t[low] == 0:
            whole.add(tuple(sorted(zip(a, t, strict=True))))
    mine = {tuple(sorted(zip(a, t, strict=True)))
            for a, t in zip(skin.mesh.corner.tolist(), skin.mesh.turn.tolist(), strict=True)}
    assert mine <= whole
    assert len(mine) == len(triangulate(p).corner) == 2 * n - np.isin(p[:, 1], (p[:, 1].min(), p[:, 1].max())).sum()


def test_hold_against_networkx() -> None:
    """networkx.resistance_distance and effective_graph_resistance, before and after a tie."""
    scene = random_scene(np.random.default_rng(5), 12, 40, 80)
    skin = build_skin(scene, 2.0)
    chart = chart_of(ARM)
    basins = find_basins(chart, skin.mesh, skin.empty)
    wide = 2 * basins.radius[basins.peak] >= 10
    hold = Hold(find_meetings(chart, skin, basins, flow_of(scene), wide), len(skin.edges))
    lap = np.linalg.inv(hold.inverse + 1 / 12) - 1 / 12
    graph = nx.Graph()
    for i in range(12):
        for j in range(i):
            graph.add_edge(i, j, weight=-lap[i, j])
    before = nx.effective_graph_resistance(graph, weight="weight", invert_weight=False)
    a, b = np.array([0, 3, 7]), np.array([5, 9, 1])
    eased, whole = hold.gain(a, b)
    for k in range(3):
        r = nx.resistance_distance(graph, a[k], b[k], weight="weight", invert_weight=False)
        assert eased[k] == pytest.approx(r / (1 + r), rel=1e-6)
        more = graph.copy()
        more[a[k]][b[k]]["weight"] += 1.0
        after = nx.effective_graph_resistance(more, weight="weight", invert_weight=False)
        assert whole[k] == pytest.approx((before - after) / before, rel=1e-6)
    hold.tie(0, 5)
    graph[0][5]["weight"] += 1.0
    assert 12 * np.trace(hold.inverse) == pytest.approx(
        nx.effective_graph_resistance(graph, weight="weight", invert_weight=False), rel=1e-6)


def test_axes_against_the_ellipse_and_a_region_of_pixels() -> None:
    """The second-moment ellipse of an ellipse is itself; scikit-image's regionprops measures a raster."""
    a = np.linspace(0, 2 * np.pi, 2000, endpoint=False)
    c, s = np.cos(0.4), np.sin(0.4)
    ring = np.column_stack([40 * np.cos(a), 15 * np.sin(a)]) @ np.array([[c, s], [-s, c]]) + (100, 120)
    middle, angle, slender, size = outline_axis(Polygon(ring))
    assert middle == pytest.approx((100, 120), abs=1e-6)
    assert angle == pytest.approx(0.4, abs=1e-6)
    assert (slender, size) == (pytest.approx(1 - 15 / 40, abs=1e-5), pytest.approx(80, rel=1e-4))
    x, y = np.meshgrid(np.arange(240) + 0.5, np.arange(240) + 0.5)
    odd = Polygon(ring).union(shapely.box(100, 120, 150, 190))
    region = regionprops(label_image(shapely.contains_xy(odd, x, y).astype(int)))[0]
    middle, angle, slender, size = outline_axis(odd)
    assert middle == pytest.approx((region.centroid[1] + 0.5, region.centroid[0] + 0.5), abs=0.1)
    assert size == pytest.approx(region.axis_major_length, rel=0.01)
    assert slender == pytest.approx(1 - region.axis_minor_length / region.axis_major_length, abs=0.01)
    assert np.cos(2 * (angle - (np.pi / 2 - region.orientation))) == pytest.approx(1.0, abs=1e-3)
