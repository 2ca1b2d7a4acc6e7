"""Mist in dots: blue-noise dots whose spacing and size follow a field of tone.

Fine dots are shading, as a wash is, and stand closer than the line gap; bold black dots among them
keep it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely
from scipy import ndimage
from scipy.spatial import cKDTree

from composer.art.drawing import Drawing, Layer
from composer.filler.cloud_lay import Field
from composer.filler.dots import dot_rings, poisson_dots
from composer.filler.filigree_room import Room
from composer.filler.ground import Ground, Wish
from composer.filler.masses import stage_for
from composer.plan.model import Hand

STYLES = {"banks": "Mist in dots, drifting banks", "halo": "Mist in dots, round the pieces",
          "fall": "Mist in dots, falling off to one side"}
OPEN, OPEN_MM, DRIFT = 0.24, (14.0, 28.0), 0.4
"""Over what share of the span of the skin mist falls off towards an open edge, within these mm; how much less or more
here and there, as a share of that."""
PALEST = 0.07
"""Tone (0..1) below which no dot is set."""
Tone = Callable[[np.ndarray], np.ndarray]
Bounds = tuple[float, float, float, float]


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "banks") -> Drawing | None:
    """Dots over the ground, a little on behind what lies in front. None where fewer than five fit."""
    home = shapely.simplify(shapely.difference(stage_for(ground, wish).target, shapely.buffer(ground.edge, 1.0)), 0.1)
    if home.is_empty:
        return None
    tone = tone_of(ground, home, hand, wish, style, rng)
    small = 0.66 * hand.fine_mm * max(wish.weight, 1.0)
    closest = max(0.98 * (1.35 - 0.55 * wish.density) * wish.size, 2 * small + 0.3)

    def spacing(xy: np.ndarray) -> np.ndarray:
        t = tone(xy)
        return np.where(t > PALEST, closest / np.sqrt(np.clip(t, PALEST, 1.0)), np.inf)

    def accents(xy: np.ndarray) -> np.ndarray:
        t = tone(xy)
        least = ground.line_gap_mm + 2 * large + 0.1
        return np.where(t > 0.16, least + 2.6 * closest * (1 - np.clip(t, 0, 1)), np.inf)

    large = 0.8 * hand.line_mm * wish.weight
    heavy = _clear(poisson_dots(home.bounds, accents, rng), ground, large)
    dots = _clear(poisson_dots(home.bounds, spacing, rng), ground, 1.3 * small)
    if len(dots) < 5 or not len(heavy):
        return None
    big = 0.62 * hand.fine_mm + (large - 0.62 * hand.fine_mm) * np.clip(tone(heavy), 0, 1)
    d, i = cKDTree(heavy).query(dots)
    dots = dots[d > big[i] + small + 0.4]
    fine = dot_rings(dots, small * (1 + 0.3 * np.clip(tone(dots), 0, 1)))
    bold = dot_rings(heavy, big)
    return Drawing((*fine, *bold), (Layer("dark", fine), Layer("black", bold)), (), {"dots": len(fine) + len(bold)})


def _clear(dots: np.ndarray, ground: Ground, radius: float) -> np.ndarray:
    """The dots that lie whole in open skin: a dot cut by a piece's edge is no dot."""
    if ground.front.is_empty or not len(dots):
        return dots
    return dots[shapely.distance(ground.front, shapely.points(dots)) > ground.skin_break_mm + radius + 0.1]


propose = draw


def tone_of(ground: Ground, home: shapely.Geometry, hand: Hand, wish: Wish, style: str,
            rng: np.random.Generator) -> Tone:
    """How dark the mist is at points (n, 2): 0 (skin) to 1."""
    room = Room(home, 0.8)
    inside = room.wall > 0.3
    dark = 0.7 + 0.6 * hand.dark
    span = float(np.sqrt(ground.free.area))
    table = {"banks": _banks, "halo": _halo, "fall": _fall}[style](ground, room, home.bounds, span, rng)
    if ground.front.is_empty:
        edge = np.clip(room.wall / max(0.1 * span, 3.0), 0, 1) ** 0.7
    else:
        edge = _open_fall(ground, room, home.bounds, float(np.clip(OPEN * span, *OPEN_MM)), rng)
    if wish.fade_mm > 0 and not ground.edge.is_empty:
        far = -Room(ground.edge.buffer(0.6), 0.8, home.bounds).wall
        edge = edge * np.clip(far / wish.fade_mm, 0, 1)
    if ground.tone is not None:
        at = np.column_stack([room.grid.real.ravel(), room.grid.imag.ravel()])
        edge = edge * ground.tone.at(ground.tone.share, at).reshape(room.shape)
    table = np.where(inside, np.clip(table * edge * dark, 0, 1), 0.0)
    table = ndimage.gaussian_filter(table, 1.0) * inside

    def tone(xy: np.ndarray) -> np.ndarray:
        at = np.stack([(xy[:, 1] - room.y0) / room.h, (xy[:, 0] - room.x0) / room.h])
        return ndimage.map_coordinates(table, at, order=1, mode="constant")

    return tone


