"""Leaves: branches along the flow with leaves set alternately, some veined, some black, tips curling."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.brush import arc_length, normals, resample
from composer.art.drawing import Drawing
from composer.filler.cloud import pen_of
from composer.filler.cloud_lay import Field
from composer.filler.cloud_lines import Line, Pen
from composer.filler.filigree_room import Room
from composer.filler.ground import Ground, Wish
from composer.filler.masses import Mass, filled, own_stage, paint, within
from composer.filler.points import CLEAR_MM, clear_tips, pointed
from composer.filler.voids import voids
from composer.filler.wind import streamlines
from composer.plan.model import Hand


@dataclass(frozen=True)
class Style:
    """A way of foliage: distance of branches, a leaf's length and width over length, distance of
    leaves along the branch as a share of their length, how every third one is inked."""

    title: str
    apart: float
    leaf: float
    wide: float
    step: float
    inks: tuple[str, ...]


STYLES = {
    "branch": Style("Leaves on a branch", 25.0, 18.0, 0.46, 0.5, ("veined", "half", "veined", "black", "half")),
    "willow": Style("Leaves, long and narrow", 24.0, 20.0, 0.27, 0.38, ("half", "half", "open", "half", "black")),
    "round": Style("Leaves, broad", 25.0, 16.0, 0.66, 0.74, ("veined", "half", "black", "veined")),
}


RIBBED, VEINED = 2.6, 4.0
"""Leaves wider than so many pitches have room for a midrib, and for side veins."""
RIM_MM = 1.4
"""An edge that goes under something so near to the edge of the skin seems to be cut off there."""
LEAST_WHITE_MM2 = 4.0
"""Smaller spots of white heal shut."""


@dataclass(frozen=True)
class Open:
    """Where leaves may lie: `whole`, the skin of this gap and all that is hidden beside it; `rim`, the edge of the
    open skin."""

    whole: BaseGeometry
    rim: BaseGeometry


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "branch") -> Drawing | None:
    """Branches over the ground, unclipped. Deterministic in `rng`. None where none finds room."""
    look = STYLES[style]
    stage, home = own_stage(ground, wish)
    pen = pen_of(hand, wish, ground.line_gap_mm)
    field = Field(ground, ground.free)
    room = Room(ground.free, 0.8)
    wide = 2 * float(room.wall.max())
    leaf = max(look.leaf * float(np.clip(wide / 32, 0.75, 1.25)) * wish.size, 4.0 * pen.pitch_mm)
    apart = max(look.apart * leaf / look.leaf * (1.3 - 0.5 * wish.density), 4.0 * pen.pitch_mm)
    whole = shapely.union(home, shapely.buffer(ground.front, ground.skin_break_mm, quad_segs=4))
    shapely.prepare(whole)
    shapely.prepare(home)
    open_to = Open(whole, ground.free.boundary)
    paths = streamlines(field, stage, ground, apart, 170.0, rng)
    if not paths:
        return None
    way = 1.0 if rng.uniform() < 0.5 else -1.0
    masses: list[Mass] = []
    stems = []
    for path in paths[::-1]:
        line = resample(path if way > 0 else path[::-1], 1.0)
        stems.append(line)
        masses += branch(line, leaf, look, pen, ground.line_gap_mm, wish, open_to, rng)
    for least in (0.36 * leaf, 0.27 * leaf):
        taken = shapely.union_all([m.body for m in masses])
        empty = voids(ground.free, taken, max(least, 1.7 * pen.pitch_mm), 0.62 * leaf, 0.8 * pen.pitch_mm, count=16)
        for x, y, r in empty:
            line = twig_to(stems, np.array([x, y]), 0.75 * r)
            grown = branch(line, 1.75 * r, look, pen, ground.line_gap_mm, wish, open_to, rng)
            if len(grown) > 1:      # a twig that bears no leaf is a stump
                stems.append(line)
                masses = grown + masses
    kept = []
    for m in masses:
        cut = within(m.lines, home)
        whole = {id(line) for line in m.lines if not line.start == line.end == "tip"}
        m.lines = clear_tips(cut, open_to.rim)      # a leaf's two edges come to a tip together, what is cut by itself
        m.lines = [one for line in m.lines for one in ([line] if id(line) in whole else pointed([line], pen))]
        inside = shapely.intersection(m.body, home)
        if inside.area < 0.35 * m.body.area or not m.lines:
            continue
        m.body, m.black = inside, [shapely.intersection(b, home) for b in m.black]
        kept.append(m)
    kept = not_cut_off(kept, open_to.rim)
    return paint(kept, stage, pen, ground.line_gap_mm, LEAST_WHITE_MM2)


propose = draw


def not_cut_off(masses: list[Mass], rim: BaseGeometry) -> list[Mass]:
    """Masses back to front without the leaves whose edges go under others right at the edge of the skin (`rim`): what
    is seen of them would end there as if cut off."""
    tree = shapely.STRtree([m.body for m in masses])
    shapely.prepare(rim)
    out = []
    for i, m in enumerate(masses):
        cut = False
        for line in m.lines[:2] if m.halo_mm > 0 else ():
            at = shapely.points(line.path)
            near = tree.query(at, "dwithin", m.halo_mm)
            hidden = np.zeros(len(at), bool)
            hidden[near[0][near[1] > i]] = True
            turns = np.flatnonzero(hidden[1:] != hidden[:-1])
            cut = cut or bool(shapely.dwithin(rim, at[turns], RIM_MM).any())
        if not cut:
            out.append(m)
    return out


def twig_to(stems: list[np.ndarray], end: np.ndarray, short_mm: float) -> np.ndarray:
    """A side twig from a branch to a place, leaving it forwards; it stops `short_mm` before."""
    near = [np.hypot(*(s - end).T) for s in stems]
    which = int(np.argmin([d.min() for d in near]))
    stem, i = stems[which], int(near[which].argmin())
    # it leaves a little lower down, so that it grows forwards
    i = max(i - int(0.7 * near[which][i]), min(2, len(stem) - 1))
    foot, ahead = stem[i], stem[min(i + 1, len(stem) - 1)] - stem[i - 1]
    ahead = ahead / max(float(np.hypot(*ahead)), 1e-9)
    far = float(np.hypot(*(end - foot)))
    u = np.linspace(0, max(0.2, 1 - short_mm / max(far, 1e-9)), max(8, int(far)))[:, None]
    knee = foot + ahead * 0.45 * far
    return resample((1 - u) ** 2 * foot + 2 * u * (1 - u) * knee + u**2 * end, 1.0)


def branch(line: np.ndarray, leaf: float, look: Style, pen: Pen, gap_mm: float, wish: Wish, open_to: Open,
           rng: np.random.Generator) -> list[Mass]:
    """A twig with its leaves, back to front: those that lie far from the tip first. A leaf that would be cut off
    at the edge of the skin grows smaller or more along the twig, or not at all."""
    s = arc_length(line)
    long = float(s[-1])
    wave = 0.10 * leaf * np.sin(2 * np.pi * s / (2.6 * leaf) + rng.uniform(0, 6.28))
    stem = line + normals(line) * wave[:, None]
    t = s / long
    width = (1.45 if long > 2 * leaf else 1.1) * pen.outline_mm * (1 - 0.6 * t)
    out = []
    twig = Mass(shapely.linestrings(stem).buffer(0.9 * pen.outline_mm, quad_segs=2),
                [Line(stem, width, "tip", "tip", 0)])
    tangent = np.gradient(stem, axis=0)
    tangent /= np.maximum(np.hypot(tangent[:, 0], tangent[:, 1]), 1e-9)[:, None]
    at, k, side = 0.25 * leaf, int(rng.integers(0, 5)), 1.0 if rng.uniform() < 0.5 else -1.0
    while at < long - 0.25 * leaf:
        i = int(at)
        share = 0.62 + 0.38 * np.sin(np.pi * np.clip(0.15 + 0.8 * at / long, 0, 1))
        grow = leaf * share * float(rng.uniform(0.9, 1.1))
        turn = np.radians(46 - 14 * at / long) * side
        a = np.arctan2(tangent[i, 1], tangent[i, 0]) + turn
        ink = look.inks[k % len(look.inks)]
        fitting = fitted(stem[i], a, grow, look.wide, 0.8 * side, turn, pen, open_to)
        out += [fitting.mass(ink, pen, gap_mm)] if fitting else []
        side, k = -side, k + 1
        at += look.step * grow * (1.25 - 0.4 * wish.density)
    a = np.arctan2(tangent[-1, 1], tangent[-1, 0])
    last = fitted(stem[-1], a, 0.85 * leaf, look.wide, side, 0.0, pen, open_to)
    return [*out, *([last.mass(look.inks[0], pen, gap_mm)] if last else []), twig]


def fitted(at: np.ndarray, angle: float, long: float, wide: float, hook: float, turn: float, pen: Pen,
           open_to: Open) -> Leaf | None:
    """The largest leaf (`wide` its width over its length) that has room and whose tip and foot do not just touch the
    edge of the skin; None where none does. `turn`
    is by how much it leaves the twig's direction."""
    for share, back in ((1.0, 0.0), (0.85, 0.35), (0.75, 0.8), (0.65, 0.0), (0.6, 0.5), (0.5, 0.9)):
        if share < 1 and long * share < 2.0 * pen.pitch_mm:
            continue
        leaf = Leaf(at, angle - back * turn, long * share, wide * long * share, hook)
        ends = shapely.points(leaf.mid[[2, -1]])
        if shapely.covers(open_to.whole, shapely.linestrings(leaf.ring())) and not shapely.dwithin(
                open_to.rim, ends, CLEAR_MM).any():
            return leaf
    return None


