"""Zones of chest and back: they cover the skin once, answer across the midline, and follow other measures."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from panel_cases import SOME, UNEVEN, places, trunks, typical

from composer.body.kept_skin import keep_to
from composer.body.panel import Panel
from composer.body.panel_mirror import mirror_panel_points
from composer.body.panel_zone_table import PANEL_ZONES
from composer.body.panel_zones import PanelZones
from composer.body.yoke import build_panel
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.body.zone_table import SCALES
from composer.body.zones import ZoneError, zone_at, zones_of

PARTS = ("chest", "upper_back")


def changed(part: str, **share: float) -> dict[str, float]:
    """The typical measures, those whose name begins with a key times its share."""
    def by(name: str) -> float:
        return next((v for k, v in share.items() if name.startswith(k)), 1.0)
    return {k: v * by(k) for k, v in PANEL_TYPICAL_MM[part].items()}


BODIES = {
    "very thin chest": ("chest", changed("chest", chest_girth=0.79, lower_girth=0.79, midline_to_crease=0.80,
                                         notch_to_acromion=0.88, acromion_to_crease=0.86, fullness=0.5)),
    "very muscular chest": ("chest", changed("chest", chest_girth=1.26, lower_girth=1.1, midline_to_crease=1.25,
                                             notch_to_acromion=1.14, acromion_to_crease=1.2, fullness=2.5)),
    "full chest": ("chest", changed("chest", chest_girth=1.05, fullness=4.0)),
    "uneven chest": ("chest", UNEVEN),
    "short chest": ("chest", changed("chest", armpit_to_lower=0.6)),
    "very thin back": ("upper_back", changed("upper_back", chest_girth=0.79, lower_girth=0.79, spine_to_crease=0.84,
                                             nape_to_acromion=0.88, acromion_to_crease=0.86)),
    "very muscular back": ("upper_back", changed("upper_back", chest_girth=1.26, lower_girth=1.1, spine_to_crease=1.25,
                                                 nape_to_acromion=1.14, acromion_to_crease=1.2)),
}


def shape(zones: PanelZones, i: int) -> shapely.Geometry:
    """Zone `i` on the sheet, mm."""
    out: shapely.Geometry = shapely.Polygon()
    for r in zones.rings(i):
        out = shapely.symmetric_difference(out, shapely.Polygon(zones.panel.to_mm(r)))
    return out


def assert_covers_once(part: str, panel: Panel) -> None:
    zones = zones_of(part, panel)
    assert isinstance(zones, PanelZones)
    shapes = [shape(zones, i) for i in range(len(zones.zones))]
    assert sum(g.area for g in shapes) == pytest.approx(panel.form.area, rel=1e-4)
    assert shapely.union_all(shapes).area == pytest.approx(panel.form.area, rel=1e-4)      # so no overlaps either
    assert sum(zones.area_mm2(i) for i in range(len(shapes))) == pytest.approx(panel.skin_area_mm2(), rel=0.01)
    us = places(panel, 300)
    at, xy = zones.at(us), panel.to_mm(us)
    within = np.array([shapely.contains_xy(g, xy[:, 0], xy[:, 1]) for g in shapes])
    clear = np.array([shapely.distance(g.boundary, shapely.points(xy)) for g in shapes if not g.is_empty])
    clear_of = clear.min(axis=0) > 0.05
    assert clear_of.sum() > 250
    assert np.all(within.sum(axis=0)[clear_of] == 1)                    # drawn once each
    assert np.array_equal(within.argmax(axis=0)[clear_of], at[clear_of])      # and where they are found
    assert at.min() >= 0


@pytest.mark.parametrize("name", BODIES)
def test_zones_cover_thin_muscular_uneven_and_short_trunks_once(name: str) -> None:
    part, measures = BODIES[name]
    assert_covers_once(part, build_panel(part, measures))


@SOME
@given(data=st.data(), part=st.sampled_from(PARTS))
def test_zones_cover_any_trunk_once(data: st.DataObject, part: str) -> None:
    assert_covers_once(part, build_panel(part, data.draw(trunks(part))))


def swapped(name: str) -> str:
    return name.replace("left", "\0").replace("right", "left").replace("\0", "right")


@settings(SOME, max_examples=6)
@given(data=st.data(), part=st.sampled_from(PARTS))
def test_the_mirror_image_lies_in_the_zone_of_the_other_side(data: st.DataObject, part: str) -> None:
    """On uneven trunks too: the zones are drawn on the template of the mirror itself."""
    panel = build_panel(part, data.draw(trunks(part)))
    zones = zones_of(part, panel)
    us = places(panel, 200)
    assert [swapped(n) for n in zone_at(zones, us)] == zone_at(zones, mirror_panel_points(panel, us))


def test_left_is_the_clients_left() -> None:
    """The client's left lies to the right of somebody who looks at the chest, and to the left of one behind."""
    chest, back = (zones_of(p, typical(p)) for p in PARTS)
    assert zone_at(chest, np.array([[0.1, 170.0], [-0.1, 170.0]])) == ["chest_upper_left", "chest_upper_right"]
    assert zone_at(back, np.array([[0.1, 210.0], [-0.1, 210.0]])) == ["shoulder_blade_right", "shoulder_blade_left"]


