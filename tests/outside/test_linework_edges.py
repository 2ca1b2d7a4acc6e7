"""Line work on scikit-image's own sample pictures against its published edge filters.

Canny 1986 and the difference of Gaussians as scikit-image (van der Walt et al., PeerJ 2014) implements them.
Agreement: how much of our lines lies at an edge that Canny finds, and how many of Canny's strong edges we draw.
Continuity: how far a strong edge is followed without a break, and into how many bits the ink falls, against the plain
difference of Gaussians thresholded to the same amount of ink.
"""

from __future__ import annotations

import io

import numpy as np
import pypdfium2 as pdfium
import pytest
import shapely
from reportlab.pdfgen.canvas import Canvas
from scipy import ndimage
from skimage import data, feature, filters, morphology

from composer.art.drawing import geometry_to_rings
from composer.art.flow_lines import OUTER, SIGMA, line_field
from composer.art.lightness import contrast, lab, lightness, lightness_of, luminance, luminance_of
from composer.art.linework import LineWish, draw_lines
from composer.art.pixels import area_of, painted
from composer.art.raster_read import Picture
from composer.art.silhouette import by_frame

NEAR = 3.0


def sample(name: str) -> Picture:
    rgb = getattr(data, name)()
    return Picture(np.ascontiguousarray(np.dstack([rgb] * 3) if rgb.ndim == 2 else rgb), None, None, "PNG")


def figures(name: str) -> dict[str, float]:
    """Agreement and continuity on one sample picture, ours and the plain filter's."""
    picture = sample(name)
    light = lightness(picture.rgb) / 100
    work = draw_lines(picture, by_frame(picture).area, LineWish(fineness=0.8, darkness=0.35, clean=0.4))
    ours = painted(work.ink, light.shape)
    plain = -filters.difference_of_gaussians(light, SIGMA, SIGMA * OUTER)
    rival = plain > np.sort(plain.ravel())[-int(ours.sum())]
    every = feature.canny(light, sigma=1.5, low_threshold=0.02, high_threshold=0.05)
    strong = feature.canny(light, sigma=2.0, low_threshold=0.1, high_threshold=0.2)
    hit = ndimage.distance_transform_edt(~every)[morphology.skeletonize(ours)] <= NEAR
    met = ndimage.distance_transform_edt(~ours)[strong] <= NEAR
    return {"at an edge": float(hit.mean()), "edges drawn": float(met.mean()),
            "run": run(strong, ours), "run of the plain filter": run(strong, rival),
            "crumbs": crumbs(ours), "crumbs of the plain filter": crumbs(rival), "crumbs of canny": crumbs(every)}


def run(edges: np.ndarray, ink: np.ndarray) -> float:
    """Mean length in pixels that a strong edge is followed by ink without a break, each run weighted by its length."""
    label, n = ndimage.label(edges & (ndimage.distance_transform_edt(~ink) <= 1.5), np.ones((3, 3)))
    size = np.bincount(label.ravel())[1:].astype(float)
    return float((size**2).sum() / size.sum()) if n else 0.0


def crumbs(ink: np.ndarray) -> float:
    """Separate bits of ink for each 1,000 pixels of stroke."""
    thin = morphology.skeletonize(ink)
    return 1000 * ndimage.label(thin, np.ones((3, 3)))[1] / max(int(thin.sum()), 1)


# What is not drawn of the cat is where blurred paws and background meet, and the light side of hairs.
DRAWN = {"astronaut": 0.88, "camera": 0.93, "coins": 0.92, "chelsea": 0.70}
RUN = {"astronaut": 1.2, "camera": 1.2, "coins": 1.0, "chelsea": 1.4}


@pytest.mark.parametrize("name", DRAWN)
def test_agreement_and_continuity(name: str) -> None:
    found = figures(name)
    assert found["at an edge"] > 0.88, found
    assert found["edges drawn"] > DRAWN[name], found
    assert found["run"] > RUN[name] * found["run of the plain filter"], found
    assert found["crumbs"] < 0.35 * found["crumbs of the plain filter"], found


def test_lightness_against_a_colour_library() -> None:
    """CIE L*, Lab, luminance and contrast against coloraide (D65), over the whole cube."""
    from coloraide import Color

    rgb = np.random.default_rng(8).integers(0, 256, (200, 3)).astype(np.uint8)
    for v, own, y, l_star in zip(rgb, lab(rgb), luminance(rgb), lightness(rgb), strict=True):
        colour = Color("srgb", (v / 255).tolist())
        assert own == pytest.approx(colour.convert("lab-d65").coords(), abs=0.05)
        assert l_star == pytest.approx(colour.convert("lab-d65")["lightness"], abs=0.02)
        assert y == pytest.approx(colour.luminance(), abs=2e-4)
        assert contrast(float(y), 1.0) == pytest.approx(colour.contrast("white", method="wcag21"), rel=2e-3)


def test_lightness_of_published_patches() -> None:
    """L* of the sRGB primaries as published with IEC 61966-2-1 (from memory), of 18 % grey by CIE 15, and the contrast
    of the two greys that WCAG's technique G18 names as just failing and just passing 4.5 : 1 on white."""
    for rgb, want in (((255, 0, 0), 53.24), ((0, 255, 0), 87.74), ((0, 0, 255), 32.30), ((255, 255, 255), 100.0),
                      ((0, 0, 0), 0.0), ((119, 119, 119), 50.03)):
        assert float(lightness(np.array(rgb, np.uint8))) == pytest.approx(want, abs=0.02)
    assert float(lightness_of(0.18)) == pytest.approx(49.50, abs=0.01)
    assert float(luminance_of(lightness_of(0.18))) == pytest.approx(0.18)
    for grey, want in ((0x77, 4.48), (0x76, 4.54)):
        assert contrast(float(luminance(np.array([grey] * 3, np.uint8))), 1.0) == pytest.approx(want, abs=0.005)


@pytest.mark.parametrize("name", ["camera", "coins"])
def test_tracing_against_an_independent_renderer(name: str) -> None:
    """The traced strokes, painted by PDFium (even-odd, without smoothing of ours), against the field they were traced
    from: what differs is an edge's worth, under 0.2 of a pixel all along."""
    picture = sample(name)
    light = (lightness(picture.rgb) / 100).astype(np.float32)
    field = line_field(light, 0.01)
    area = area_of(field, 0.01, 1.0, 0.12, 3)
    seen = 1 - painted_by_pdfium(area, light.shape, 4)
    fine = ndimage.zoom(field, 4, order=1, grid_mode=True, mode="nearest") > 0.01
    differs = float((seen != fine).sum()) / 16
    assert differs < 0.2 * area.length, (differs, area.length)
    assert seen.sum() / 16 == pytest.approx(area.area, rel=0.01)


def painted_by_pdfium(area: shapely.Geometry, shape: tuple[int, int], times: int) -> np.ndarray:
    """The area as a PDF of one point to the pixel, painted `times` as large: 0 in the area, 1 beside it."""
    h, w = shape
    out = io.BytesIO()
    page = Canvas(out, pagesize=(w, h))
    path = page.beginPath()
    for ring in geometry_to_rings(area):
        path.moveTo(ring[0][0], h - ring[0][1])
        for x, y in ring[1:]:
            path.lineTo(x, h - y)
        path.close()
    page.drawPath(path, stroke=0, fill=1, fillMode=0)
    page.save()
    shown = pdfium.PdfDocument(out.getvalue())[0].render(scale=times, grayscale=True).to_numpy()
    return (shown.reshape(h * times, w * times) > 127).astype(int)
