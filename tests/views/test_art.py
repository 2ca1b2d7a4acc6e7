"""Art in the round: what is seen of a piece, how the picture of the skin is laid out, what views show."""

from __future__ import annotations

import io

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from composer.art.drawing import Drawing, Layer
from composer.body.fields import TYPICAL_MM
from composer.body.flex import posed_limb
from composer.body.measures import build_limb
from composer.filler.seen import visible_laid
from composer.plan.model import Piece, Settings
from composer.plan.scene import Scene, lay
from composer.views.camera import EIGHT, NAMES, view_u
from composer.views.seen import best_view, edge_u, visible, visible_share
from composer.views.surface import Surface
from composer.views.turned import turned
from composer.views.unwrap import layout, unwrapped
from composer.views.worn import dense, worn
from web.paint.texture import Texture, page_of

LIMB = build_limb("left_arm", TYPICAL_MM)
SURFACE = Surface(LIMB, "left_arm")
LOOKS = Settings()


def square(mm: float, u: float, s: float, name: str = "p", depth: int = 0, state: str = "planned"):  # type: ignore[no-untyped-def]
    h = mm / 2
    ring = np.array([(-h, -h), (h, -h), (h, h), (-h, h)])
    return lay(LIMB, Piece(name, "left_arm", "a", name, u, s, depth=depth, state=state),
               Drawing((ring,), (Layer("black", (ring,)),)))


def test_a_small_piece_is_seen_whole_from_its_side_and_not_at_all_from_the_other() -> None:
    piece = square(30, 0.25, 300)
    best = best_view(LIMB, "left_arm", piece)
    assert (best.name, best.u, best.share) == ("outer", 0.25, pytest.approx(1.0))
    assert best.shares["inner"] == 0.0
    assert best.shares["front"] == pytest.approx(0.5, abs=0.005) == best.shares["back"]


@given(u=st.floats(-1.5, 1.5), s=st.floats(60, 420), mm=st.floats(10, 110), view=st.floats(-0.5, 0.5))
@settings(max_examples=60, deadline=None)
def test_opposite_standpoints_share_out_the_whole_piece(u: float, s: float, mm: float, view: float) -> None:
    piece = square(mm, u, s)
    assert visible_share(LIMB, piece, view) + visible_share(LIMB, piece, view + 0.5) == pytest.approx(1.0, abs=1e-3)


@given(view=st.floats(-0.5, 0.5), s=st.floats(0, 490))
@settings(max_examples=80, deadline=None)
def test_the_edge_of_what_is_seen_is_where_the_skin_turns_away(view: float, s: float) -> None:
    left = float(edge_u(LIMB, np.array([s]), view)[0])
    at = np.array([left + 0.004, left + 0.496, left - 0.004, left + 0.504])
    facing = visible(SURFACE, np.column_stack([at, np.full(4, s)]), view)
    # the skin's taper does not tell on level sight; only its level section does
    assert facing.tolist() == [True, True, False, False]


def test_ties_between_views_go_to_the_one_that_looks_most_squarely() -> None:
    assert best_view(LIMB, "left_arm", square(20, 0.1, 300)).name == "front"
    assert best_view(LIMB, "left_arm", square(20, 0.15, 300)).name == "outer"
    assert best_view(LIMB, "left_arm", square(20, 0.13, 300), EIGHT).name == "front outer"


def test_long_edges_are_broken_up_without_moving_the_ring() -> None:
    ring = np.array([(0.0, 0.0), (40.0, 0.0), (40.0, 1.0), (0.0, 30.0)])
    fine = dense(ring)
    assert np.hypot(*(np.roll(fine, -1, axis=0) - fine).T).max() <= 5.0
    assert shapely.Polygon(fine).symmetric_difference(shapely.Polygon(ring)).area < 1e-9
    small = ring / 20
    assert dense(small) is small


def scene(*laid):  # type: ignore[no-untyped-def]
    return Scene(LIMB, -0.5, laid)


