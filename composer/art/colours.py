"""What colours a picture's subject has, named, and where they lie: for the ink list, the talk with the client, and the
outlines of colour areas on a stencil."""

from __future__ import annotations

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

from composer.art.colour_names import AREA_SHARE, LEAST_SHARE, colour_name
from composer.art.lightness import lab
from composer.art.linework import subject_light, subject_rgb
from composer.art.raster_read import Picture

AREA_SIDE = 300


def named_colours(picture: Picture, area: BaseGeometry, side: int = 240) -> dict[str, float]:
    """Share of the subject's area by colour name, largest first; greys and traces are left out. `side`: pixels looked
    at on its longer side."""
    rgb, inside = subject_rgb(picture, area, side)
    names, index = _names_of(rgb[inside])
    count = np.bincount(index, minlength=len(names))
    shares: dict[str, float] = {}
    for name, n in zip(names, count, strict=True):
        if name:
            shares[name] = shares.get(name, 0.0) + float(n) / max(len(index), 1)
    return {k: round(v, 3) for k, v in sorted(shares.items(), key=lambda kv: -kv[1]) if v >= LEAST_SHARE}


def _names_of(rgb: np.ndarray) -> tuple[list[str | None], np.ndarray]:
    """Colour names (None: grey) of the shades among pixels (n, 3), and which shade each pixel (n,) is."""
    if not len(rgb):
        return [], np.zeros(0, int)
    own = lab(rgb.reshape(-1, 1, 3)).reshape(-1, 3)
    coarse, index = np.unique(np.round(own / 4).astype(int), axis=0, return_inverse=True)
    return [colour_name(*cell) for cell in coarse * 4.0], index.ravel()


def colour_areas(picture: Picture, area: BaseGeometry) -> dict[str, BaseGeometry]:
    """Where each named colour lies, in the picture's pixels, smoothed and without patches too small to outline."""
    subject = subject_light(picture, area, AREA_SIDE, False)
    rgb, inside = subject_rgb(picture, area, AREA_SIDE)
    names, index = _names_of(rgb[inside])
    out: dict[str, BaseGeometry] = {}
    for name in dict.fromkeys(n for n in names if n):
        mask = np.zeros(inside.shape, np.float32)
        mask[inside] = np.array([n == name for n in names])[index]
        found = subject.field_area(ndimage.gaussian_filter(mask, 1.6), 0.5, 3, AREA_SHARE * inside.sum(), 0.4)
        found = shapely.make_valid(found).intersection(area)
        if not found.is_empty and found.area >= AREA_SHARE * area.area:
            out[name] = found
    return out
