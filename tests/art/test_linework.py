"""Line work: every control does what it says, and what it says holds of the strokes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from estuary_pictures import gull, lamp, on_paper
from PIL import Image, ImageDraw, ImageFilter

from composer.art.flow_lines import RHO, flow, line_field
from composer.art.linework import LineWish, Region, draw_lines, looks_inked, outline_ink
from composer.art.pixels import painted, polygons
from composer.art.raster_read import Picture
from composer.art.silhouette import by_background, by_frame


def picture(rgb: np.ndarray) -> Picture:
    return Picture(rgb, None, None, "JPEG")


@pytest.fixture(scope="module")
def bird() -> Picture:
    """With ripples of fine feathers over all of it, so that there is something fine to leave out."""
    rgb, cover = gull(960, 720)
    y, x = np.mgrid[:720, :960]
    fine = 10 * np.cos((x + 0.4 * y) * 0.9) * cover
    return picture(on_paper(np.clip(rgb + fine[..., None], 0, 255).astype(np.uint8), cover))


def test_flow_runs_along_the_edge() -> None:
    y, x = np.mgrid[:80, :90].astype(np.float32)
    for turn in (0.0, 0.5, 1.2, 2.4):
        light = 1 / (1 + np.exp(-((x - 45) * np.cos(turn) + (y - 40) * np.sin(turn)) / 2))
        tx, ty = flow(light.astype(np.float32))
        across = abs(tx[40, 45] * np.cos(turn) + ty[40, 45] * np.sin(turn))
        assert across < 0.02 and tx[40, 45] ** 2 + ty[40, 45] ** 2 == pytest.approx(1, abs=1e-5)


def test_a_dark_line_answers_and_flat_skin_does_not() -> None:
    """The response to a line of known depth and width is the closed form of two Gaussians (error function)."""
    light = np.full((60, 80), 0.8, np.float32)
    assert np.abs(line_field(light, 1e-6)[10:-10, 10:-10] - 0.8 * (RHO - 1)).max() < 1e-4
    light[:, 39:42] = 0.4
    from scipy.special import erf
    sigma = 1.25
    share = [erf(1.5 / (s * np.sqrt(2))) for s in (sigma, 1.6 * sigma)]
    want = 0.4 * share[0] - 0.4 * RHO * share[1] + 0.8 * (RHO - 1)
    assert line_field(light, 0.001)[30, 40] == pytest.approx(want, rel=0.04)


def test_lines_come_whole_where_crumbs_would_be() -> None:
    """A faint line under noise: summed along the flow it stays in one piece where a plain filter breaks it up."""
    rng = np.random.default_rng(4)
    light = np.full((160, 220), 0.7, np.float32)
    y, x = np.mgrid[:160, :220]
    light -= 0.10 * (np.abs(y - 80 - 20 * np.sin(x / 30)) < 1.5)
    light += rng.normal(0, 0.04, light.shape).astype(np.float32)
    from scipy import ndimage
    plain = RHO * ndimage.gaussian_filter(light, 2.0) - ndimage.gaussian_filter(light, 1.25)
    flowing = line_field(light, 0.002)

    def longest(field: np.ndarray) -> float:
        level = np.sort(field.ravel())[-700]  # as much ink for both
        label, _ = ndimage.label(field > level, np.ones((3, 3)))
        return max(b[1].stop - b[1].start for b in ndimage.find_objects(label))

    assert longest(flowing) > 1.8 * longest(plain)


def test_fineness_darkness_and_cleanliness(bird: Picture) -> None:
    area = by_background(bird).area
    usual = LineWish(fineness=0.5, darkness=0.3, clean=0.3)

    def drawn(**change: float):
        return draw_lines(bird, area, replace(usual, **change))

    assert drawn(fineness=0.9).length > 1.3 * drawn(fineness=0.2).length
    assert drawn(darkness=0.05).length > drawn(darkness=0.4).length > drawn(darkness=0.9).length
    small = [min((p.area for p in polygons(drawn(fineness=0.8, darkness=0.1, clean=c).ink)), default=1e9)
             for c in (0.0, 1.0)]
    many = [len(polygons(drawn(fineness=0.8, darkness=0.1, clean=c).ink)) for c in (0.0, 1.0)]
    assert many[1] < 0.7 * many[0] and small[1] > small[0]


def test_strokes_are_valid_stay_inside_and_are_smooth(bird: Picture) -> None:
    area = by_background(bird).area
    ink = draw_lines(bird, area, LineWish(fineness=0.7)).ink
    assert ink.is_valid and ink.difference(area.buffer(0.01)).area < 1e-6
    for p in polygons(ink):
        ring = np.asarray(p.exterior.coords)
        if len(ring) > 30:
            way = np.diff(ring, axis=0)
            turn = np.abs(np.angle(np.exp(1j * np.diff(np.arctan2(way[:, 1], way[:, 0])))))
            assert np.median(turn) < 0.7, "no staircase: that would turn by a right angle at every other vertex"


def test_the_same_picture_gives_the_same_lines(bird: Picture) -> None:
    area = by_background(bird).area
    assert draw_lines(bird, area, LineWish()).ink.equals(draw_lines(bird, area, LineWish()).ink)


def test_no_stroke_is_thinner_than_the_needle(bird: Picture) -> None:
    area = by_background(bird).area
    wish = LineWish(fineness=0.8, darkness=0.2)
    thin, wide = draw_lines(bird, area, wish), draw_lines(bird, area, wish, least_px=5.0)
    lost = wide.ink.difference(wide.ink.buffer(-1.9).buffer(2.1)).area / wide.ink.area
    assert lost < 0.08 < thin.ink.difference(thin.ink.buffer(-1.9).buffer(2.1)).area / thin.ink.area
    assert thin.ink.difference(wide.ink.buffer(0.6)).area < 0.01 * thin.ink.area


def test_detail_by_region(bird: Picture) -> None:
    area = by_background(bird).area
    box = shapely.box(*(np.array(area.bounds) * (1, 1, 0.5, 1)))
    ring = np.asarray(box.exterior.coords)[:-1]
    base = draw_lines(bird, area, LineWish(0.5, 0.3, 0.3)).ink
    for detail, low, high in (("more", 1.05, 9.0), ("less", 0.0, 0.97), ("none", 0.0, 0.001)):
        ink = draw_lines(bird, area, LineWish(0.5, 0.3, 0.3), [Region(ring, detail)]).ink
        share = ink.intersection(box).length / base.intersection(box).length
        assert low <= share <= high, detail
        assert ink.difference(box.buffer(1)).symmetric_difference(base.difference(box.buffer(1))).area < 1e-6
    assert draw_lines(bird, area, LineWish(0.5, 0.3, 0.3), [Region(ring[:2], "none")]).ink.equals(base)


def inked() -> tuple[Picture, shapely.Geometry]:
    """A pen drawing of a mooring ring and post on cream paper, scanned a little soft."""
    im = Image.new("L", (1800, 1800), 255)
    draw = ImageDraw.Draw(im)
    draw.ellipse((300, 300, 1500, 1500), outline=0, width=36)
    draw.line((330, 900, 1470, 900), fill=0, width=24)
    middle = shapely.Point(900.5, 900.5)
    true = middle.buffer(600.5, 128).difference(middle.buffer(564.5, 128)).union(shapely.box(336, 888, 1464, 912))
    im = im.filter(ImageFilter.GaussianBlur(3)).resize((600, 600), Image.Resampling.BOX)
    rgb = np.asarray(im, float)[..., None] / 255 * (244, 238, 222)
    rgb += np.random.default_rng(3).normal(0, 2, rgb.shape)
    return picture(np.clip(rgb, 0, 255).astype(np.uint8)), shapely.transform(true, lambda xy: xy / 3)


def test_a_drawing_that_is_inked_keeps_its_own_lines() -> None:
    scan, true = inked()
    area = by_background(scan).area
    ink = draw_lines(scan, area, LineWish(inked=True)).ink
    assert ink.symmetric_difference(true).area / true.area < 0.03
    assert looks_inked(scan, area) and len(polygons(ink)) == 1


def test_photos_are_told_from_pen_drawings(bird: Picture) -> None:
    assert not looks_inked(bird, by_background(bird).area)
    rgb, cover = lamp(480, 640)
    photo = picture(on_paper(rgb, cover))
    assert not looks_inked(photo, by_background(photo).area)
    assert not looks_inked(photo, by_frame(photo).area)


def test_nothing_to_draw() -> None:
    flat = picture(np.full((200, 200, 3), 180, np.uint8))
    work = draw_lines(flat, by_frame(flat).area, LineWish(darkness=0.0))
    assert work.ink.is_empty and work.length == 0


def test_the_outline_has_weight_but_never_breaks() -> None:
    disc = shapely.Point(0, 0).buffer(100, 64)
    ink = outline_ink(disc, 6.0)
    assert ink.difference(disc).area == 0 and len(polygons(ink)) == 1
    widths = [ink.intersection(shapely.LineString([(0, 0), (150 * np.cos(t), 150 * np.sin(t))])).length
              for t in np.linspace(0, 2 * np.pi, 48)]
    assert min(widths) > 3.6 and max(widths) < 8.3 and np.mean(widths) == pytest.approx(6, abs=0.3)


def test_painted_is_what_lies_within_pixel_by_pixel() -> None:
    """Against shapely's own point in polygon, with islands in holes."""
    rng = np.random.default_rng(3)
    discs = [shapely.Point(*p).buffer(r) for *p, r in rng.uniform((0, 0, 3), (90, 90, 20), (30, 3))]
    area = shapely.union_all([d.difference(shapely.buffer(d.centroid, 0.6 * np.sqrt(d.area / np.pi))) for d in discs])
    y, x = np.mgrid[0:80, 0:95]
    assert (painted(area, (80, 95), 0.9) == shapely.contains_xy(area, (x + 0.5) * 0.9, (y + 0.5) * 0.9)).all()
    assert not painted(shapely.Polygon(), (4, 5)).any()
