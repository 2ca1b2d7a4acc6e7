"""The panel's flattening and its meter on a sphere cap, against map projections.

Source: PROJ through pyproj: azimuthal projections and Tissot's indicatrix (`get_factors`), and Snyder, Map
Projections: A Working Manual, USGS Professional Paper 1395 (1987), on what they keep.
"""

from __future__ import annotations

import numpy as np
import pytest
from pyproj import Proj

from composer.body.limb import Level
from composer.body.panel import Line, Panel
from composer.body.panel_flatten import flatten
from composer.body.panel_patch import lay_panel_patch

RADIUS, CAP = 150.0, np.radians(45)


def on_sphere(pv: np.ndarray) -> np.ndarray:
    """Own coordinates of the cap: mm from its middle along great circles (azimuthal equidistant)."""
    r = np.hypot(*pv.T)
    a = np.sinc(r / RADIUS / np.pi)
    return np.column_stack([pv[:, 0] * a, -RADIUS * np.cos(r / RADIUS), pv[:, 1] * a])


def metric(pv: np.ndarray, h: float = 0.01) -> np.ndarray:
    d = np.stack([(on_sphere(pv + e) - on_sphere(pv - e)) / (2 * h) for e in np.diag([h, h])], axis=2)
    return np.einsum("nki,nkj->nij", d, d)


def cap(n: int = 41) -> np.ndarray:
    x, y = (g.ravel() for g in np.meshgrid(np.linspace(-1, 1, n), np.linspace(-1, 1, n)))
    inside = np.hypot(x, y) <= 1
    return np.column_stack([x, y])[inside] * RADIUS * CAP


def lonlat(pv: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    x, y, z = (on_sphere(pv) / RADIUS).T
    return np.degrees(np.arctan2(x, -y)), np.degrees(np.arcsin(z))


def strain(stretch: np.ndarray, weight: np.ndarray) -> float:
    """The energy that an as-rigid-as-possible map keeps least: mean of (stretch - 1)^2 over the skin."""
    return float(((stretch - 1) ** 2).sum(axis=1) @ weight / weight.sum())


def test_no_azimuthal_projection_strains_less() -> None:
    pv = cap()
    weight = np.sqrt(np.linalg.det(metric(pv)))
    flat = flatten(metric, pv, weight)
    jac = flat.jacobian(pv) @ np.linalg.inv(np.linalg.cholesky(metric(pv))).transpose(0, 2, 1)
    ours = strain(np.linalg.svd(jac, compute_uv=False), weight)
    lon, lat = lonlat(pv)
    for name in ("aeqd", "laea", "stere", "ortho"):
        f = Proj(proj=name, lat_0=0, lon_0=0, R=RADIUS).get_factors(lon, lat)
        both = np.column_stack([f.tissot_semimajor, f.tissot_semiminor])
        for size in (1.0, 1 / both.mean()):  # as it stands, and shrunk to its mean scale
            assert ours < strain(both * size, weight)
    # round it must be, too: the flat place lies on the same bearing, at a distance that is the same all round
    far = flat.to_flat(pv)
    rim = np.hypot(*pv.T) > 0.5
    assert np.abs(far[rim, 0] * pv[rim, 1] - far[rim, 1] * pv[rim, 0]).max() / (RADIUS * CAP) ** 2 < 2e-3


def laea_panel() -> tuple[Panel, Proj]:
    """A panel whose sheet is Lambert's azimuthal equal-area map of the cap."""
    proj = Proj(proj="laea", lat_0=0, lon_0=0, R=RADIUS)
    x = np.linspace(-120, 120, 49)
    nodes = np.stack(np.meshgrid(x, x, indexing="ij"), axis=-1).reshape(-1, 2)
    lon, lat = (np.radians(v) for v in proj(nodes[:, 0], nodes[:, 1], inverse=True))
    xyz = RADIUS * np.column_stack([np.cos(lat) * np.sin(lon), -np.cos(lat) * np.cos(lon), np.sin(lat)])
    t = np.linspace(0, 2 * np.pi, 121)
    ring = 100 * np.column_stack([np.cos(t), np.sin(t)]) / (800.0, 1.0)
    levels = Level("low", -100.0, 800.0), Level("high", 100.0, 800.0)
    return Panel(("cap",), levels, 800.0, x, x, xyz.reshape(49, 49, 3), (Line("rim", ring),), (), {}), proj


def test_the_stretch_meter_is_tissots_indicatrix() -> None:
    panel, proj = laea_panel()
    xy = np.random.default_rng(4).uniform(-70, 70, (200, 2))
    f = proj.get_factors(*proj(xy[:, 0], xy[:, 1], inverse=True))
    told = panel.sheet_stretch(panel.from_mm(xy))
    assert told == pytest.approx(np.column_stack([1 / f.tissot_semiminor, 1 / f.tissot_semimajor]), abs=2e-5)
    assert panel.skin_area_mm2() == pytest.approx(panel.area_mm2(), rel=1e-5)  # equal-area


@pytest.mark.parametrize("reach", [30.0, 60.0])
def test_a_patch_on_the_cap_strains_as_little_as_the_best_disc_can(reach: float) -> None:
    """On a disc of radius r cut from a sphere R, the equidistant map is off by r^2 / 6 R^2 at the rim, and the fitted
    patch shares that out between round and along: less than the equidistant map anywhere."""
    panel, _ = laea_panel()
    for x, y in ((0.0, 0.0), (20.0, -15.0)):
        patch = lay_panel_patch(panel, x / 800.0, y, reach / 1.1)
        spots = np.random.default_rng(2).uniform(-1, 1, (400, 2)) * reach * 0.9
        spots = spots[np.hypot(*spots.T) < 0.9 * reach]
        off = np.abs(patch.stretches(panel, spots) - 1).max()
        assert off < reach**2 / (6 * RADIUS**2) + 5e-4
