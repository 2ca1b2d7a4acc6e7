"""Names of colours against the plain words of CSS Color 4."""

from __future__ import annotations

import json

import numpy as np
import pytest
import shapely
from coloraide import Color
from estuary_pictures import gull, on_paper

from composer.art.colour_notes import COLOURS, noted, noted_areas
from composer.art.colours import colour_areas, colour_name, colours_said, named_colours
from composer.art.lightness import lab
from composer.art.picture_motif import draw_picture, usual_wish
from composer.art.raster_read import Picture
from composer.art.silhouette import by_background

CSS = {"red": "red", "crimson": "red", "firebrick": "red", "orange": "orange", "darkorange": "orange",
       "yellow": "yellow", "gold": "yellow", "green": "green", "limegreen": "green", "forestgreen": "green",
       "olive": "olive",
       "teal": "blue-green", "darkturquoise": "blue-green", "blue": "blue", "royalblue": "blue", "dodgerblue": "blue",
       "navy": "blue", "purple": "purple", "darkviolet": "purple", "hotpink": "pink", "deeppink": "pink",
       "saddlebrown": "brown", "sienna": "brown", "grey": None, "black": None, "white": None, "gainsboro": None,
       "slategray": None}


@pytest.mark.parametrize(("word", "name"), CSS.items())
def test_plain_words(word: str, name: str | None) -> None:
    rgb = np.round(np.array(Color(word).convert("srgb").coords()) * 255).astype(np.uint8)
    assert colour_name(*map(float, lab(rgb))) == name


def test_shares_of_a_subject() -> None:
    rgb, cover = gull(400, 300)
    rgb = rgb.copy()
    rgb[(cover > 0.99) & (np.arange(400)[None, :] < 150)] = (200, 40, 40)
    picture = Picture(on_paper(rgb, cover, 0.0, 0.0), None, None, "PNG")
    area = by_background(picture).area
    red = area.intersection(shapely.box(0, 0, 150, 300)).area / area.area
    shares = named_colours(picture, area)
    assert shares["red"] == pytest.approx(red, abs=0.03) and next(iter(shares)) == "red"
    assert "orange" in colours_said(shares) or "brown" in colours_said(shares), "the beak"
    assert colours_said({}) is None


def test_areas_of_colour_are_where_the_colour_lies_and_come_along_in_the_drawings_own_mm() -> None:
    rgb, cover = gull(600, 450)
    rgb = rgb.copy()
    rgb[(cover > 0.99) & (np.arange(600)[None, :] < 210)] = (200, 40, 40)
    picture = Picture(on_paper(rgb, cover, 0.0, 0.0), None, None, "PNG")
    area = by_background(picture).area
    red = area.intersection(shapely.box(0, 0, 210, 450))
    found = colour_areas(picture, area)["red"]
    assert found.symmetric_difference(red).area < 0.06 * red.area and area.buffer(0.01).covers(found)
    drawn = draw_picture(picture, usual_wish(picture))
    (x0, _, x1, _), mm = area.bounds, drawn.mm_a_px
    there = shapely.union_all([shapely.Polygon(r) for r in noted_areas(drawn.art.drawing.notes)["red"]])
    assert there.area == pytest.approx(found.area * mm * mm, rel=0.02)
    assert drawn.art.drawing.outline.buffer(0.3).covers(there)
    assert there.bounds[2] == pytest.approx((210 - (x0 + x1) / 2) * mm, abs=1.0)
    assert draw_picture(picture, usual_wish(picture), quick=True).art.drawing.notes == {}


def test_every_colour_has_a_name_that_notes_may_hold() -> None:
    rng = np.random.default_rng(5)
    found = {colour_name(*v) for v in rng.uniform((0, -110, -110), (100, 110, 110), (4000, 3))}
    assert found - {None} == set(COLOURS)


def test_notes_keep_areas_of_colour_and_damaged_ones_are_passed_over() -> None:
    ring = np.array([[0.0, 0.0], [9.0, 0.0], [0.0, 9.0]])
    back = noted_areas(json.loads(json.dumps(noted({"red": (ring,), "olive": (ring, ring + 20)}))))
    assert {k: len(v) for k, v in back.items()} == {"red": 1, "olive": 2} and np.array_equal(back["red"][0], ring)
    assert noted({}) == {} and noted_areas({}) == {}
    for bad in (7, ["red"], {"red": 7}, {"red": [[1, 2]]}, {"red": [[[1, 2], [3]]]}, {"red": [[["a", 0]] * 3]},
                {"red": [[[0, 0], [1e9, 0], [0, 1]]]}, {"red": [[[0, 0], [float("nan"), 0], [0, 1]]]},
                {"<b>": [ring.tolist()]}):
        assert noted_areas({"colour_areas": bad}) == {}, bad
