"""A picture's tones as the steps of the plan: black, dark, mid, light and open skin, as polygons.

Areas are in the picture's pixels, x right and y down.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.linework import subject_light
from composer.art.pixels import cut_to, polygons
from composer.art.raster_read import Picture

STEPS = ("black", "dark", "mid", "light")
"""From the darkest; what is none of them is open skin."""

AT = np.array([0.17, 0.38, 0.60, 0.82])
"""Lightness below which a step begins, as a share of the subject's own range: even in L*, with more left open above.
Ours, no published source."""

THIRDS = np.array([0.20, 1 / 3, 0.52, 2 / 3])
"""Shares of the subject's area darker than each step where balance is kept by thirds: a third black and dark, a third
mid and light, a third open (common practice, no published source)."""

SIDE, PREVIEW_SIDE = 1100, 440
SLIVER = 1.1
"""Pixels looked at: half the width of a strip too thin to be shaded, 0.2 mm on a piece 100 mm long."""


@dataclass(frozen=True)
class ToneWish:
    """`lift` 0..1: darker to lighter, 0.5 as the picture is. `thirds` 0..1: from the picture's own balance to balance
    by thirds. `simple` 0..1: how large and smooth the patches are. `steps`: which steps are used."""

    lift: float = 0.5
    thirds: float = 0.0
    simple: float = 0.5
    steps: tuple[str, ...] = STEPS


@dataclass(frozen=True)
class Tones:
    """`areas`: polygons by step that do not overlap. `levels`: CIE L* of the picture below which each step begins.
    `shares`: of the subject's area, by step and 'open', adding up to 1."""

    areas: Mapping[str, BaseGeometry]
    levels: Mapping[str, float] = field(default_factory=dict)
    shares: Mapping[str, float] = field(default_factory=dict)


def posterise(picture: Picture, area: BaseGeometry, wish: ToneWish, side: int = SIDE) -> Tones:
    """Tones inside the area. Patches too small to shade are given to what lies round them."""
    subject = subject_light(picture, area, side)
    inside = subject.inside
    if not inside.any():
        return Tones({s: Polygon() for s in STEPS}, {}, {**dict.fromkeys(STEPS, 0.0), "open": 1.0})
    h, w = subject.light.shape
    radius = max(1.5, (0.004 + 0.012 * wish.simple) * max(h, w))
    smooth = guided(subject.light, radius, 0.03 + 0.05 * wish.simple)
    levels = tone_levels(smooth[inside], wish)
    crumb = (0.004 + 0.020 * wish.simple**2) ** 2 * float(max(h, w)) ** 2
    below: list[BaseGeometry] = []
    for level in levels:
        area_below = subject.field_area(-smooth, -float(level), 3, crumb, 0.2)
        area_below = _mended(area_below, crumb * subject.scale**2)
        below.append(cut_to(shapely.make_valid(area_below), area))
    areas: dict[str, BaseGeometry] = {}
    covered: BaseGeometry = Polygon()
    for step, part in zip(STEPS, below, strict=True):
        own = part.difference(covered) if step in wish.steps else Polygon()
        thick = _opened(own, SLIVER * subject.scale, side > PREVIEW_SIDE)
        areas[step] = _mended(thick, 0.25 * crumb * subject.scale**2)
        covered = covered.union(areas[step])
    shares = {s: areas[s].area / area.area for s in STEPS}
    shares["open"] = max(0.0, 1 - sum(shares.values()))
    return Tones(areas, {s: 100 * float(v) for s, v in zip(STEPS, levels, strict=True)}, shares)


def tone_levels(light: np.ndarray, wish: ToneWish) -> np.ndarray:
    """Lightness (0..1) below which black, dark, mid and light begin, rising; `light` is the subject's own."""
    low, high = np.percentile(light, (1, 99))
    if high - low < 0.08:  # one flat tone
        low, high = min(low, 0.5), max(high, 0.5)
    own = low + AT * (high - low)
    shifted = low + ((own - low) / (high - low)) ** (4.0 ** (wish.lift - 0.5)) * (high - low)
    thirds = np.quantile(light, THIRDS)
    mixed = (1 - wish.thirds) * shifted + wish.thirds * thirds
    for i, step in enumerate(STEPS):
        if step not in wish.steps:  # what it would have covered goes to the next darker step, or stays open
            mixed[i] = mixed[i - 1] if i else 0.0
    return np.maximum.accumulate(mixed)


def guided(light: np.ndarray, radius: float, edge: float) -> np.ndarray:
    """The field smoothed where it varies less than `edge` and kept where it varies more: the guided filter of He, Sun
    and Tang (2010) with itself as guide, Gaussian windows of `radius` pixels."""
    mean = ndimage.gaussian_filter(light, radius)
    spread = np.maximum(ndimage.gaussian_filter(light * light, radius) - mean * mean, 0)
    a = spread / (spread + np.float32(edge * edge))
    b = mean - a * mean
    out = ndimage.gaussian_filter(a, radius) * light + ndimage.gaussian_filter(b, radius)
    return ndimage.gaussian_filter(out, 0.8).astype(np.float32)


def _opened(area: BaseGeometry, by: float, exact: bool) -> BaseGeometry:
    """The area without strips narrower than twice `by`: at a hard edge every step between would leave one. Not `exact`,
    its corners may stand out by a hair."""
    thick = area.buffer(-by, join_style="mitre", mitre_limit=2).buffer(by, join_style="mitre", mitre_limit=2)
    return thick.intersection(area) if exact else thick


def _mended(area: BaseGeometry, crumb: float) -> BaseGeometry:
    """The area without bits and holes smaller than `crumb`."""
    kept = [Polygon(p.exterior, [i for i in p.interiors if Polygon(i).area >= crumb])
            for p in polygons(area) if p.area >= crumb]
    return shapely.union_all(kept) if kept else Polygon()
