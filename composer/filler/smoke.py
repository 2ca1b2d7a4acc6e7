"""Smoke: ribbons that rise along the flow, sway, roll up at their heads and thin out, shaded with whips.

A ribbon's edge rolls up in an Archimedean spiral; ribbons are laid longest first and keep apart.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from composer.art.brush import arc_length, normals, resample
from composer.art.drawing import Drawing
from composer.filler.cloud import pen_of
from composer.filler.cloud_lay import STEP, Field
from composer.filler.cloud_lines import Line, Pen
from composer.filler.filigree_room import Room
from composer.filler.ground import Ground, Wish
from composer.filler.masses import Mass, filled, paint, stage_for, within
from composer.filler.points import clear_tips, pointed
from composer.filler.voids import voids
from composer.filler.wind import streamlines
from composer.plan.model import Hand


@dataclass(frozen=True)
class Style:
    """A way of smoke: distance of ribbons and length (mm at size 1), sway and width as shares of the
    distance, turns of the head's roll."""

    title: str
    apart: float
    long: float
    sway: float
    wide: float
    turns: float


STYLES = {
    "curling": Style("Smoke, curling", 16.0, 120.0, 0.26, 0.72, 1.15),
    "plume": Style("Smoke, broad plume", 21.0, 170.0, 0.26, 0.72, 1.4),
    "thread": Style("Smoke, thin threads", 11.0, 110.0, 0.34, 0.42, 0.9),
}


RIM_MM = 0.9
"""Strokes thin out so far before an edge of the open skin behind which nothing hides their rest."""


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
    masses: list[Mass] = []
    for k, path in enumerate(paths[::-1]):
        shown = in_view(path if way > 0 else path[::-1], room, 0.55 * apart)
        if len(shown) * STEP >= 16.0:
            masses.append(Ribbon(shown, apart, look, 1.0 - 2.0 * (k % 2), rng).mass(pen, hand))
    for least, most in ((0.4 * apart, 0.66 * apart), (0.27 * apart, 0.4 * apart)):
        taken = shapely.union_all([m.body for m in masses])
        empty = voids(ground.free, taken, max(least, 1.75 * pen.pitch_mm), most, 1.1 * pen.pitch_mm, count=24)
        masses = eddies(empty, field, way, look, pen, hand, rng) + masses
    home = shapely.buffer(stage.room, -RIM_MM, quad_segs=2)
    for m in masses:
        m.lines = pointed(clear_tips(within(m.lines, home), ground.free.boundary), pen)
    return paint(masses, stage, pen, ground.line_gap_mm)


propose = draw


def in_view(path: np.ndarray, room: Room, head: float) -> np.ndarray:
    """The path cut so that its head lies in open skin, if that leaves most of it."""
    wall = room.look_wall(path[:, 0] + 1j * path[:, 1])
    good = np.flatnonzero(wall > head + 1.0)
    if not len(good) or good[-1] < 0.45 * len(path):
        good = np.flatnonzero(wall > 0.6 * wall.max()) if wall.max() > 2 else np.array([len(path) - 1])
    return path[: max(int(good[-1]) + 1, min(len(path), 8))]


def eddies(empty: np.ndarray, field: Field, way: float, look: Style, pen: Pen, hand: Hand,
           rng: np.random.Generator) -> list[Mass]:
    """Ribbons whose heads roll up in empty circles (m, 3); their feet come from behind what is there."""
    out = []
    for x, y, r in empty:
        side = 1.0 if rng.uniform() < 0.5 else -1.0
        a = float(field.at(np.array([[x, y]]))[0]) + (0.0 if way > 0 else np.pi)
        head = 0.74 * r
        end = np.array([[x, y]]) - side * head * np.array([[-np.sin(a), np.cos(a)]])
        tail = field.trace(end, -way, (3.2 + 2.0 * float(rng.uniform())) * r, 45.0)[0][::-1]
        out.append(Ribbon(tail, 1.9 * r, replace(look, sway=0.5 * look.sway), side, rng, head).mass(pen, hand))
    return out


