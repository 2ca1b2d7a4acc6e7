"""Line work of a picture: strokes with width, as polygons in the picture's pixels (x right, y down).

A photo or painting is drawn by `flow_lines`; a drawing that is inked already keeps its own lines. Both give a smooth
field whose contour is traced between the pixels, so that strokes swell and run out as ink does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.flow_lines import SIGMA, line_field
from composer.art.lightness import lightness
from composer.art.pixels import area_of, cut_to, painted, reduced
from composer.art.raster_read import Picture

COARSE, FINE = 0.0045, 0.0007
"""Inner Gaussian as a share of the subject's longer side, for fineness 0 and 1: 0.45 and 0.07 mm on 100 mm."""

FAINT, STRONG = 0.0022, 0.035
"""How much darker (lightness 0..1) a line must be than what lies beside it, for darkness 0 and 1."""

PREVIEW_SIDE, FINAL_SIDE = 640, 1900
"""Pixels of the subject's longer side that are looked at, most."""

INKED_SIDE = 2400
DETAIL = {"more": 0.3, "less": -0.35}
"""Change of fineness in a region; 'none' leaves a region without lines."""


@dataclass(frozen=True)
class LineWish:
    """How lines are to be drawn, each 0..1. `fineness`: how small a thing gets a line. `darkness`: how dark a line must
    be to be drawn. `clean`: how much that is short or faint is left out. `inked`: the picture is a line drawing."""

    fineness: float = 0.5
    darkness: float = 0.4
    clean: float = 0.5
    inked: bool = False


@dataclass(frozen=True)
class Region:
    """A ring (n, 2) in the picture's pixels, implicitly closed, and its detail: 'more', 'less' or 'none'."""

    ring: np.ndarray
    detail: str


@dataclass(frozen=True)
class LineWork:
    """`ink`: valid polygons in the picture's pixels. `length`: of all strokes along their middle, pixels."""

    ink: BaseGeometry
    length: float


def looks_inked(picture: Picture, area: BaseGeometry) -> bool:
    """Whether a subject is mostly paper and ink with little between: a line drawing."""
    light = subject_light(picture, area, 500, False).light
    paper, ink = np.percentile(light, 90), np.percentile(light, 1)
    if paper - ink < 0.35:
        return False
    level = (light - ink) / (paper - ink)
    grey = ((level > 0.3) & (level < 0.8)).mean()
    dark = (level <= 0.3).mean()
    return bool(grey < 0.13 and dark < 0.45 and grey < 1.6 * dark + 0.02)


@dataclass(frozen=True, eq=False)
class Subject:
    """`light` (h, w) float32 0..1 of the subject, beyond its edge the edge goes on; `inside` (h, w) bool. A pixel is
    `scale` of the picture's wide, the corner at (`left`, `top`)."""

    light: np.ndarray
    inside: np.ndarray
    left: int
    top: int
    scale: float

    def field_area(self, field: np.ndarray, level: float, rounds: int, crumb: float,
                   tolerance: float = 0.12) -> BaseGeometry:
        """Where a field of this subject is above a level, in the picture's pixels."""
        area = area_of(field, level, self.scale, tolerance * self.scale, rounds, crumb * self.scale**2)
        return shapely.transform(area, lambda xy: np.add(xy, (self.left, self.top)))


def subject_light(picture: Picture, area: BaseGeometry, side: int, carried_on: bool = True) -> Subject:
    """The subject's lightness with at most `side` pixels on its longer side; what lies beyond its edge is `carried_on`
    from inside, so that the edge itself is no line, or left as it is."""
    rgb, inside, left, top, scale = _cropped(picture, area, side)
    light = lightness(rgb) / 100
    if carried_on and inside.any() and not inside.all():
        core = ndimage.binary_erosion(inside, iterations=2, border_value=1)
        core = core if core.any() else inside
        near = ndimage.distance_transform_edt(~core, return_distances=False, return_indices=True)
        light = light[near[0], near[1]]
    return Subject(light.astype(np.float32), inside, left, top, scale)


def subject_rgb(picture: Picture, area: BaseGeometry, side: int) -> tuple[np.ndarray, np.ndarray]:
    """The subject's colours (h, w, 3) uint8 with at most `side` pixels on its longer side, and where it is (h, w)."""
    return _cropped(picture, area, side)[:2]


def _cropped(picture: Picture, area: BaseGeometry, side: int) -> tuple[np.ndarray, np.ndarray, int, int, float]:
    """Colours, mask, corner in the picture and the picture's pixels to one."""
    x0, y0, x1, y1 = area.bounds
    room = 4
    left, top = max(0, int(x0) - room), max(0, int(y0) - room)
    right, low = min(picture.width, int(np.ceil(x1)) + room), min(picture.height, int(np.ceil(y1)) + room)
    crop = picture.rgb[top:low, left:right]
    h, w = crop.shape[:2]
    share = min(1.0, side / max(h, w))
    rgb, scale = reduced(crop, max(64, int(h * share) * int(w * share)))
    moved = shapely.transform(area, lambda xy: np.subtract(xy, (left, top)))
    return rgb, painted(moved, (rgb.shape[0], rgb.shape[1]), scale), left, top, scale


