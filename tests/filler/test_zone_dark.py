"""How dark the fillers of a whole part are: by zone, deepest round what the eye goes to, zones apart."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from test_proposals import world

from composer.filler.fabric import plan_jobs
from composer.filler.fabric_plan import THEMES, Zone, plan_zones, theme
from composer.filler.ground import Wish
from composer.filler.zone_dark import APART, FALL, LEAST, MOST, STEP, _far, darkened, focal_pieces
from composer.plan.model import Hand, Settings


@pytest.mark.parametrize("name", [n for n, t in THEMES.items() if len(t.zones) > 1])
def test_zones_beside_each_other_stay_apart(name: str) -> None:
    scene, found = world()
    the = theme(name)
    assert all(a.dark != b.dark for a, b in pairwise(the.zones)), "darkness is a decision of the plan"
    plain = plan_zones(found, found.gaps, the.zones, 0.2)
    parts = darkened(scene, plain, the.zones)
    rows: dict[int, list[tuple[float, float]]] = {}
    for was, now in zip(plain, parts, strict=True):
        rows.setdefault(the.zones.index(was.zone), []).append((now.zone.dark, sum(g.area_mm2 for g in now.gaps)))
    mean = [float(np.average([d for d, _ in rows[k]], weights=[w for _, w in rows[k]])) for k in sorted(rows)]
    assert all(abs(a - b) >= APART - STEP for a, b in pairwise(mean))


def test_background_falls_off_away_from_the_largest_pieces() -> None:
    scene, found = world()
    zones = (Zone(1.0, "filigree", "free"),)
    plain = plan_zones(found, found.gaps, zones, 0.2)
    far, dark = _far(scene, [p.gaps for p in plain]), [p.zone.dark for p in darkened(scene, plain, zones)]
    order = np.argsort(far)
    assert all(a >= b for a, b in pairwise(np.array(dark)[order])), "the nearer, the darker"
    assert dark[order[0]] == 1.0 and min(dark) < 1.0 and min(dark) >= round(1 - FALL, 2)


def test_focal_are_the_largest_main_pieces() -> None:
    scene, _ = world()
    focal = focal_pieces(scene)
    size = {x.piece.id: x.flat.outline.area for x in scene.laid if not x.piece.is_filler}
    assert 1 <= len(focal) < len(size)
    assert min(size[x.piece.id] for x in focal) > max(v for k, v in size.items() if k not in
                                                      {x.piece.id for x in focal})


def test_the_darkness_is_the_fillers_own_and_within_what_the_artist_can_set() -> None:
    scene, found = world()
    jobs = plan_jobs(scene, found, found.gaps, theme("bank"), Hand(), Wish(), 3, Settings(), [])
    dark = [job.wish.dark for job, _, _ in jobs]
    assert len(set(dark)) > 1 and all(LEAST <= d <= MOST for d in dark)
    assert np.allclose(np.array(dark) / STEP, np.round(np.array(dark) / STEP))
    paler = plan_jobs(scene, found, found.gaps, theme("bank"), Hand(), Wish(dark=0.5), 3, Settings(), [])
    assert [job.wish.dark for job, _, _ in paler] == pytest.approx([0.5 * d for d in dark])
