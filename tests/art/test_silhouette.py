"""Silhouettes against the outline that the picture was painted from."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from estuary_pictures import gull, lamp, on_mud, on_paper, outline_of
from PIL import Image, ImageDraw

from composer.art.errors import ArtError
from composer.art.pixels import area_of, painted, polygons, reduced, smooth_ring
from composer.art.raster_read import Picture
from composer.art.real_size import by_dpi, by_line, settle
from composer.art.silhouette import by_alpha, by_background, by_frame, by_lasso


def picture(rgb: np.ndarray, cover: np.ndarray | None = None) -> Picture:
    return Picture(rgb, None if cover is None else (cover * 255).astype(np.uint8), None, "PNG")


def alike(area: shapely.Geometry, true: shapely.Geometry) -> float:
    """Shared area over joined area (Jaccard 1901)."""
    return area.intersection(true).area / area.union(true).area


def holes(area: shapely.Geometry) -> int:
    return sum(len(p.interiors) for p in polygons(area))


SIZES = {"gull": (640, 480), "lamp": (480, 640)}
PAINTED = {"gull": gull, "lamp": lamp}


@pytest.mark.parametrize("what", ["gull", "lamp"])
def test_alpha_follows_the_edge_between_pixels(what: str) -> None:
    rgb, cover = PAINTED[what](*SIZES[what])
    true = outline_of(what, *SIZES[what])
    found = by_alpha(picture(rgb, cover)).area
    assert alike(found, true) > 0.99 and holes(found) == holes(true)
    edge = shapely.points(np.asarray(polygons(found)[0].exterior.coords))
    assert np.median(shapely.distance(edge, true.boundary)) < 0.2, "pixels"


@pytest.mark.parametrize("what", ["gull", "lamp"])
@pytest.mark.parametrize("shade", [0.0, 0.4])
def test_plain_paper_even_under_a_lamp(what: str, shade: float) -> None:
    rgb, cover = PAINTED[what](*SIZES[what])
    found = by_background(picture(on_paper(rgb, cover, shade)))
    true = outline_of(what, *SIZES[what])
    assert alike(found.area, true) > 0.985 and holes(found.area) == holes(true)
    assert found.area.is_valid and found.notes == ()


def test_a_line_drawing_is_filled_and_a_form_is_not() -> None:
    im = Image.new("RGB", (500, 500), (250, 248, 240))
    draw = ImageDraw.Draw(im)
    draw.ellipse((100, 100, 400, 400), outline=(20, 20, 30), width=6)
    draw.line((102, 250, 398, 250), fill=(20, 20, 30), width=4)
    rgb = np.asarray(im)
    filled, opened = by_background(picture(rgb)), by_background(picture(rgb), holes=True)
    assert holes(filled.area) == 0 and filled.area.area == pytest.approx(np.pi * 150**2, rel=0.02)
    assert holes(opened.area) == 2 and opened.area.area < 0.3 * filled.area.area


def test_tolerance_says_how_much_counts_as_paper() -> None:
    im = Image.new("RGB", (400, 400), (250, 250, 250))
    ImageDraw.Draw(im).ellipse((80, 80, 320, 320), fill=(236, 236, 236))
    faint = picture(np.asarray(im))
    assert by_background(faint, 0.2).area.area == pytest.approx(np.pi * 120**2, rel=0.03)
    with pytest.raises(ArtError, match="Nothing stands out"):
        by_background(faint, 1.0)


def test_no_plain_background_is_said() -> None:
    rgb, cover = gull(*SIZES["gull"])
    noise = np.random.default_rng(2).integers(0, 255, rgb.shape).astype(np.uint8)
    with pytest.raises(ArtError, match="line round the subject"):
        by_background(picture(noise))
    assert "not quite plain" in by_background(picture(on_mud(rgb, cover))).notes[0]
    with pytest.raises(ArtError, match="see-through"):
        by_alpha(picture(rgb))


def test_a_subject_that_runs_off_the_edge_is_said() -> None:
    rgb = np.full((300, 400, 3), 245, np.uint8)
    rgb[120:220, 200:] = (70, 60, 50)
    found = by_background(picture(rgb))
    assert found.area.area == pytest.approx(100 * 200, rel=0.02) and "runs off" in found.notes[0]


def rough(what: str, out: float) -> np.ndarray:
    """A hand's line round it, about `out` of the picture off, with corners cut."""
    w, h = SIZES[what]
    ring = outline_of(what, w, h).buffer(out * min(w, h)).simplify(0.02 * min(w, h))
    return np.asarray(ring.exterior.coords)[:-1]


