"""A picture as a whole drawing, at real size, and what was asked for kept with it."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
import shapely
from estuary_pictures import gull, lamp, on_mud, on_paper
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.art.errors import ArtError
from composer.art.linework import LineWish, Region
from composer.art.picture_motif import draw_picture, find_silhouette, usual_wish
from composer.art.picture_wish import METHODS, PictureWish, wish_from_json, wish_to_json
from composer.art.raster_read import Picture
from composer.art.shelf import check_side, own_side
from composer.art.tones import ToneWish


@pytest.fixture(scope="module")
def photo() -> Picture:
    rgb, cover = gull(640, 480)
    return Picture(on_paper(rgb, cover), None, None, "JPEG", ("a note of the file",))


def long_mm(drawn) -> float:
    return float(np.ptp(np.concatenate(drawn.art.drawing.silhouette), axis=0).max())


def test_whole_and_quick_agree(photo: Picture) -> None:
    wish = usual_wish(photo)
    assert wish.method == "background" and not wish.lines.inked
    quick, whole = draw_picture(photo, wish, quick=True), draw_picture(photo, wish)
    a, b = quick.art.drawing.outline, whole.art.drawing.outline
    assert a.intersection(b).area / a.union(b).area > 0.97
    for step in ("black", "dark", "mid", "light", "open"):
        assert quick.art.tones[step] == pytest.approx(whole.art.tones[step], abs=0.03)
    assert long_mm(whole) == pytest.approx(100, abs=0.2)
    assert sum(whole.art.tones.values()) == pytest.approx(1, abs=0.005)
    assert whole.art.notes[0] == "a note of the file" and any("no real size" in n for n in whole.art.notes)


def test_the_drawing_stands_upright_and_is_no_mirror(photo: Picture) -> None:
    """The beak is at the right, the raised wing at the top; y goes up."""
    drawing = draw_picture(photo, usual_wish(photo)).art.drawing
    x0, y0, x1, y1 = drawing.outline.bounds
    assert drawing.outline.intersection(shapely.box(x1 - 8, y0, x1, y1)).centroid.y < 0
    assert drawing.outline.intersection(shapely.box(x0, y1 - 8, x1, y1)).centroid.x > 0
    assert [la.role for la in drawing.layers] == ["light", "mid", "dark", "black", "line"]


def test_real_size(photo: Picture) -> None:
    wish = usual_wish(photo)
    x0, y0, x1, y1 = find_silhouette(photo, wish).area.bounds
    px = max(x1 - x0, y1 - y0)
    scanned = Picture(photo.rgb, None, 254.0, "PNG")
    assert long_mm(draw_picture(scanned, wish)) == pytest.approx(px / 10, rel=2e-3)
    ruled = replace(wish, scale=(100.0, 50.0, 300.0, 50.0, 40.0))
    assert long_mm(draw_picture(scanned, ruled)) == pytest.approx(px * 0.2, rel=2e-3), "a drawn scale goes before dpi"
    assert long_mm(draw_picture(scanned, replace(ruled, long_mm=77.0))) == pytest.approx(77, abs=0.2)
    with pytest.raises(ArtError, match="mm long"):
        draw_picture(photo, replace(wish, scale=(100.0, 50.0, 120.0, 50.0, 900.0)))


def test_only_what_was_asked_for(photo: Picture) -> None:
    wish = usual_wish(photo)
    bare = draw_picture(photo, replace(wish, lines=None, tones=None, outline_mm=0.0)).art
    assert bare.drawing.layers == () and bare.tones["open"] == 1
    lined = draw_picture(photo, replace(wish, lines=None, tones=None, outline_mm=1.0))
    assert [la.role for la in lined.art.drawing.layers] == ["line"]
    assert lined.line_mm == pytest.approx(lined.found.area.length * lined.mm_a_px)


def test_the_usual_way_in() -> None:
    rgb, cover = lamp(360, 480)
    alpha = (cover * 255).astype(np.uint8)
    assert usual_wish(Picture(rgb, alpha, None, "PNG")).method == "alpha"
    assert usual_wish(Picture(on_mud(rgb, cover), None, None, "JPEG")).method == "frame"


def test_a_side_file_comes_of_it(photo: Picture) -> None:
    side = check_side(own_side(draw_picture(photo, usual_wish(photo)).art, "Gull"))
    assert side["tones"]["black"] > 0.05


def wish(photo: Picture) -> PictureWish:
    return PictureWish(
        "lasso", 0.3, True, np.array([(60.0, 40.0), (600, 40), (600, 440), (60, 440)]),
        ((np.array([(320.0, 240.0), (340, 250)]), True),), True, (0.0, 0.0, 100.0, 0.0, 25.0), 90.0,
        LineWish(0.7, 0.2, 0.1, False), (Region(np.array([(300.0, 200.0), (400, 200), (400, 300)]), "more"),), 0.9,
        0.25,
        ToneWish(0.4, 0.2, 0.9, ("black", "mid")))


def test_the_wish_is_kept_as_it_was(photo: Picture) -> None:
    own = wish(photo)
    text = json.dumps(wish_to_json(own))
    again = wish_from_json(json.loads(text))
    assert json.dumps(wish_to_json(again)) == text
    assert draw_picture(photo, own).art.drawing.digest == draw_picture(photo, again).art.drawing.digest
    assert wish_to_json(wish_from_json({})) == wish_to_json(PictureWish())


@pytest.mark.parametrize(("change", "word"), [
    ({"method": "magic"}, "choose alpha"), ({"long_mm": 9000}, "4 to 1200"),
    ({"regions": [[[0, 0], "fluffy"]]}, "fluffy"),
    ({"lasso": [0.0] * 9999}, "4000 points"), ({"lasso": [1.0, float("nan")]}, "far outside"),
    ({"scale": [1, 2]}, "load the page"), ({"lines": 7}, "load the page"), ({"least_mm": -1}, "0 to 3"),
    ({"marks": [[[0, 0], True]] * 41}, "40 marks")])
def test_wishes_that_can_not_be(change: dict, word: str) -> None:
    with pytest.raises(ArtError, match=word):
        wish_from_json(change)


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(st.sampled_from(["method", "tolerance", "holes", "lasso", "marks", "scale", "lines", "tones",
                                        "regions", "long_mm", "outline_mm", "fit"]),
                       st.recursive(st.none() | st.booleans() | st.floats() | st.text(max_size=5)
                                    | st.sampled_from(METHODS), lambda x: st.lists(x, max_size=4)
                                    | st.dictionaries(st.text(max_size=5), x, max_size=3), max_leaves=8)))
def test_whatever_is_sent_gives_a_wish_or_a_sentence(data: dict) -> None:
    try:
        made = wish_from_json(data)
    except ArtError as err:
        assert str(err).endswith(".")
    else:
        json.dumps(wish_to_json(made), allow_nan=False)
