"""Chest and back joined over one seam as a wide sheet: rigid, met at the seam, nothing shown twice."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
import shapely

from composer.body.joins import Join, carry_point, join_parts
from composer.body.joins_pair import BEYOND_MM, pair_sheet
from composer.body.joins_wide import PAIRS, WIDE, WIDE_NAMES, WideSheet
from composer.body.surface import Surface, build_surface
from composer.body.yoke_fields import PANEL_TYPICAL_MM


@lru_cache(maxsize=1)
def surfaces() -> dict[str, Surface]:
    return {p: build_surface(p, dict(PANEL_TYPICAL_MM[p])) for p in ("chest", "upper_back")}


@lru_cache(maxsize=4)
def sheet(name: str) -> WideSheet:
    return pair_sheet(surfaces(), name)


def join(name: str) -> Join:
    return join_parts(surfaces())["chest"]["upper_back"][PAIRS[name]]["join"]


@pytest.mark.parametrize("name", PAIRS)
def test_both_halves_lie_rigid_beside_the_seam_and_nothing_shows_twice(name: str) -> None:
    wide = sheet(name)
    chest, back = wide.parts
    assert (chest.part, back.part) == ("chest", "upper_back") and WIDE[name] == "chest" and name in WIDE_NAMES
    for p in wide.parts:
        assert p.matrix[:, :2] @ p.matrix[:, :2].T == pytest.approx(np.eye(2)) and np.linalg.det(p.matrix[:, :2]) > 0
    assert shapely.intersection(chest.strip, back.strip).area < 1e-3
    shown = [shapely.Polygon(p.shown) for p in wide.parts]
    assert shapely.intersection(*shown).area < 1e-3
    for p, form in zip(wide.parts, shown, strict=True):
        half = surfaces()[p.part].form.area / 2   # type: ignore[union-attr]
        assert 0.97 * half < form.area < 1.25 * half, "a half, and a little beyond the midline"
        us = p.to_skin(np.asarray(shapely.point_on_surface(form).coords))
        assert p.to_wide(us) == pytest.approx(np.asarray(shapely.point_on_surface(form).coords))
        assert wide.part_at(p.to_wide(us)[0]) is p
        assert "midline" in {n for n, _ in p.lines}
    front, behind = join(name).sides("chest")
    assert chest.to_wide(front.at(0.5)) == pytest.approx(back.to_wide(behind.at(0.5)), abs=1e-6)
    apart = np.hypot(*(chest.to_wide(front.us) - back.to_wide(behind.us)).T)
    assert wide.slack_mm["upper_back"] == pytest.approx(apart.max()) and apart.max() < 12
    left = name.startswith("left")
    assert (shown[0].centroid.x > 0) == left, "the client's left half of the chest"
    beyond = surfaces()["chest"].turn_mm * min(p[0] if left else -p[0] for p in chest.to_skin(chest.shown))  # type: ignore[union-attr]
    assert beyond == pytest.approx(-BEYOND_MM, abs=1.0)


@pytest.mark.parametrize("name", PAIRS)
def test_a_place_near_the_seam_is_where_paper_over_it_says(name: str) -> None:
    """Against `carry_point`, whose error on the sewn skin is measured in tests/outside/test_yoke_armhole.py."""
    wide, (front, _) = sheet(name), join(name).sides("chest")
    chest, back = wide.parts
    for share in (0.35, 0.5, 0.65):
        at = front.at(share)[0]
        carried = carry_point(join(name), "chest", at)
        assert np.hypot(*(back.to_wide(carried[None]) - chest.to_wide(at[None]))[0]) < 8.0


def test_up_and_across_run_as_on_a_body_laid_open() -> None:
    """Round a side both parts stand upright; over a shoulder the back stands on its head (common practice, no
    published source)."""
    for name in PAIRS:
        _, back = sheet(name).parts
        up = back.matrix[:, :2] @ (0.0, 1.0)
        assert (up[1] > 0.9) if name.endswith("side") else (up[1] < -0.5), name
        right = back.shown[:, 0].mean() - sheet(name).parts[0].shown[:, 0].mean()
        assert not name.endswith("side") or (right > 0) == name.startswith("left")


def test_without_the_back_it_is_said_what_to_tape() -> None:
    with pytest.raises(ValueError, match="upper back has no measures yet; tape it"):
        pair_sheet({"chest": surfaces()["chest"]}, "left_side")