@pytest.mark.parametrize(("what", "out", "least"), [("gull", 0.03, 0.97), ("gull", 0.07, 0.96), ("lamp", 0.03, 0.90)])
def test_a_lasso_is_drawn_in_to_the_edge(what: str, out: float, least: float) -> None:
    rgb, cover = PAINTED[what](*SIZES[what])
    line = rough(what, out)
    true = shapely.Polygon(outline_of(what, *SIZES[what]).exterior)
    found = by_lasso(picture(on_mud(rgb, cover)), line)
    assert alike(found.area, true) > least > alike(shapely.Polygon(line), true) + 0.04
    assert holes(found.area) == 0


def test_marks_put_the_lasso_right() -> None:
    """The lamp's shaded side is as brown as the mud; one stroke along it says that it belongs."""
    rgb, cover = lamp(*SIZES["lamp"])
    true = shapely.Polygon(outline_of("lamp", *SIZES["lamp"]).exterior)
    photo, line = picture(on_mud(rgb, cover)), rough("lamp", 0.03)
    stroke = np.array([(324.0, 330.0), (326.0, 400.0), (316.0, 440.0)])
    plain, marked = by_lasso(photo, line), by_lasso(photo, line, marks=[(stroke, True)])
    assert shapely.LineString(stroke).within(marked.area)
    assert alike(marked.area, true) > alike(plain.area, true)
    ring = np.array([(232.0, 142.0), (248.0, 142.0), (248.0, 150.0), (232.0, 150.0)])
    opened = by_lasso(photo, line, holes=True, marks=[(ring, False)])
    assert not opened.area.contains(shapely.Point(240, 146))


def test_lassos_that_can_not_be() -> None:
    photo = picture(gull(320, 240)[0])
    for line, word in (([(1, 1), (9, 9)], "too short"), ([(1, 1), (3, 1), (3, 3)], "hardly any"),
                       ([(np.nan, 0), (1, 1), (2, 5)], "too short"), ([(900, 900), (990, 900), (990, 990)], "hardly")):
        with pytest.raises(ArtError, match=word):
            by_lasso(photo, np.array(line, float))
    square = shapely.box(40, 40, 160, 160)
    grey = by_lasso(picture(np.full((200, 200, 3), 128, np.uint8)), np.asarray(square.exterior.coords))
    assert grey.area.equals(square) and "as it was drawn" in grey.notes[0]
    assert by_lasso(photo, np.asarray(square.exterior.coords), fit=False).area.equals(square)


def test_frame_and_size() -> None:
    assert by_frame(picture(gull(320, 240)[0])).area.bounds == (0, 0, 320, 240)
    assert by_dpi(254) == pytest.approx(0.1)
    assert by_line(0, 0, 300, 400, 50) == pytest.approx(0.1)
    assert settle(1000, 0.1) == (0.1, None)
    mm, said = settle(1000, None)
    assert mm * 1000 == 100 and "no real size" in said
    assert "no piece is" in settle(1000, 25.4)[1]
    for bad in ((0, 0, 3, 4, 50), (0, 0, 300, 400, 0), (0, 0, 300, 400, float("nan"))):
        with pytest.raises(ArtError):
            by_line(*bad)


def test_contours_lie_where_the_field_crosses() -> None:
    """A disc of known radius and place, covered as far as its distance says: area within 0.1 %, middle to 0.01 px."""
    y, x = np.mgrid[:110, :120] + 0.5
    area = area_of(np.clip(40.5 - np.hypot(x - 60.3, y - 55.8), 0, 1), 0.5, 1.0, tolerance=0.02, rounds=1)
    assert area.area == pytest.approx(np.pi * 1600, rel=1e-3)
    assert area.centroid.coords[0] == pytest.approx((60.3, 55.8), abs=0.01)
    assert area_of(np.ones((20, 30)), 0.5).area == pytest.approx(600, rel=0.01), "closed along the picture's edge"


def test_smoothing_does_not_shrink() -> None:
    turn = np.linspace(0, 2 * np.pi, 181)[:-1]
    ring = np.column_stack([50 * np.cos(turn), 50 * np.sin(turn)]) + np.random.default_rng(1).normal(0, 0.2, (180, 2))
    before, after = shapely.Polygon(ring), shapely.Polygon(smooth_ring(ring, 4))
    assert after.area == pytest.approx(before.area, rel=2e-3) and after.length < before.length


def test_paint_and_reduce() -> None:
    area = shapely.box(10, 20, 50, 60).difference(shapely.box(25, 35, 35, 45))
    assert painted(area, (100, 100)).sum() == pytest.approx(1500, abs=130)
    small, scale = reduced(np.arange(12000, dtype=np.uint8).reshape(100, 120), 3000)
    assert small.shape == (50, 60) and scale == pytest.approx(2)
