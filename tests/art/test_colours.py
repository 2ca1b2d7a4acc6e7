"""Names of colours, in pictures and SVGs, against the plain words of CSS Color 4."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
import shapely
from coloraide import Color
from estuary_pictures import gull, on_paper
from shapely.geometry.base import BaseGeometry

from composer.art.colour_names import colour_name, colours_said
from composer.art.colour_notes import COLOURS, noted, noted_areas
from composer.art.colours import colour_areas, named_colours
from composer.art.drawing import Drawing, rings_to_geometry
from composer.art.lightness import lab
from composer.art.picture_motif import draw_picture, usual_wish
from composer.art.raster_read import Picture
from composer.art.silhouette import by_background
from composer.art.svg_read import ReadArt, read_svg

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


HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'


def of_svg(body: str) -> tuple[ReadArt, dict[str, BaseGeometry]]:
    """A buoy's SVG, and its areas of colour."""
    art = read_svg(f"{HEAD}{body}</svg>".encode())
    return art, {n: rings_to_geometry(r) for n, r in noted_areas(art.drawing.notes).items()}


@pytest.mark.parametrize(("word", "name"), CSS.items())
def test_paint_of_an_svg_has_the_name_that_a_picture_gives_it(word: str, name: str | None) -> None:
    art, areas = of_svg(f'<rect width="99" height="80"/><rect x="20" y="20" width="40" height="40" fill="{word}"/>')
    assert list(areas) == list(art.colours) == [name] * (name is not None)
    if name:
        assert areas[name].area == pytest.approx(1600, rel=0.001)
        assert areas[name].bounds == pytest.approx((-29.5, -20, 10.5, 20), abs=0.05), "y up, about the middle"
        assert art.colours[name] == pytest.approx(1600 / (99 * 80), abs=0.001)
        assert any(f"Colour in it: {name} 20%" in n for n in art.notes)


def test_colours_of_an_svg_meet_where_they_are_seen_and_leave_the_tones_as_they_were() -> None:
    """A blue disc before a red block, black lines through both, a stroke wide enough to pack and one that is not."""
    body = ('<rect x="5" y="5" width="90" height="70" fill="{0}"/><circle cx="50" cy="40" r="20" fill="{1}"/>'
            '<path d="M5 40H95M50 5V75" stroke="#000" stroke-width=".5"/>'
            '<path d="M15 10V70" stroke="{2}" stroke-width="8"/><path d="M85 10V70" stroke="{2}" stroke-width=".4"/>')
    art, areas = of_svg(body.format("#d02020", "#2060d0", "#108030"))
    disc = shapely.Point(0, 0).buffer(20)
    assert set(areas) == {"red", "blue", "green"}
    assert areas["blue"].symmetric_difference(disc).area < 0.02 * disc.area, "whole across the lines"
    assert areas["green"].area == pytest.approx(8 * 60, rel=0.03), "of the stroke that is wide enough"
    assert areas["red"].area == pytest.approx(90 * 70 - disc.area - 8 * 60, rel=0.02)
    assert areas["red"].intersection(areas["blue"]).area < 0.02 * disc.length, "they meet to 0.02 mm"
    grey, none = of_svg(body.format("#6a6a6a", "#646464", "#707070"))
    assert none == {} and grey.colours == {} and grey.drawing.notes == {}
    assert [la.role for la in art.drawing.layers] == ["mid", "dark", "line"]


def test_see_through_colour_of_an_svg_is_named_by_what_it_makes_unless_darker_ink_lies_below() -> None:
    _, areas = of_svg('<rect x="5" y="5" width="90" height="70" fill="#ffe000"/>'
                      '<rect x="5" y="5" width="40" height="70" fill="#0040ff" opacity=".85"/>'
                      '<rect x="55" y="5" width="40" height="70" fill="#fff" opacity=".6"/>')
    assert areas["yellow"].area == pytest.approx(50 * 70, rel=0.01), "white can't take ink off"
    assert areas["blue"].area == pytest.approx(40 * 70, rel=0.01)


def test_colour_too_narrow_to_be_outlined_is_said() -> None:
    art, areas = of_svg('<rect x="5" y="5" width="90" height="70" fill="#eee"/>'
                        '<path d="M15 10V70" stroke="#c01010" stroke-width=".5"/>')
    assert areas == {} and art.colours == {}
    assert any(n.startswith("Too narrow") and n.endswith("red.") for n in art.notes)


def test_the_same_form_in_another_colour_is_another_drawing() -> None:
    red, blue, grey = (of_svg(f'<rect x="5" y="5" width="60" height="60" fill="{c}"/>')[0].drawing
                       for c in ("#e03030", "#6060ff", "#777"))
    assert len({red.digest, blue.digest, grey.digest}) == 3
    assert red.form_digest == blue.form_digest == grey.digest
    assert replace(red).digest == red.digest == Drawing.from_json(json.loads(json.dumps(red.to_json()))).digest
