"""A kind of filler from another package shows on the desk beside the house's own."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from importlib.metadata import EntryPoint

import numpy as np
import pytest
from shapely.geometry import Point
from starlette.testclient import TestClient

from composer.art.drawing import Drawing, Layer, geometry_to_rings
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.sheet import unroll
from composer.filler import kinds
from composer.filler.ground import Ground, Wish
from composer.filler.kinds import KINDS, Kind, Way
from composer.plan.model import Hand


def spot(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing:
    """One ball of ink where the ground is roomiest, of a size that the numbers give."""
    at = ground.free.representative_point()
    rings = geometry_to_rings(Point(at.x, at.y).buffer(float(rng.uniform(1.0, 2.0))))
    return Drawing(rings, (Layer("line", rings),), (), {})


HAIL = Kind("hail", "Hailstones", (Way("one", "Hail, one stone", spot),), False, 5.0)
VAST = Kind("vast", "Vast things", (Way("one", "Vast", spot),), False, 4000.0)


@pytest.fixture
def with_hail(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """As if a package with two kinds were installed."""
    entries = [EntryPoint(k, f"{__name__}:{v}", kinds.GROUP) for k, v in (("hail", "HAIL"), ("vast", "VAST"))]
    monkeypatch.setattr(kinds, "entry_points", lambda group: entries if group == kinds.GROUP else [])
    kinds.brought.cache_clear()
    yield
    kinds.brought.cache_clear()


def opened(client: TestClient, plan_id: str) -> tuple[str, str, str]:
    """The address of the arm's desk with a painted place open on it, its key, and the panel."""
    sheet = unroll(build_limb("left_arm", dict(TYPICAL_MM)), -0.5)
    line = sheet.to_flat(np.linspace((-0.22, 300.0), (-0.12, 320.0), 40))
    at = f"/plans/{plan_id}/desk/left_arm"
    page = client.post(at + "/brush", data={"stroke": json.dumps(line.round(2).tolist()), "width": "40",
                                            "mode": "tie-in"}).text
    data = re.search(r'id="desk-data"[^>]*>(.*?)</script>', page, re.S)
    assert data
    return at, json.loads(data[1])["goal"], page


@pytest.mark.usefixtures("with_hail")
def test_a_brought_kind_is_offered_and_proposed(client: TestClient, plan_id: str) -> None:
    at, key, panel = opened(client, plan_id)
    assert 'id="picks-hail"' in panel and "Hailstones" in panel
    assert all(f'id="picks-{name}"' in panel for name in KINDS)
    assert 'id="picks-vast"' not in panel and "vast things" in panel, "too large for the place, and said so"
    picks = client.post(at + "/candidates", data={"for": key, "kind": "hail", "mode": "tie-in"})
    assert picks.status_code == 200 and "Hail, one stone" in picks.text
    assert picks.text.count("data-candidate") >= 1


def test_without_the_package_it_is_not_there(client: TestClient, plan_id: str) -> None:
    at, key, panel = opened(client, plan_id)
    assert "picks-hail" not in panel and 'id="picks-cloud"' in panel
    picks = client.post(at + "/candidates", data={"for": key, "kind": "hail", "mode": "tie-in"})
    assert "There is no background of that kind" in picks.text and "data-candidate" not in picks.text
