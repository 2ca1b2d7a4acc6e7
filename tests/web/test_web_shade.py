"""Shade lines through the desk: drawn, set at a level, changed, deleted; the fillers concerned are named and drawn
again only when asked."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import numpy as np
from starlette.testclient import TestClient

from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.sheet import unroll
from composer.compose.gaps import Gap
from composer.compose.shade_reach import reach_of
from composer.plan.shade_lines import Shade, ShadeLine, shade_of
from composer.store.store import Store
from web.findings import beyond_lines

LIMB = build_limb("left_arm", dict(TYPICAL_MM))
SHEET = unroll(LIMB, -0.5)


def kept(store: Store, pid: str) -> Shade:
    return shade_of(store.load(pid).plan.part("left_arm"))


def test_a_line_is_drawn_changed_swapped_deleted_and_undone(client: TestClient, store: Store, plan_id: str) -> None:
    at = f"/plans/{plan_id}/desk/left_arm"
    xy = SHEET.to_flat(np.linspace((-0.4, 150.0), (0.4, 160.0), 40)).round(2).tolist()
    page = client.post(at + "/shade", data={"stroke": json.dumps(xy), "mode": "tie-in"})
    assert page.status_code == 200 and "round the arm, 16 cm up" in page.text and "Shaded above." in page.text
    assert 'class="shade-line"' in page.text and 'class="tick"' in page.text
    (line,) = kept(store, plan_id).lines
    assert reach_of(LIMB, line).inside(np.array([[0.0, 300.0]]))[0], "where there is more skin"
    page = client.post(at + "/shade", data={"swap": line.id, "mode": "tie-in"})
    assert "Shaded below." in page.text
    client.post(at + "/shade", data={"line": line.id, "fall": "55", "mode": "tie-in"})
    assert kept(store, plan_id).lines[0].fall_mm == 55 and kept(store, plan_id).lines[0].side == -line.side
    client.post(at + "/shade", data={"remove": line.id, "mode": "tie-in"})
    assert kept(store, plan_id) == Shade()
    back = client.post(at + "/undo", data={"mode": "tie-in"})
    assert len(kept(store, plan_id).lines) == 1 and "delete a shade line" in back.text


def test_only_a_gap_wholly_beyond_a_line_is_to_be_left_bare() -> None:
    def gap(low: float, high: float) -> Gap:
        ring = np.array([(0.4, low), (0.6, low), (0.6, high), (0.4, high)])
        return Gap("g", 1, (ring,), 900.0, 20.0, (0.5, (low + high) / 2), (), 0.0, 40.0)

    line = ShadeLine("a", ((-0.5, 200.0), (0.5, 200.0)), 1)
    beyond = [beyond_lines(g, [reach_of(LIMB, line)]) for g in (gap(100, 190), gap(190, 230), gap(210, 300))]
    assert beyond in ([True, False, False], [False, False, True])
    other = [beyond_lines(g, [reach_of(LIMB, replace(line, side=-1))]) for g in (gap(100, 190), gap(190, 230),
                                                                                gap(210, 300))]
    assert other == beyond[::-1] and not beyond_lines(gap(100, 190), [])


def test_a_level_is_typed_in_the_unit_of_the_plan(client: TestClient, store: Store, plan_id: str) -> None:
    at = f"/plans/{plan_id}/desk/left_arm"
    unit = store.load(plan_id).plan.settings.unit
    typed, mm = {"cm": ("14,5", 145.0), "mm": ("145", 145.0), "in": ("6", 152.4)}[unit]
    client.post(at + "/shade", data={"level": typed, "mode": "tie-in"})
    assert {s for _, s in kept(store, plan_id).lines[0].points} == {mm}
    wrong = client.post(at + "/shade", data={"level": "900", "mode": "tie-in"})
    assert wrong.status_code == 422 and "off the skin" in wrong.text
    for data in ({"level": "high"}, {"line": "x", "fall": "wide"}, {"remove": "x"}, {"swap": "x"}, {}):
        refused = client.post(at + "/shade", data={**data, "mode": "tie-in"})
        assert refused.status_code == 422, data
    client.post(at + "/shade", data={"cuff": "40", "mode": "tie-in"})
    client.post(at + "/shade", data={"contrast": "0", "mode": "tie-in"})
    assert (kept(store, plan_id).cuff_mm, kept(store, plan_id).contrast) == (40.0, False)


def test_fillers_concerned_are_named_and_drawn_again_when_asked(client: TestClient, store: Store,
                                                                plan_id: str) -> None:
    at = f"/plans/{plan_id}/desk/left_arm"
    page = client.post(at + "/refresh", data={"mode": "tie-in"})
    key = re.search(r'data-goal="(gap:[0-9a-z]+)"', page.text)
    assert key
    made = client.post(at + "/accept", data={"for": key[1], "kind": "wind", "index": "0", "mode": "tie-in"})
    assert made.status_code == 200
    (filler,) = [p for p in store.load(plan_id).plan.pieces if p.is_filler]
    assert "shade-concerned" not in client.post(at + "/refresh", data={"mode": "tie-in"}).text
    page = client.post(at + "/shade", data={"level": f"{filler.s_mm / 10:.1f}", "mode": "tie-in"})
    assert page.status_code == 200 and "One filler is not shaded" in page.text
    assert store.load(plan_id).plan.piece(filler.id) == filler, "never silently"
    page = client.post(at + "/shade/again", data={"mode": "tie-in"})
    assert page.status_code == 200 and "shade-concerned" not in page.text
    assert store.load(plan_id).plan.piece(filler.id).art != filler.art
    refused = client.post(at + "/shade/again", data={"mode": "tie-in"})
    assert refused.status_code == 422 and "as dark as it is to be" in refused.text
    client.post(at + "/undo", data={"mode": "tie-in"})
    assert store.load(plan_id).plan.piece(filler.id).art == filler.art


def test_the_field_is_laid_over_the_sheet_and_said_in_a_table(client: TestClient, store: Store, plan_id: str) -> None:
    at = f"/plans/{plan_id}/desk/left_arm"
    client.post(at + "/shade", data={"level": "20", "mode": "tie-in"})
    data = client.get(at + "/tint", params={"what": "tone"}).json()
    assert "<image" in data["svg"] and "open skin" in data["legend"] and data["tags"]
    table = client.get(at + "/table", params={"what": "tone"}).text
    rows = re.findall(r'<th scope="row">([^<]*)</th>((?:<td>\d+</td>)+)', table)
    tones = {name: [int(v) for v in re.findall(r"\d+", cells)] for name, cells in rows}
    low = [v for name, row in tones.items() for v in row if float(name.rsplit(", ", 1)[1].split()[0]) < 20]
    high = [v for name, row in tones.items() for v in row if 26 <= float(name.rsplit(", ", 1)[1].split()[0]) < 40]
    assert set(low) == {0} and max(high) > 20