@pytest.mark.parametrize("name", BODIES)
def test_landmarks_lie_in_the_zones_that_bear_their_name(name: str) -> None:
    part, measures = BODIES[name]
    panel = build_panel(part, measures)
    zones = zones_of(part, panel)
    for side in ("left", "right"):
        crease, point, armpit = (np.array([panel.landmarks[f"{n} {side}"]])
                                 for n in ("crease", "shoulder point", "side"))
        assert zone_at(zones, crease) == zone_at(zones, armpit) == [f"armpit_edge_{side}"]
        end = point * (0.97, 1.0) - (0.0, 4.0)
        assert zone_at(zones, end) == [f"collarbone_{side}" if part == "chest" else f"shoulder_top_{side}"]
    middle = np.array([[0.0, panel.landmarks["armpit level"][1] + 5.0]])
    assert zone_at(zones, middle) == ["breastbone" if part == "chest" else "spine"]
    top = np.array([[0.0, panel.midline_top - 2.0]])
    assert zone_at(zones, top) == ["breastbone" if part == "chest" else "nape_edge"]


def test_bone_is_where_it_lies_under_the_skin() -> None:
    boned = {z.name for part in PARTS for z in PANEL_ZONES[part] if z.over_bone}
    assert boned == {"breastbone", "collarbone", "side", "ribs", "spine", "shoulder_blade", "flank"}
    chest = zones_of("chest", typical("chest"))
    assert chest.over_bone(np.array([[0.0, 200.0], [0.1, 170.0], [0.2, 60.0]])).tolist() == [True, False, True]


def test_scales_keep_the_order_of_common_practice() -> None:
    """Ribs and armpits high, the front and back of the shoulder low (common practice, no published source)."""
    for part in PARTS:
        zones = zones_of(part, typical(part)).zones
        assert all(0 <= getattr(z, n) <= 10 for z in zones for n in SCALES)
        assert all("no published source" in z.source for z in zones)
        pain = {z.name.removesuffix("_left"): z.pain for z in zones}
        ribs, shoulder = ("ribs", "shoulder_front") if part == "chest" else ("flank", "shoulder_back")
        assert min(pain[ribs], pain["armpit_edge"]) > 2 * pain[shoulder]


def test_names_labels_and_their_places() -> None:
    for part in PARTS:
        zones = zones_of(part, typical(part))
        assert isinstance(zones, PanelZones)
        assert len({z.name for z in zones.zones}) == len({z.label for z in zones.zones}) == len(zones.zones)
        for i, z in enumerate(zones.zones):
            at = zones.label_at(i)
            assert at is not None and zone_at(zones, np.array([at])) == [z.name]


def test_what_a_short_trunk_does_not_reach_has_no_outline() -> None:
    chest = build_panel("chest", changed("chest", armpit_to_lower=0.4))
    zones = zones_of("chest", chest)
    assert isinstance(zones, PanelZones)
    empty = [z.name for i, z in enumerate(zones.zones) if not zones.rings(i)]
    assert "belly_top" in empty and zones.label_at(zones.named("belly_top")) is None
    assert zones.area_mm2(zones.named("belly_top")) == 0.0


def test_a_part_of_a_chest_has_the_zones_of_the_whole() -> None:
    chest = typical("chest")
    kept = keep_to(chest, shapely.box(60.0, 40.0, 400.0, 400.0))
    us = places(kept, 200)
    assert zone_at(zones_of("chest", kept), us) == zone_at(zones_of("chest", chest), us)


def test_a_clients_own_figures_of_one_side() -> None:
    chest = typical("chest")
    own = zones_of("chest", chest, {"ribs_left": {"pain": 4, "visibility": 9.5}})
    left, right = (own.zones[own.named(f"ribs_{s}")] for s in ("left", "right"))
    assert (left.pain, left.movement, left.edited) == (4.0, 3, ("pain", "visibility"))
    assert (right.pain, right.edited) == (8, ())
    with pytest.raises(ZoneError, match="no zone of the chest"):
        zones_of("chest", chest, {"ditch": {"pain": 4}})
    with pytest.raises(ZoneError, match="runs from 0 to 10"):
        zones_of("chest", chest, {"ribs_left": {"pain": 40}})