def draw_lines(picture: Picture, area: BaseGeometry, wish: LineWish, regions: Sequence[Region] = (),
               most_side: int = FINAL_SIDE, least_px: float = 0.0) -> LineWork:
    """Line work inside the area. Regions are drawn again with their own detail and put in. Strokes thinner than
    `least_px` (the picture's pixels) are made that wide."""
    ink, length = _drawn(picture, area, wish, most_side, least_px)
    for region in regions:
        ring = np.asarray(region.ring, float).reshape(-1, 2)
        if len(ring) < 3:
            continue
        spot = shapely.make_valid(Polygon(ring)).intersection(area)
        if spot.area < 30:
            continue
        inside = shapely.intersection(ink, spot).area / max(ink.area, 1e-9)
        ink, length = ink.difference(spot), length * (1 - inside)
        if region.detail in DETAIL:
            change = DETAIL[region.detail]
            own = replace(wish, fineness=float(np.clip(wish.fineness + change, 0, 1)),
                          darkness=float(np.clip(wish.darkness - 0.6 * change, 0, 1)))
            share = max(spot.bounds[2] - spot.bounds[0], spot.bounds[3] - spot.bounds[1]) / _longer(area)
            more, run = _drawn(picture, area.intersection(spot.envelope.buffer(8)), own, most_side, least_px, share)
            within = more.intersection(spot)
            ink, length = ink.union(within), length + run * within.area / max(more.area, 1e-9)
    return LineWork(ink, length)


def _longer(area: BaseGeometry) -> float:
    x0, y0, x1, y1 = area.bounds
    return max(x1 - x0, y1 - y0, 1.0)


def _drawn(picture: Picture, area: BaseGeometry, wish: LineWish, most_side: int, least_px: float,
           share: float = 1.0) -> tuple[BaseGeometry, float]:
    """Ink and length of strokes; `share` is how much of the whole subject's longer side this area is."""
    if wish.inked:
        subject = subject_light(picture, area, min(INKED_SIDE, most_side * 2), False)
        area = area.buffer(1.0)
        field, level, rounds = _inked_field(subject.light, wish)
    else:
        sigma = COARSE * (FINE / COARSE) ** wish.fineness
        side = int(np.clip(SIGMA / sigma * share, 96, most_side))
        subject = subject_light(picture, area, side)
        level = FAINT * (STRONG / FAINT) ** wish.darkness
        field, rounds = line_field(subject.light, level), 3
    field = _cleaned(field, level, wish.clean, subject.inside)
    field, skeleton = _widened(field, level, least_px / subject.scale)
    ink = subject.field_area(field, level, rounds, 6 + 10 * wish.clean)
    return cut_to(ink, area), skeleton * subject.scale


def _inked_field(light: np.ndarray, wish: LineWish) -> tuple[np.ndarray, float, int]:
    """Darkness against the paper round about, of a drawing that is inked already."""
    width = max(15, light.shape[1] // 24)
    paper = ndimage.gaussian_filter(ndimage.maximum_filter(light, width), width / 2)
    return ndimage.gaussian_filter(1 - light / np.maximum(paper, 0.05), 0.7), 0.26 + 0.5 * wish.darkness, 1


def _cleaned(field: np.ndarray, level: float, clean: float, inside: np.ndarray) -> np.ndarray:
    """The field without strokes that are short, or nowhere clearly above the level (as in Canny 1986)."""
    label, n = ndimage.label((field > level) & inside, np.ones((3, 3), int))
    if n == 0:
        return np.minimum(field, level * 0.5)
    boxes = ndimage.find_objects(label)
    extent = np.array([np.hypot(b[0].stop - b[0].start, b[1].stop - b[1].start) for b in boxes])
    top = np.asarray(ndimage.maximum(field, label, np.arange(1, n + 1)))
    good = (extent >= 3.5 + 26 * clean**1.5) & (top >= level * (1 + 1.6 * clean))
    good |= (extent >= 2 * (3.5 + 26 * clean**1.5)) & (top >= level * (1 + 0.6 * clean))
    keep = np.concatenate([[False], good])[label]
    near = ndimage.binary_dilation(keep, iterations=2)
    return np.where(near & (keep | (label == 0)), field, np.minimum(field, level * 0.5)).astype(np.float32)


def _widened(field: np.ndarray, level: float, least: float) -> tuple[np.ndarray, float]:
    """The field with every stroke at least `least` pixels wide, and the length of all strokes in pixels."""
    from skimage.morphology import skeletonize

    middle = skeletonize(field > level)
    straight = np.array([[0, 1, 0], [1, 0, 1], [0, 1, 0]])
    beside = ndimage.convolve(middle.astype(np.int8), straight, mode="constant")[middle]
    length = float(middle.sum() + (np.sqrt(2) - 1) * (beside == 0).sum())
    if least < 1.2 or not middle.any():
        return field, length
    off = ndimage.gaussian_filter(ndimage.distance_transform_edt(~middle).astype(np.float32), 0.8)
    return np.maximum(field, level * (1 + (least / 2 - off) / max(least / 2, 1))).astype(np.float32), length


def outline_ink(area: BaseGeometry, width_px: float) -> BaseGeometry:
    """The silhouette's own line, inside its edge: `width_px` wide, heavier low on the right than high on the left as if
    the light came from there, thinnest at two thirds of it."""
    within = area.buffer(-width_px, quad_segs=6)
    return area.difference(shapely.transform(within, lambda xy: np.subtract(xy, 0.24 * width_px)))