def _open_fall(ground: Ground, room: Room, bounds: Bounds, over_mm: float, rng: np.random.Generator) -> np.ndarray:
    """1 next to pieces, falling off over about `over_mm`, here more and there less, towards the parts of the edge where
    no piece stands: mist never stops at a line."""
    bare = (room.wall <= 0.8) & (_off_front(ground, room, bounds) > ground.skin_break_mm + 9.0)
    if not bare.any():
        return np.ones(room.shape)
    far = ndimage.distance_transform_edt(~bare) * room.h
    p, q = rng.uniform(0, 2 * np.pi, 2)
    x, y = room.grid.real / over_mm, room.grid.imag / over_mm
    drift = 0.5 + 0.25 * (np.sin(1.9 * x + 1.1 * y + p) + np.sin(1.3 * x - 2.3 * y + q))
    return np.clip((far - DRIFT * over_mm * drift) / ((1.0 - 0.5 * DRIFT) * over_mm), 0, 1)


def _off_front(ground: Ground, room: Room, bounds: Bounds) -> np.ndarray:
    """How far every place is from what lies in front, mm; infinite where that does not reach the raster."""
    x, y = room.grid[[0, -1], [0, -1]].real, room.grid[[0, -1], [0, -1]].imag
    if not shapely.intersects(ground.front.boundary, shapely.box(x[0], y[0], x[1], y[1])):
        return np.full(room.shape, np.inf)
    return -Room(ground.front, room.h, bounds).wall


def _frame(ground: Ground, room: Room) -> tuple[np.ndarray, np.ndarray]:
    """Coordinates along and across the mean flow on the raster, mm."""
    a = Field(ground, ground.free).angle
    z = room.grid * np.exp(-1j * a)
    return z.real, z.imag


def _banks(ground: Ground, room: Room, bounds: Bounds, span: float, rng: np.random.Generator) -> np.ndarray:
    """Layers of mist along the flow, each with a clear upper rim, thinning out downwards."""
    u, v = _frame(ground, room)
    thick = float(np.clip(0.34 * span, 11.0, 30.0))
    p, q, w = rng.uniform(0, 2 * np.pi, 3)
    swing = 0.20 * np.sin(2 * np.pi * u / (2.3 * thick) + p) + 0.10 * np.sin(2 * np.pi * u / (0.9 * thick) + q)
    layer = v / thick + swing + w / 6
    within = layer - np.floor(layer)
    break_ = 0.78 + 0.22 * np.sin(2 * np.pi * u / (3.4 * thick) + 2.4 * np.floor(layer) + q)
    return within**1.5 * np.clip((1 - within) / 0.06, 0, 1) * break_ * 1.3


def _halo(ground: Ground, room: Room, bounds: Bounds, span: float, rng: np.random.Generator) -> np.ndarray:
    """Dark next to what lies in front, so that it stands out; light in the open."""
    wall = room.wall if ground.front.is_empty else _off_front(ground, room, bounds)
    if np.isinf(wall).any():    # no piece near that it could lie round
        wall = np.zeros(room.shape)
    reach = float(np.clip(0.24 * span, 7.0, 16.0)) * float(rng.uniform(0.9, 1.15))
    return np.exp(-np.maximum(wall - 1.5, 0) / reach * 2.1)


def _fall(ground: Ground, room: Room, bounds: Bounds, span: float, rng: np.random.Generator) -> np.ndarray:
    """From dark on one side to nothing on the other, across the flow."""
    _, v = _frame(ground, room)
    inside = room.wall > 0
    low, high = float(v[inside].min()), float(v[inside].max())
    t = np.clip((v - low) / max(high - low, 1e-6), 0, 1)
    return (1 - t if rng.uniform() < 0.75 else t) ** 1.5