def picture(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(int)


def texture(*laid):  # type: ignore[no-untyped-def]
    lay_ = layout(LIMB)
    return Texture(lay_, LOOKS.skin, page_of(lay_, unwrapped(lay_, worn(scene(*laid), LOOKS)), LOOKS))


def test_pixels_stand_where_the_skin_says() -> None:
    """A 20 mm square: its ink in the picture of the skin covers 400 mm2 of skin, about its anchor."""
    piece = square(20, 0.2, 300)
    t = texture(piece)
    ink = picture(t.base()).sum(axis=2) < 300
    rows, columns = np.nonzero(ink)
    s = LIMB.s_max - (rows + 0.5) / 2048 * (LIMB.s_max - LIMB.s_min)
    u = -0.5 + (columns + 0.5) / 2048
    assert (u.mean(), s.mean()) == (pytest.approx(0.2, abs=0.0006), pytest.approx(300, abs=0.3))
    one = LIMB.girth(s) / 2048 * (LIMB.s_max - LIMB.s_min) / 2048
    assert one.sum() == pytest.approx(400, rel=0.02)


def test_a_piece_over_the_cut_is_whole_and_tiles_meet() -> None:
    piece = square(40, 0.5, 300)
    t = texture(piece)
    base = picture(t.base()).sum(axis=2) < 300
    assert base[:, 0].sum() > 100 and abs(int(base[:, 0].sum()) - int(base[:, -1].sum())) <= 3
    lay_ = t.layout
    g, px = lay_.gutter_px, lay_.tile_px
    row = int((300 - LIMB.s_min) / (LIMB.s_max - LIMB.s_min) * lay_.rows)
    left, right = picture(t.tile(0, row)), picture(t.tile(lay_.columns - 1, row))
    # what one tile has in its gutter the other has at its far edge
    assert np.abs(left[:, :g] - right[:, px:px + g]).max() <= 3
    assert (left[:, :g].sum(axis=2) < 300).any()
    a, b = picture(t.tile(1, row)), picture(t.tile(1, row - 1))
    assert np.abs(a[px:] - b[:2 * g][: len(a[px:])]).max() <= 3


def test_a_line_of_three_tenths_is_three_pixels_of_ink_in_a_tile() -> None:
    bar = np.array([(-10.0, -0.15), (10.0, -0.15), (10.0, 0.15), (-10.0, 0.15)])
    laid = lay(LIMB, Piece("b", "left_arm", "a", "Bar", 0.03, 300.0), Drawing((bar,), (Layer("line", (bar,)),)))
    t = texture(laid)
    assert t.layout.least_px_mm >= 9.0
    row = int((300 - LIMB.s_min) / (LIMB.s_max - LIMB.s_min) * t.layout.rows)
    column = int(0.53 * t.layout.columns)
    grey = picture(t.tile(column, row)).sum(axis=2) / 3
    skin, ink = grey.max(), grey.min()
    assert ink < 40 and skin - ink > 150
    x = np.argmin(grey.min(axis=0))
    dark = (skin - grey[:, x]) / (skin - ink)
    assert dark.sum() / (t.layout.rows * t.layout.tile_px / (LIMB.s_max - LIMB.s_min)) == pytest.approx(0.3, abs=0.04)


def test_names_change_with_the_picture_and_only_then() -> None:
    a, b = texture(square(20, 0.2, 300)), texture(square(20, 0.2, 300))
    assert a.name == b.name and a.base() == b.base()
    assert texture(square(20, 0.2, 301)).name != a.name
    assert texture(square(20, 0.2, 300, state="healed")).name != a.name
    with pytest.raises(ValueError, match="there is none at 99, 0"):
        a.tile(99, 0)


def test_painting_back_to_front_shows_what_clipping_leaves() -> None:
    """The picture hides behind a piece and its skin break just what `composer.filler.clip` cuts away."""
    back, front = square(60, 0.0, 300, "a"), square(30, 0.06, 312, "b", depth=2)
    left = visible_laid(scene(back, front), LOOKS)
    whole = sum(np.abs(shapely.Polygon(r).area) for r in back.flat.silhouette)
    cut = shapely.area(left["a"].ink("black")) / whole
    t = texture(back, front)
    pic = picture(t.base()).sum(axis=2) < 300
    length = LIMB.s_max - LIMB.s_min
    one = LIMB.girth(LIMB.s_max - (np.nonzero(pic)[0] + 0.5) / 2048 * length) / 2048 * length / 2048
    assert one.sum() == pytest.approx(cut * 3600 + 900, rel=0.01)
    assert cut < 0.9


def test_a_view_folds_what_is_not_seen_onto_the_edge() -> None:
    piece = square(60, 0.25, 300)
    art = worn(scene(piece), LOOKS)
    areas = {}
    for name in NAMES:
        view = turned(SURFACE, art, view_u("left_arm", name))
        outline = shapely.Polygon(view.outline)
        ink = [r for p in view.pieces for r in p.layers[0][1]]
        areas[name] = sum(shapely.Polygon(r).buffer(0).area for r in ink)
        assert outline.is_valid
        for r in ink:
            assert shapely.Polygon(r).buffer(0).difference(outline.buffer(0.2)).area < 0.5
    assert areas["inner"] < 1.0 < areas["front"] == pytest.approx(areas["back"], rel=0.05)
    assert 0.8 * 3600 < areas["outer"] < 3600


def test_the_mirror_turns_a_view_over() -> None:
    art = worn(scene(square(40, 0.1, 200)), LOOKS)
    plain, over = (turned(SURFACE, art, 0.0, m) for m in (False, True))
    assert over.pieces[0].ground[0] == pytest.approx(plain.pieces[0].ground[0] * (-1, 1))


def test_a_bent_limb_is_not_drawn_flat() -> None:
    with pytest.raises(ValueError, match="look at it on the turntable"):
        turned(Surface(LIMB, "left_arm", posed_limb(LIMB, "bent", "left_arm")), (), 0.0)