class Leaf:
    """A leaf from its foot `at` in direction `angle` (radians), `long` by `wide` mm; its midrib bends
    to the side `hook` and its tip curls."""

    def __init__(self, at: np.ndarray, angle: float, long: float, wide: float, hook: float) -> None:
        t = np.linspace(0, 1, 26)
        bend = angle + hook * (0.55 * t + 0.75 * np.clip((t - 0.7) / 0.3, 0, 1) ** 2)
        step = long / 25
        z = np.concatenate([[0], np.cumsum(np.exp(1j * bend[:-1]) * step)])
        self.mid = np.column_stack([z.real, z.imag]) + at
        u = np.clip((t - 0.06) / 0.94, 0, 1)
        half = 0.5 * wide * u**0.75 * (1 - u) ** 1.05 / (0.417**0.75 * 0.583**1.05)
        self.t, self.half, self.normal = t, half, normals(self.mid)
        self.hook = hook

    def side(self, sign: float) -> np.ndarray:
        """The edge to the left (+1) or right (-1) of the midrib."""
        return self.mid + self.normal * (sign * self.half)[:, None]

    def ring(self) -> np.ndarray:
        """Its outline, (n, 2)."""
        return np.vstack([self.side(1.0), self.side(-1.0)[::-1]])

    def mass(self, ink: str, pen: Pen, gap_mm: float) -> Mass:
        """The leaf inked 'open', 'veined', 'half' (its shaded half black) or 'black' (its midrib left open)."""
        left, right = self.side(1.0), self.side(-1.0)
        body = filled(self.ring())
        w = np.interp(self.t, [0, 0.4, 1], [0.5, 1.0, 0.5])
        lines = [Line(edge, pen.outline_mm * w, "tucked", "tip", 0) for edge in (left, right)]
        black = []
        low = 1.0 if self.hook > 0 else -1.0
        room = float(self.half.max())
        if ink == "black" and 2 * room > 2.2 * pen.pitch_mm:
            cut = 0.5 * pen.pitch_mm + 0.1
            for sign in (1.0, -1.0):
                inner = self.mid + self.normal * (sign * np.minimum(cut, 0.9 * self.half))[:, None]
                black.append(filled(np.vstack([self.side(sign), inner[::-1]])))
        elif ink == "black":
            black.append(body)
        elif ink == "half":
            inner = self.mid + self.normal * (low * 0.08 * self.half)[:, None]
            black.append(filled(np.vstack([self.side(low), inner[::-1]])))
        elif 2 * room > RIBBED * pen.pitch_mm:      # a smaller one would close up: it stays an outline
            veined = ink != "open" and 2 * room > VEINED * pen.pitch_mm
            rib = self.mid[2:-4] if veined else self.mid[2:-9]
            lines.append(Line(rib, pen.line_mm * np.linspace(1.2, 0.4, len(rib)), "tucked", "tip", 0))
            lines += self.veins(pen) if veined else []
        return Mass(body, lines, black, halo_mm=gap_mm + 0.5 * pen.outline_mm, least_seen=0.4)

    def veins(self, pen: Pen) -> list[Line]:
        """Side veins where there is room for them, running forward."""
        out = []
        gap = 1.15 * pen.pitch_mm
        s = arc_length(self.mid)
        for sign in (1.0, -1.0):
            at = 0.24 * s[-1] + (0.5 * gap if sign < 0 else 0)
            while at < 0.74 * s[-1]:
                i = int(np.searchsorted(s, at))
                h = float(self.half[i])
                if h > 1.5 * pen.pitch_mm:
                    d = self.mid[min(i + 1, 25)] - self.mid[i - 1]
                    d = d / np.hypot(*d)
                    u = np.linspace(0.12, 0.62, 6)[:, None]
                    path = self.mid[i] + self.normal[i] * sign * h * u + d * h * 0.9 * u**0.9
                    out.append(Line(path, pen.fine_mm * np.linspace(1.4, 0.9, 6), "tucked", "tip", 0))
                at += gap * 1.45
        return out


