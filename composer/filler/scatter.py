"""Small things scattered: stars and moons, petals, sparks; a few large, more middling, many small.

The places of each size are blue noise (Poisson discs, see `dots`), the large ones first; every thing lies
whole in open skin, turned with the flow, and nothing comes nearer to another than the line gap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.art.drawing import Drawing
from composer.filler.cloud import pen_of
from composer.filler.cloud_lay import Field
from composer.filler.cloud_lines import Pen
from composer.filler.dots import poisson_dots
from composer.filler.filigree_room import Room, room_of, strength
from composer.filler.ground import Ground, Wish
from composer.filler.masses import own_stage, paint
from composer.filler.scatter_forms import Bit, Form, bead, burst, curled, dart, ember, glint, lozenge, moon, petal
from composer.plan.model import Hand


@dataclass(frozen=True)
class Tier:
    """Things of one size: the `forms` in turn, `size` as a share of the largest, the distance of two of
    them from middle to middle over twice their size (`apart`), skin kept round each over the line gap
    (`air_mm`), how far they turn from the flow (radians)."""

    forms: tuple[Form, ...]
    size: float
    apart: float
    air_mm: float
    stray: float = 0.2


@dataclass(frozen=True)
class Style:
    """A way of scattering: sizes from large to small. `rising`: their heads, where they have one, lie up the limb."""

    title: str
    tiers: tuple[Tier, ...]
    rising: bool = False


STYLES = {
    "night": Style("Stars and moons", (
        Tier((moon, burst), 1.0, 1.9, 2.4, 0.25), Tier((burst, glint), 0.72, 1.7, 1.6, 0.12),
        Tier((glint,), 0.42, 1.8, 1.2, 0.12), Tier((bead,), 0.075, 5.4, 1.0))),
    "petals": Style("Petals, drifting", (
        Tier((petal,), 1.0, 1.35, 1.6, 0.6), Tier((curled, petal), 0.74, 1.3, 1.3, 0.7),
        Tier((curled,), 0.46, 1.5, 1.2, 0.8), Tier((bead,), 0.065, 7.0, 1.2))),
    "sparks": Style("Sparks, flying", (
        Tier((ember,), 1.0, 1.4, 1.6, 0.3), Tier((dart, dart, ember), 0.8, 1.1, 1.2, 0.3),
        Tier((dart, glint), 0.4, 1.5, 1.0, 0.35), Tier((lozenge, bead, bead), 0.09, 4.6, 0.9)), True),
}
LEAST_MM, MOST_MM = 5.4, 11.5
"""Sizes of the largest thing, middle to edge."""


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "night") -> Drawing | None:
    """Things scattered over the open skin. Deterministic in `rng`. None where fewer than two find room."""
    look = STYLES[style]
    pen = pen_of(hand, wish, ground.line_gap_mm)
    masses = [bit.laid(at, turn) for bit, at, turn in strewn(ground, wish, look, pen, rng)]
    if len(masses) < 2:
        return None
    stage, _ = own_stage(ground, wish)
    return paint(masses, stage, pen, ground.line_gap_mm)


propose = draw


def strewn(ground: Ground, wish: Wish, look: Style, pen: Pen,
           rng: np.random.Generator) -> list[tuple[Bit, complex, float]]:
    """The things with place (complex, mm) and turn (radians), from large to small."""
    room = room_of(ground).bare()
    field = Field(ground, ground.free)
    wide = 2 * float(room.wall.max())
    large = float(np.clip(0.27 * wide, LEAST_MM, MOST_MM)) * wish.size
    sense = 0.0 if rng.uniform() < 0.5 else np.pi
    if look.rising:  # they are drawn head first
        sense = np.pi if np.sin(field.angle) > 0 else 0.0
    loose = 1.45 - 0.75 * wish.density
    out: list[tuple[Bit, complex, float]] = []
    for rank, tier in enumerate(look.tiers):
        r = max(tier.size * large, 0.62 * pen.outline_mm)
        step = tier.apart * 2 * r * loose

        def spacing(xy: np.ndarray, step: float = step) -> np.ndarray:
            return np.full(len(xy), 0.45 * step)

        at = poisson_dots(ground.free.bounds, spacing, rng)
        z = at[:, 0] + 1j * at[:, 1]
        ok = room.look_wall(z) > 0.5 * r
        z, at = z[ok], at[ok]
        fade = strength(ground, z, wish.fade_mm)
        chance = rng.uniform(size=len(z))
        turn = field.at(at) + sense + tier.stray * rng.uniform(-1, 1, len(z))
        first = int(rng.integers(0, len(tier.forms)))
        mine = np.zeros(0, complex)
        for k in np.argsort(-room.look_wall(z), kind="stable") if rank == 0 else range(len(z)):
            if fade[k] < 1 and (chance[k] > fade[k] or fade[k] < 0.75 - 0.3 * rank):
                continue
            if len(mine) and np.abs(mine - z[k]).min() < step:
                continue
            bit = tier.forms[(first + len(mine)) % len(tier.forms)](r * float(rng.uniform(0.88, 1.12)), pen, rng)
            if fits(room, bit, z[k], turn[k], ground.line_gap_mm + tier.air_mm * loose):
                out.append((bit, complex(z[k]), float(turn[k])))
                mine = np.append(mine, z[k])
    return out


def fits(room: Room, bit: Bit, at: complex, turn: float, clear_mm: float) -> bool:
    """Whether the thing lies in the open, `clear_mm` from other ink; if so its room is taken."""
    z = bit.spine * np.exp(1j * turn) + at
    wall, ink = room.look(z)
    if (wall < bit.half + 0.6).any() or (ink < bit.half + clear_mm).any():
        return False
    room.stamp(z, bit.half, 9.0 + float(bit.half.max()))
    return True
