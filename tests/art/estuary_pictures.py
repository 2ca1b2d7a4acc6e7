"""Pictures of the estuary, painted in code: what comes in from a camera or a brush, with its true outline."""

from __future__ import annotations

import io

import numpy as np
import shapely
from PIL import Image, ImageDraw

from composer.art.brush import spline

GULL = [(0.30, 0.56), (0.20, 0.52), (0.10, 0.40), (0.02, 0.26), (0.16, 0.30), (0.30, 0.36), (0.42, 0.44),
        (0.50, 0.40), (0.58, 0.26), (0.72, 0.12), (0.90, 0.06), (0.80, 0.20), (0.72, 0.34), (0.68, 0.46), (0.80, 0.47),
        (0.88, 0.51), (0.97, 0.55), (0.88, 0.57), (0.80, 0.60), (0.66, 0.66), (0.50, 0.70), (0.38, 0.70), (0.24, 0.78),
        (0.26, 0.66)]
LAMP = [(0.36, 0.90), (0.30, 0.84), (0.34, 0.78), (0.30, 0.60), (0.30, 0.48), (0.36, 0.40), (0.34, 0.34), (0.42, 0.28),
        (0.50, 0.20), (0.58, 0.28), (0.66, 0.34), (0.64, 0.40), (0.70, 0.48), (0.70, 0.60), (0.66, 0.78), (0.70, 0.84),
        (0.64, 0.90)]


def _scaled(points: list[tuple[float, float]], w: int, h: int) -> np.ndarray:
    side = min(w, h)
    at = np.array(points) * side + ((w - side) / 2, (h - side) / 2)
    return spline(at, closed=True, step_mm=max(side / 500, 0.5))


def mask_of(ring: np.ndarray, w: int, h: int, times: int = 4) -> np.ndarray:
    """Coverage 0..1 of a ring given in pixels (corner of the picture at 0, 0)."""
    big = Image.new("L", (w * times, h * times))
    ImageDraw.Draw(big).polygon([(float(x) * times - 0.5, float(y) * times - 0.5) for x, y in ring], fill=255)
    return np.asarray(big.resize((w, h), Image.Resampling.BOX), float) / 255


def gull(w: int = 640, h: int = 480) -> tuple[np.ndarray, np.ndarray]:
    """A gull on the wing, light breast, grey wings with black tips and feather edges: (rgb (h, w, 3) uint8 on
    white, coverage (h, w) 0..1)."""
    ring = _scaled(GULL, w, h)
    cover = mask_of(ring, w, h)
    side = min(w, h)
    y, x = np.mgrid[:h, :w].astype(float)
    gx, gy = (x - (w - side) / 2) / side, (y - (h - side) / 2) / side
    tone = 0.84 - 0.5 * np.clip(gy - 0.5, 0, 1) - 0.25 * np.clip(0.46 - gy, 0, 1)
    tip = np.clip((0.26 - gx) / 0.08, 0, 1) + np.clip((0.18 - gy) / 0.05, 0, 1) * (gx > 0.5)
    tone = tone * (1 - 0.88 * np.clip(tip, 0, 1))
    feathers = 0.5 + 0.5 * np.cos((gx * 0.8 + gy) * 2 * np.pi * 22)
    wing = ((gy < 0.42) | (gx < 0.24)).astype(float)
    tone = tone - 0.28 * wing * np.clip((feathers - 0.8) / 0.2, 0, 1)
    eye = np.hypot(gx - 0.83, gy - 0.515)
    tone = np.where(eye < 0.012, 0.05, np.where(eye < 0.017, 0.95, tone))
    beak = gx > 0.885
    rgb = np.stack([tone, tone, tone * 0.98 + 0.01], axis=2)
    rgb[beak] = rgb[beak] * (1.1, 0.75, 0.25)
    rgb = np.clip(rgb, 0, 1) * cover[..., None] + (1 - cover[..., None])
    return (rgb * 255 + 0.5).astype(np.uint8), cover


