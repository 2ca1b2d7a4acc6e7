"""Smoke: plumes that rise along the flow from a thin foot, sway, and billow to one side at their heads.

A plume is a bank of cloud (`cloud_crest`) laid on a swaying streamline, its nose at the head; plumes are laid longest
first and keep apart, smaller ones fill what they leave.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from composer.art.brush import arc_length, normals, resample
from composer.art.drawing import Drawing
from composer.filler.bridged import bridged
from composer.filler.cloud import LEAST_LOBE, LEAST_THICK, pen_of
from composer.filler.cloud_crest import Shape, crest
from composer.filler.cloud_ink import Bank, compose
from composer.filler.cloud_lay import LEAN, STEP, STRETCH, Field, Spine
from composer.filler.cloud_lines import Pen
from composer.filler.cloud_stage import rim_of
from composer.filler.filigree_room import Room
from composer.filler.ground import Ground, Wish
from composer.filler.masses import stage_for
from composer.filler.voids import voids
from composer.filler.wind import streamlines
from composer.plan.model import Hand


@dataclass(frozen=True)
class Style:
    """A way of smoke: distance of plumes and length (mm at size 1), sway and thickness as shares of the distance,
    `puffs` the share of the length that billows."""

    title: str
    apart: float
    long: float
    sway: float
    thick: float
    puffs: float


STYLES = {
    "curling": Style("Smoke, curling", 18.5, 130.0, 0.26, 0.98, 0.48),
    "plume": Style("Smoke, broad plume", 22.0, 170.0, 0.24, 1.05, 0.58),
    "thread": Style("Smoke, thin threads", 12.5, 120.0, 0.34, 0.66, 0.28),
}
HEAD, LOBE = 0.16, 0.34
"""Over what share of its length a plume comes to its full thickness; its largest lobe, of the thickness."""
SMALL = ((0.4, 0.66), (0.27, 0.4))
"""Empty circles that get a small plume, largest first: radii as shares of the distance of plumes."""


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "curling") -> Drawing | None:
    """Smoke over the ground, unclipped. Deterministic in `rng`. None where no ribbon finds room."""
    look = STYLES[style]
    stage = stage_for(ground, wish)
    pen = pen_of(hand, wish, ground.line_gap_mm)
    apart = max(look.apart * wish.size * (1.3 - 0.5 * wish.density), 3.4 * pen.pitch_mm)
    field = Field(ground, ground.free)
    paths = streamlines(field, stage, ground, apart, look.long * wish.size, rng)
    if not paths:
        return None
    way = 1.0 if np.sin(field.angle) > 0.05 or (abs(np.sin(field.angle)) <= 0.05 and rng.uniform() < 0.5) else -1.0
    room = Room(ground.free, 0.8)
    banks: list[Bank] = []
    for k, path in enumerate(paths[::-1]):
        shown = in_view(path if way > 0 else path[::-1], room, 0.55 * apart)
        if len(shown) * STEP >= 16.0:
            banks.append(plume(shown, apart, look, 1.0 - 2.0 * (k % 2), pen, rng))
    for least, most in SMALL:
        taken = shapely.union_all([b.outline for b in banks])
        empty = voids(ground.free, taken, max(least * apart, 1.75 * pen.pitch_mm), most * apart, 1.1 * pen.pitch_mm,
                      count=24)
        banks = small_plumes(empty, field, way, look, pen, rng) + banks
    made = compose(banks, stage, rim_of(ground), pen, hand, ground.line_gap_mm)
    return None if made is None else bridged(made, pen, ground.line_gap_mm)


propose = draw


def in_view(path: np.ndarray, room: Room, head: float) -> np.ndarray:
    """The path cut so that its head lies in open skin, if that leaves most of it."""
    wall = room.look_wall(path[:, 0] + 1j * path[:, 1])
    good = np.flatnonzero(wall > head + 1.0)
    if not len(good) or good[-1] < 0.45 * len(path):
        good = np.flatnonzero(wall > 0.6 * wall.max()) if wall.max() > 2 else np.array([len(path) - 1])
    return path[: max(int(good[-1]) + 1, min(len(path), 8))]


def small_plumes(empty: np.ndarray, field: Field, way: float, look: Style, pen: Pen,
                 rng: np.random.Generator) -> list[Bank]:
    """Plumes whose heads stand in empty circles (m, 3); their feet come from behind what is there."""
    out = []
    for x, y, r in empty:
        side = 1.0 if rng.uniform() < 0.5 else -1.0
        a = float(field.at(np.array([[x, y]]))[0]) + (0.0 if way > 0 else np.pi)
        end = np.array([[x, y]]) + 0.8 * r * np.array([[np.cos(a), np.sin(a)]])
        tail = field.trace(end, -way, (4.4 + 2.0 * float(rng.uniform())) * r, 45.0)[0][::-1]
        out.append(plume(tail, 1.9 * r, look, side, pen, rng))
    return out


def plume(path: np.ndarray, apart: float, look: Style, side: float, pen: Pen, rng: np.random.Generator) -> Bank:
    """A plume on a path (n, 2) from its foot to its head; `side` +1 billows to the left as it rises."""
    thick = max(look.thick * apart * float(rng.uniform(0.88, 1.08)), LEAST_THICK * pen.pitch_mm)
    line = swayed(path, apart, look, rng)[::-1]
    line = resample(line, STEP)
    front = int(np.ceil((0.3 * thick + 4.0) / STEP))
    out = line[0] - line[min(3, len(line) - 1)]
    ahead = line[0] + out / max(float(np.hypot(*out)), 1e-9) * STEP * np.arange(front, 0, -1)[:, None]
    points = np.concatenate([ahead, line])
    across = -side * normals(points)
    length = max((arc_length(line)[-1] - LEAN * thick) / STRETCH, 2.2 * thick)
    shape = Shape(length, thick, max(LOBE * thick, 1.25 * pen.pitch_mm), HEAD, look.puffs)
    return Bank(Spine(points - 0.42 * thick * across, across, front * STEP),
                crest(shape, LEAST_LOBE * pen.pitch_mm, rng))


def swayed(path: np.ndarray, apart: float, look: Style, rng: np.random.Generator) -> np.ndarray:
    """A path (n, 2) with a sway that is none at the foot and grows as it rises, (m, 2) 1 mm apart."""
    way = resample(path, 1.0)
    s = arc_length(way)
    t = s / s[-1]
    wave = max(min(3.4 * apart, 0.62 * float(s[-1])), 2.2 * apart) * float(rng.uniform(0.85, 1.2))
    turn = 2 * np.pi * (s / wave) * (1.25 - 0.4 * t) + rng.uniform(0, 2 * np.pi)
    return way + normals(way) * (look.sway * apart * np.sin(turn) * np.sin(np.pi * t) ** 0.5 * (0.6 + 0.7 * t))[:, None]