class Ribbon:
    """One ribbon from its thin foot to its rolled head; `side` +1 rolls to the left."""

    def __init__(self, path: np.ndarray, apart: float, look: Style, side: float, rng: np.random.Generator,
                 head: float | None = None) -> None:
        way = resample(path, 1.0)
        s = arc_length(way)
        length = float(s[-1])
        self.side, self.look = side, look
        t = s / length
        wave = max(min(3.4 * apart, 0.62 * length), 2.2 * apart) * float(rng.uniform(0.85, 1.2))
        turn = 2 * np.pi * (s / wave) * (1.25 - 0.4 * t) + rng.uniform(0, 2 * np.pi)
        swing = look.sway * apart * np.sin(turn) * np.sin(np.pi * t) ** 0.5 * (0.6 + 0.7 * t)
        spine = way + normals(way) * swing[:, None]
        given = head
        head = given or min(0.46 * apart * float(rng.uniform(0.75, 1.1)), 0.2 * length)
        stop = len(s) if given else int(np.searchsorted(s, length - 1.1 * head))
        self.spine = self._rolled(spine[: max(stop, 8)], head)
        m = len(self.spine)
        self.t = arc_length(self.spine) / arc_length(self.spine)[-1]
        roll = float(self.t[self.foot - 1])
        belly = look.wide * min(apart, 0.3 * length) * float(rng.uniform(0.85, 1.0))
        self.width = belly * np.interp(self.t, [0, 0.1, 0.5 * roll, 0.85 * roll, roll + 0.3 * (1 - roll), 1],
                                       [0.0, 0.12, 0.8, 1.0, 0.45, 0.0])
        self.width = np.convolve(np.pad(self.width, 6, mode="edge"), np.ones(13) / 13, "valid")[:m]
        self.head = head

    def _rolled(self, spine: np.ndarray, head: float) -> np.ndarray:
        """The spine going on into a spiral of `head` mm that closes up evenly."""
        d = spine[-1] - spine[-3]
        d = d / np.hypot(*d)
        n = np.array([-d[1], d[0]]) * self.side
        self.foot = len(spine)
        self.centre = centre = spine[-1] + n * head
        a = np.linspace(0, 2 * np.pi * self.look.turns, int(40 * self.look.turns))[1:]
        rho = head * (1 - 0.78 * a / a[-1])
        roll = centre + rho[:, None] * (np.sin(a)[:, None] * d - np.cos(a)[:, None] * n)
        return np.vstack([spine, roll])

    def edge(self, share: float) -> np.ndarray:
        """A line along the ribbon, `share` of the width to the left of its middle (-0.5..0.5)."""
        return self.spine + normals(self.spine) * (share * self.width)[:, None]

    def mass(self, pen: Pen, hand: Hand) -> Mass:
        """Both edges, that meet at the foot and in the roll, whips that thin out, shade along the
        hollow edge."""
        out, inn = self.edge(-0.5 * self.side), self.edge(0.5 * self.side)
        weight = np.interp(self.t, [0, 0.25, 0.75, 1], [0.45, 0.9, 1.2, 0.5])
        lines = [Line(out, pen.outline_mm * weight, "tip", "tip", 0),
                 Line(inn, pen.line_mm * weight, "tip", "tip", 0)]
        widest = float(self.width.max())
        count = int(widest / (0.98 * pen.pitch_mm)) - 1
        for k in range(count):
            share = self.side * (0.5 - (k + 1) / (count + 1))
            room = self.width / (count + 1) > 0.96 * pen.pitch_mm
            ok = np.flatnonzero(room)
            if len(ok) < 12:
                continue
            last = ok[-1] + 1
            first = int(last - (0.85 - 0.22 * (k % 2)) * (last - ok[0]))
            path = self.edge(share)[first:last]
            t = np.linspace(0, 1, len(path))
            lines.append(Line(path, pen.line_mm * 1.5 * np.interp(t, [0, 0.8, 1], [0.25, 1.0, 0.5]), "tip", "tip", 0))
        body = shapely.union_all([filled(np.vstack([out, inn[::-1]])), shapely.Point(self.centre).buffer(self.head)])
        wash = []
        if hand.dark > 0.05:
            low = self.edge(0.5 * self.side - self.side * 0.38)
            wash.append(("light", filled(np.vstack([inn, low[::-1]]))))
        return Mass(body, lines, wash=wash)