def lamp(w: int = 480, h: int = 640) -> tuple[np.ndarray, np.ndarray]:
    """A ship's lamp with a ring to hang it by (a hole one sees through), shaded round, with a bright glass."""
    ring = _scaled(LAMP, w, h)
    side = min(w, h)
    y, x = np.mgrid[:h, :w] + 0.5
    gx, gy = (x - (w - side) / 2) / side, (y - (h - side) / 2) / side
    far = np.hypot(gx - 0.5, gy - 0.13)
    hoop = np.clip((0.028 - np.abs(far - 0.075)) * side + 0.5, 0, 1)
    cover = np.maximum(mask_of(ring, w, h), hoop)
    round_ = np.sqrt(np.clip(1 - ((gx - 0.46) / 0.26) ** 2, 0, 1))
    tone = 0.10 + 0.62 * round_
    glass = (gy > 0.46) & (gy < 0.74) & (np.abs(gx - 0.5) < 0.15)
    flame = np.exp(-(((gx - 0.5) / 0.05) ** 2 + ((gy - 0.6) / 0.09) ** 2))
    tone = np.where(glass, 0.55 + 0.4 * flame, tone)
    bars = (np.abs(gx - 0.43) < 0.008) | (np.abs(gx - 0.57) < 0.008) | (np.abs(gy - 0.6) < 0.006)
    tone = np.where(glass & bars, 0.06, tone)
    tone = np.where((np.abs(gy - 0.42) < 0.012) | (np.abs(gy - 0.79) < 0.012), 0.05, tone)
    tone = np.where(gy < 0.21, 0.22, tone)
    rgb = np.stack([tone, tone * 0.92, tone * 0.78], axis=2) * cover[..., None] + (1 - cover[..., None])
    return (np.clip(rgb, 0, 1) * 255 + 0.5).astype(np.uint8), cover


def on_paper(rgb: np.ndarray, cover: np.ndarray, shade: float = 0.35, noise: float = 2.0) -> np.ndarray:
    """The thing on cream paper photographed under a lamp to one side: shaded, with sensor noise."""
    h, w = cover.shape
    y, x = np.mgrid[:h, :w]
    light = 1 - shade * ((x / w) * 0.7 + (y / h) ** 2 * 0.3)
    paper = np.array([246, 240, 226]) * light[..., None]
    thing = rgb - 255.0 * (1 - cover[..., None])
    out = thing * light[..., None] + paper * (1 - cover[..., None])
    out += np.random.default_rng(5).normal(0, noise, out.shape)
    return np.clip(out, 0, 255).astype(np.uint8)


def on_mud(rgb: np.ndarray, cover: np.ndarray) -> np.ndarray:
    """The thing before mud flats with ripples and pools: no plain background."""
    h, w = cover.shape
    y, x = np.mgrid[:h, :w] / min(w, h)
    rng = np.random.default_rng(11)
    ground = 0.42 + 0.10 * np.sin(40 * y + 6 * np.sin(7 * x)) + 0.05 * np.sin(23 * x + 15 * y)
    ground += rng.normal(0, 0.02, (h, w))
    mud = np.stack([ground * 1.05, ground * 0.9, ground * 0.7], axis=2) * 255
    thing = rgb - 255.0 * (1 - cover[..., None])
    return np.clip(thing + mud * (1 - cover[..., None]), 0, 255).astype(np.uint8)


def saved(rgb: np.ndarray, form: str = "PNG", alpha: np.ndarray | None = None, **more: object) -> bytes:
    """As a file."""
    im = Image.fromarray(rgb)
    if alpha is not None:
        im.putalpha(Image.fromarray((alpha * 255 + 0.5).astype(np.uint8)))
    out = io.BytesIO()
    im.save(out, form, **more)
    return out.getvalue()


def outline_of(what: str, w: int, h: int) -> shapely.Geometry:
    """The true silhouette of 'gull' or 'lamp' in a picture of that size, in pixels."""
    form = shapely.Polygon(_scaled(GULL if what == "gull" else LAMP, w, h))
    if what == "lamp":
        side = min(w, h)
        middle = shapely.Point(0.5 * side + (w - side) / 2, 0.13 * side + (h - side) / 2)
        form = form.union(middle.buffer(0.103 * side, 64).difference(middle.buffer(0.047 * side, 64)))
    return form
