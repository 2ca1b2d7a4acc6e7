"""Feathers that have fallen: flight feathers, barred ones, round ones of the breast; they lie in the flow, few
large, more small."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from composer.art.brush import resample
from composer.art.drawing import Drawing
from composer.filler.cloud import pen_of
from composer.filler.cloud_lay import Field
from composer.filler.dots import poisson_dots
from composer.filler.feather_forms import Shaft, breast, flight
from composer.filler.filigree_room import room_of, strength
from composer.filler.ground import Ground, Wish
from composer.filler.masses import Mass, own_stage, paint
from composer.filler.scatter import fits
from composer.filler.scatter_forms import Bit
from composer.plan.model import Hand


@dataclass(frozen=True)
class Style:
    """A way of feather: its width over its length, how it is bowed (radians over its length), its sizes as
    shares of the largest, how far it reaches beyond its vanes (`spread`, 1: not)."""

    title: str
    wide: float
    bow: float
    sizes: tuple[float, ...]
    spread: float = 1.0


STYLES = {
    "flight": Style("Feathers, black-tipped", 0.31, 0.5, (1.0, 0.76, 0.58, 0.46)),
    "barred": Style("Feathers, barred", 0.29, 0.45, (1.0, 0.76, 0.58, 0.46)),
    "breast": Style("Feathers, small and round", 0.44, 0.7, (0.7, 0.54, 0.42, 0.32), 1.22),
}
LEAST_MM, MOST_MM = 30.0, 72.0
"""Lengths of the largest feather."""
SHORT_MM = 16.0


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "flight") -> Drawing | None:
    """Feathers over the open skin. Deterministic in `rng`. None where not one finds room."""
    pen = pen_of(hand, wish, ground.line_gap_mm)
    shafts = strewn(ground, wish, STYLES[style], rng)
    if not shafts:
        return None
    stage, _ = own_stage(ground, wish)
    masses: list[Mass] = []
    for shaft in shafts:
        masses += breast(shaft, pen, hand.dark, rng) if style == "breast" else \
            flight(shaft, pen, hand.dark, rng, style == "barred")
    return paint(masses, stage, pen, ground.line_gap_mm)


propose = draw


def strewn(ground: Ground, wish: Wish, look: Style, rng: np.random.Generator) -> list[Shaft]:
    """The feathers' shafts, from large to small; each feather whole in open skin, clear of the others."""
    room, field = room_of(ground).bare(), Field(ground, ground.free)
    wide = 2 * float(room.wall.max())
    largest = float(np.clip(1.55 * wide, LEAST_MM, MOST_MM)) * wish.size
    loose = 1.5 - 0.8 * wish.density
    out: list[Shaft] = []
    way = 1.0 if rng.uniform() < 0.5 else -1.0
    for rank, size in enumerate(look.sizes):
        long = max(size * largest, SHORT_MM)
        step = min(0.3 * long, 5.0)

        def spacing(xy: np.ndarray, step: float = step) -> np.ndarray:
            return np.full(len(xy), step)

        at = poisson_dots(ground.free.bounds, spacing, rng)
        if rank == 0:   # the largest lies on the line that the artist pulled
            at = np.vstack([field.spine[len(field.spine) // 2 :][:1], at])
        z = at[:, 0] + 1j * at[:, 1]
        wall, ink = room.look(z)
        ok = (wall > 0.4 * look.wide * long) & (ink > 0.45 * look.wide * long)
        at, z, wall = at[ok], z[ok], np.minimum(wall, ink)[ok]
        fade = strength(ground, z, wish.fade_mm)
        mine = np.zeros(0, complex)
        lines = streams(field, at, long * 1.1)
        led = (at[:, None] == field.spine[len(field.spine) // 2 :][:1]).all(axis=2).any(axis=1)
        for k in np.argsort(-np.where(led, np.inf, wall), kind="stable"):
            if fade[k] < 0.8 - 0.22 * rank or (len(mine) and np.abs(mine - z[k]).min() < 0.5 * long * loose):
                continue
            own = long * float(rng.uniform(0.9, 1.08))
            stray = (0.15 + 0.16 * rank) * float(rng.uniform(-1, 1))
            line = lines[k][:: 1 if rng.uniform() < (0.8 if way > 0 else 0.2) else -1]
            lead, bow = (1.0 if rng.uniform() < 0.5 else -1.0), look.bow * float(rng.uniform(-1, 1))
            for tilt in (stray, stray + 0.25, stray - 0.25, stray + 0.5, stray - 0.5):
                shaft = Shaft(spine(line, at[k], own, tilt, bow), look.wide * own, lead)
                if fits(room, Bit(Polygon(), *shaft.cover(look.spread)), 0j, 0.0, ground.line_gap_mm + 0.6 * loose):
                    out.append(shaft)
                    mine = np.append(mine, z[k])
                    break
    return out


def streams(field: Field, at: np.ndarray, long: float) -> np.ndarray:
    """The flow's lines through places (m, 2), half of `long` to either side: (m, n, 2), the place in the middle."""
    back, on = field.trace(at, -1.0, 0.5 * long, 40.0), field.trace(at, 1.0, 0.5 * long, 40.0)
    return np.concatenate([back[:, :0:-1], on], axis=1)


def spine(line: np.ndarray, at: np.ndarray, long: float, tilt: float, bow: float) -> np.ndarray:
    """The shaft: a line of the flow through the place `at`, tilted off it and bowed, from the foot to the tip, (n, 2)
    mm."""
    line = resample(line, 0.8)
    half = min(len(line) // 2, round(0.5 * long / 0.8))
    line = line[len(line) // 2 - half : len(line) // 2 + half + 1]
    off = tilt + 0.5 * bow * np.linspace(-1, 1, len(line))
    z = ((line - at) @ (1, 1j)) * np.exp(1j * off)
    path = np.column_stack([z.real, z.imag])
    whole = float(np.hypot(*np.diff(path, axis=0).T).sum())
    return at + path * (long / max(whole, 1e-9))
