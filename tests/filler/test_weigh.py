"""What a whole background is weighed at, on a cylinder where everything can be reckoned by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import Point

from composer.art.drawing import Drawing, Layer
from composer.body.limb import Level, Limb
from composer.compose.gaps import survey
from composer.filler.weigh import BAND, Place, Seen, _void_cv, carried, figures, place_of, seen
from composer.plan.model import Piece, Recipe
from composer.plan.scene import Laid, Scene, lay

TUBE = Limb((Level("wrist", 0, 260), Level("deltoid", 400, 260)))


def drawing(*rings: np.ndarray) -> Drawing:
    return Drawing(tuple(np.asarray(r, float) for r in rings), (Layer("line", tuple(rings)),))


def box(w: float, h: float) -> Drawing:
    return drawing(np.array([(-w, -h), (w, -h), (w, h), (-w, h)]) / 2)


def disc(radius_mm: float) -> np.ndarray:
    a = np.linspace(0, 2 * np.pi, 120, endpoint=False)
    return radius_mm * np.column_stack([np.cos(a), np.sin(a)])


def put(name: str, art: Drawing, u: float, s_mm: float) -> Laid:
    return lay(TUBE, Piece(name, "left_arm", art.digest, name, u, s_mm), art)


PIECES = (put("quay", box(50, 40), 0.0, 150.0), put("buoy", box(40, 50), 0.0, 225.0))
SCENE = Scene(TUBE, -0.5, PIECES)
FOUND = survey(SCENE)
PLACE = place_of(SCENE, FOUND)


def bank(radius: float, u: float, s: float, kind: str = "cloud") -> Laid:
    laid = put("bank", drawing(disc(radius)), u, s)
    return replace(laid, piece=replace(laid.piece, recipe=Recipe(kind, 1)))


def along_x(xy: np.ndarray) -> np.ndarray:
    return np.zeros(len(xy))


def test_spots_stand_for_all_open_skin() -> None:
    open_ = sum(g.area_mm2 for g in FOUND.gaps)
    assert len(PLACE.us) * 16.0 == pytest.approx(open_, rel=0.03)


def test_distances_are_those_of_shapely_on_the_unrolled_tube() -> None:
    at = (0.25, 200.0)
    got = seen(PLACE, bank(30.0, *at), along_x)
    flat = np.column_stack([(((PLACE.us[:, 0] - at[0] + 0.5) % 1.0) - 0.5) * 260.0, PLACE.us[:, 1] - at[1]])
    want = shapely.distance(Point(0, 0).buffer(30.0, quad_segs=64), shapely.points(flat))
    near = want < 30.0
    assert near.sum() > 200 and np.abs(got.far[near] - want[near]).max() < 1.0
    assert (got.far[want <= 0] == 0).all()


def test_a_bank_over_the_seam_counts_on_both_sides_of_it() -> None:
    got = seen(PLACE, bank(30.0, 0.5, 180.0), along_x)
    inside = PLACE.us[got.far == 0][:, 0] % 1.0
    assert (inside < 0.5).any() and (inside > 0.5).any()
    turned = seen(PLACE, bank(30.0, -0.5, 180.0), along_x)
    assert np.abs(got.far - turned.far).max() < 1e-4


def test_more_background_reaches_more_and_nothing_reaches_nothing() -> None:
    one = [seen(PLACE, bank(30.0, 0.25, 200.0), along_x)]
    two = [*one, seen(PLACE, bank(30.0, 0.75, 200.0), along_x)]
    none, few, more = (figures(PLACE, c) for c in ([], one, two))
    assert none["reach"] == 0 and none["balance"] == 0 and 0 < few["reach"] < more["reach"]
    assert few["reach"] == pytest.approx(np.pi * 35**2 / 16 / len(PLACE.us), rel=0.06)
    assert more["balance"] > few["balance"] and none["total"] < few["total"] < more["total"]


def spots(xy: np.ndarray) -> Place:
    xyz = np.column_stack([xy, np.zeros(len(xy))])
    return Place(SCENE, xy, xyz, np.full(len(xy), 99.0), np.zeros(len(xy), int))


def test_equal_voids_have_no_variation_and_mixed_ones_what_numpy_says() -> None:
    x, y = np.meshgrid(np.arange(0, 300, 2.0), np.arange(0, 100, 2.0))
    xy = np.column_stack([x.ravel(), y.ravel()])
    hearts = np.array([[50.0, 50.0], [150.0, 50.0], [250.0, 50.0]])
    off = np.linalg.norm(xy[:, None] - hearts, axis=2)

    def left(radii: list[float]) -> np.ndarray:
        return np.maximum(np.array(radii) - off, 0.0).max(axis=1)

    assert _void_cv(spots(xy), left([20, 20, 20])) == pytest.approx(0.0, abs=1e-9)
    assert _void_cv(spots(xy), left([10, 20, 30])) == pytest.approx(np.std([10, 20, 30]) / 20.0, abs=1e-9)


def test_a_tie_is_carried_by_what_lies_on_its_way() -> None:
    tie = max((t for t in FOUND.ties if t.gaps), key=lambda t: t.clearance_mm)
    mid = (np.array(tie.from_port) + np.array(tie.to_port)) / 2
    over = seen(PLACE, bank(tie.clearance_mm / 2, *mid), along_x)
    away = seen(PLACE, bank(10.0, mid[0] + 0.5, mid[1]), along_x)
    assert carried(PLACE, over.far, tie) == 1.0 and carried(PLACE, away.far, tie) == 0.0
    assert figures(PLACE, [over], [tie])["musts"] == 1.0
    without, with_ = figures(PLACE, [away]), figures(PLACE, [away], [tie])
    assert with_["total"] == pytest.approx(without["total"] - 0.5, abs=2e-4)


def test_strokes_with_the_flow_weigh_one_and_across_it_nothing() -> None:
    bars = [np.array([(-20, y), (20, y), (20, y + 1), (-20, y + 1)]) for y in (-10.0, 0.0, 10.0)]
    laid = put("bars", drawing(*bars), 0.25, 200.0)
    assert seen(PLACE, laid, along_x).along == pytest.approx(1.0)
    assert seen(PLACE, laid, lambda xy: np.full(len(xy), np.pi / 2)).along == pytest.approx(0.0, abs=1e-9)


def test_two_kinds_are_more_varied_than_one_and_specks_are_clutter() -> None:
    def of(kind: str, lo: float, hi: float) -> Seen:
        share = np.linspace(0, 1, len(PLACE.us))
        far = np.where((share >= lo) & (share < hi), 0.0, 50.0).astype(np.float32)
        return Seen(far, kind, 0.3, 1.0, 1000.0)

    one = figures(PLACE, [of("cloud", 0, 1)])["variety"]
    two = figures(PLACE, [of("cloud", 0, 0.6), of("wind", 0.6, 1)])["variety"]
    specks = figures(PLACE, [of("cloud", 0, 0.6), of("wind", 0.6, 0.98), of("rays", 0.98, 1)])["variety"]
    assert one < specks < two == 1.0


def test_the_band_is_the_designs() -> None:
    assert BAND == (0.35, 0.55)
