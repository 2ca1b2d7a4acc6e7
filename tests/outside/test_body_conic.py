"""The patch against the equidistant conic map projection.

Sources: J. P. Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395 (1987),
numerical example of the equidistant conic on the sphere (recalled from memory, confirmed by
PROJ); PROJ's `eqdc` through pyproj.
"""

from __future__ import annotations

import numpy as np
import pytest
from pyproj import Proj

from composer.body.limb import Level, Limb
from composer.body.patch import Patch, lay_patch


def conic(lat1_deg: float, lat2_deg: float, lat0_deg: float, lon0_deg: float, radius: float) -> Patch:
    """The patch that touches (or cuts) a sphere at the standard parallels; u in turns of longitude, s = R lat."""
    p1, p2, p0 = np.radians([lat1_deg, lat2_deg, lat0_deg])
    n = np.sin(p1) if lat1_deg == lat2_deg else (np.cos(p1) - np.cos(p2)) / (p2 - p1)
    tip = np.cos(p1) / n + p1
    return Patch(lon0_deg / 360, radius * p0, 2 * np.pi * n * (tip - p0) * radius, -2 * np.pi * n)


def place(lon_deg: float, lat_deg: float, radius: float) -> np.ndarray:
    return np.array([[lon_deg / 360, radius * np.radians(lat_deg)]])


def test_snyders_worked_example() -> None:
    xy = conic(29.5, 45.5, 23, -96, 1.0).to_flat(place(-75, 35, 1.0))[0]
    assert xy == pytest.approx([0.2952057, 0.2424021], abs=5e-8)
    back = conic(29.5, 45.5, 23, -96, 1.0).to_skin(np.array([[0.2952057, 0.2424021]]))[0]
    assert np.degrees(back[1]) == pytest.approx(35, abs=1e-5) and back[0] * 360 == pytest.approx(-75, abs=1e-5)


@pytest.mark.parametrize("lat0", [5.0, 20.0, 45.0, 60.0, -35.0])
@pytest.mark.parametrize("radius", [45.0, 63.7, 200.0])
def test_tangent_patch_on_a_sphere_is_eqdc(lat0: float, radius: float) -> None:
    patch = conic(lat0, lat0, lat0, 0, radius)
    other = Proj(proj="eqdc", lat_1=lat0, lat_2=lat0, lat_0=lat0, lon_0=0, R=radius)
    rng = np.random.default_rng(3)
    lon, lat = rng.uniform(-60, 60, 200), np.clip(lat0 + rng.uniform(-30, 30, 200), -85, 85)
    ours = patch.to_flat(np.column_stack([lon / 360, radius * np.radians(lat)]))
    assert np.abs(ours - np.column_stack(other(lon, lat))).max() < 1e-9


def test_fitted_patch_on_a_round_shoulder_nears_the_tangent_one() -> None:
    # a sphere's girth, taped every 2 mm, as a limb; a small piece's fitted cone is the tangent cone
    radius = 63.7
    s = np.arange(0.0, 72.0, 2.0)
    limb = Limb(tuple(Level(str(v), float(v), float(2 * np.pi * radius * np.cos(v / radius))) for v in s))
    fitted = lay_patch(limb, 0.0, 30.0, 4, 4)
    tangent = conic(*[np.degrees(30 / radius)] * 3, 0, radius)
    assert fitted.c1_mm == pytest.approx(tangent.c1_mm, rel=1e-3) and fitted.b == pytest.approx(tangent.b, abs=5e-3)
