"""Leaves: branches along the flow with leaves set alternately, some veined, some black, tips curling."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

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
    leaves along the branch as a share of their length, how every third one is inked, the stalk as a share of a leaf's
    length, by how many degrees a leaf leaves its branch at the foot of that."""

    title: str
    apart: float
    leaf: float
    wide: float
    step: float
    inks: tuple[str, ...]
    stalk: float = 0.06
    turn_deg: float = 38.0


STYLES = {
    "branch": Style("Leaves on a branch", 25.0, 18.0, 0.46, 0.5, ("veined", "half", "veined", "black", "half")),
    "willow": Style("Leaves, long and narrow", 24.0, 20.0, 0.27, 0.38, ("half", "half", "open", "half", "black")),
    "round": Style("Leaves, broad", 25.0, 16.0, 0.66, 0.6, ("veined", "half", "black", "veined"), 0.17, 58.0),
}


RIBBED, VEINED = 2.6, 6.0
"""Leaves wider than so many pitches have room for a midrib, and for side veins."""
EYED, RIB_OPEN = 3.3, 4.6
"""A leaf narrower than the first, in pitches, is all black or all white; a black one narrower than the second has no
open midrib: with the stripe that the line gap asks for it would look like a bean."""
BLADE_FROM = 7
"""A leaf's blade begins with this vertex (of 26)."""
FITS = ((1.0, 0.0), (0.85, 0.35), (0.85, -0.3), (0.75, 0.7), (0.65, 0.0), (0.65, -0.4), (0.6, 0.5), (0.5, 0.9),
        (0.5, 0.0))
"""Leaves are tried so much smaller, turned back to the twig by so much of their angle."""
LEAST_SHOWN = 0.4
"""A leaf of which less than this share is in view reads as a shard."""
LEAST_LEAF = 2.9
"""No leaf is shorter than so many pitches."""
LEAST_VEIN_MM = 1.6
"""Side veins end clear of the rim; shorter ones (across the leaf) are stubs."""
LEAST_WHITE_MM2 = 4.0
"""Smaller spots of white heal shut."""


@dataclass(frozen=True)
class Open:
    """Where leaves may lie: `whole`, the skin of this gap and all that is hidden beside it; `rim`, the edge of the
    open skin. What lies there already: blades of `leaves` (areas) and `stems` (lines)."""

    whole: BaseGeometry
    rim: BaseGeometry
    leaves: list[BaseGeometry] = field(default_factory=list)
    stems: list[BaseGeometry] = field(default_factory=list)

    def clear(self, leaf: Leaf, at: np.ndarray, pen: Pen) -> bool:
        """Whether a leaf that grows from `at` keeps clear of others and of all stems but its foot's."""
        blade = leaf.blade()
        apart = pen.pitch_mm + 0.25 * pen.outline_mm
        if self.leaves and shapely.dwithin(np.array(self.leaves), blade, apart).any():
            return False
        foot = shapely.buffer(shapely.Point(at), 0.5 * leaf.long + 1.5, quad_segs=4)
        return not any(shapely.dwithin(shapely.difference(s, foot), blade, 0.6 * apart) or shapely.intersects(s, blade)
                       for s in self.stems)


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "branch") -> Drawing | None:
    """Branches over the ground, unclipped. Deterministic in `rng`. None where none finds room."""
    look = STYLES[style]
    stage, home = own_stage(ground, wish)
    pen = pen_of(hand, wish, ground.line_gap_mm)
    flow = Field(ground, ground.free)
    room = Room(ground.free, 0.8)
    wide = 2 * float(room.wall.max())
    leaf = max(look.leaf * float(np.clip(wide / 32, 0.75, 1.25)) * wish.size, 4.0 * pen.pitch_mm)
    apart = max(look.apart * leaf / look.leaf * (1.3 - 0.5 * wish.density), 4.0 * pen.pitch_mm)
    whole = shapely.union(home, shapely.buffer(ground.front, ground.skin_break_mm, quad_segs=4))
    shapely.prepare(whole)
    shapely.prepare(home)
    open_to = Open(whole, ground.free.boundary)
    paths = streamlines(flow, stage, ground, apart, 170.0, rng)
    if not paths:
        return None
    way = 1.0 if rng.uniform() < 0.5 else -1.0
    masses: list[Mass] = []
    stems = [waved(resample(path if way > 0 else path[::-1], 1.0), leaf, rng) for path in paths]
    open_to.stems.extend(shapely.linestrings(stem) for stem in stems)
    for stem in stems:      # the line that the artist pulled first, so that nothing is in the way of its leaves
        masses += branch(stem, leaf, look, pen, wish, open_to, np.random.default_rng(rng.integers(0, 2**63)))
    for least in (0.36 * leaf, 0.27 * leaf):
        taken = shapely.union_all([*open_to.leaves, *(shapely.buffer(s, 1.0) for s in open_to.stems)])
        empty = voids(ground.free, taken, max(least, 1.7 * pen.pitch_mm), 0.62 * leaf, 0.8 * pen.pitch_mm, count=16)
        for x, y, r in empty:
            line = clear_twig(stems, np.array([x, y]), 0.75 * r, open_to, pen)
            if line is None:
                continue
            twig = branch(line, 1.75 * r, look, pen, wish, open_to, rng, True)
            if len(twig) > 1:      # a twig that bears no leaf is a stump
                stems.append(line)
                open_to.stems.append(shapely.linestrings(line))
                masses = twig + masses
    masses += fallen(ground, flow, leaf, look, pen, open_to, rng)
    kept = []
    for m in masses:
        cut = within(m.lines, home)
        whole = {id(line) for line in m.lines if not line.start == line.end == "tip"}
        m.lines = clear_tips(cut, open_to.rim)      # a leaf's two edges come to a tip together, what is cut by itself
        m.lines = [one for line in m.lines for one in ([line] if id(line) in whole else pointed([line], pen))]
        inside = shapely.intersection(m.body, home)
        least = LEAST_SHOWN * m.body.area if len(m.lines) > 1 else 0.0
        if inside.area < 0.35 * m.body.area or not m.lines or shapely.intersection(inside, ground.free).area < least:
            continue
        m.body, m.black = inside, [shapely.intersection(b, home) for b in m.black]
        kept.append(m)
    return paint(kept, stage, pen, ground.line_gap_mm, LEAST_WHITE_MM2)


propose = draw


def fallen(ground: Ground, flow: Field, leaf: float, look: Style, pen: Pen, open_to: Open,
           rng: np.random.Generator) -> list[Mass]:
    """Single leaves lying along the flow where skin is left that no twig can reach."""
    taken = shapely.union_all([*open_to.leaves, *(shapely.buffer(s, 1.0) for s in open_to.stems)])
    out: list[Mass] = []
    look = replace(look, stalk=0.02)    # it has come off with its foot pointed
    for x, y, r in voids(ground.free, taken, 1.8 * pen.pitch_mm, 0.62 * leaf, 0.8 * pen.pitch_mm, count=24):
        first = float(flow.at(np.array([[x, y]]))[0]) + (np.pi if rng.uniform() < 0.5 else 0.0)
        long = min(1.9 * r, leaf)
        for a in (first, first + 0.5, first - 0.5, first + np.pi, first + 1.1, first - 1.1):
            at = np.array([x, y]) - 0.5 * long * np.array([np.cos(a), np.sin(a)])
            one = fitted(at, a, long, look, 0.8 * (-1.0) ** len(out), 0.0, pen, open_to)
            if one is not None:
                out.append(one.mass(look.inks[len(out) % len(look.inks)], pen))
                break
    return out


def waved(line: np.ndarray, leaf: float, rng: np.random.Generator) -> np.ndarray:
    """A branch's line (n, 2), swaying a little over the length of a few leaves."""
    s = arc_length(line)
    wave = 0.10 * leaf * np.sin(2 * np.pi * s / (2.6 * leaf) + rng.uniform(0, 6.28))
    return line + normals(line) * wave[:, None]


def clear_twig(stems: list[np.ndarray], end: np.ndarray, short_mm: float, open_to: Open, pen: Pen) -> np.ndarray | None:
    """A side twig to a place that crosses no leaf and no other stem, from the nearest branch that has one."""
    for stem in sorted(stems, key=lambda s: float(np.hypot(*(s - end).T).min())):
        for lower in (0.7, 0.35, 1.1, 0.0):
            line = twig_to([stem], end, short_mm, lower)
            ahead = shapely.linestrings(line[min(4, len(line) - 2) :])
            others = [s for s in open_to.stems if not shapely.dwithin(s, shapely.Point(line[0]), 0.01)]
            if not shapely.dwithin(np.array([*open_to.leaves, *others]), ahead, 0.6 * pen.pitch_mm).any() and not any(
                    shapely.intersects(s, ahead) for s in open_to.stems):
                return line
    return None


def twig_to(stems: list[np.ndarray], end: np.ndarray, short_mm: float, lower: float = 0.7) -> np.ndarray:
    """A side twig from a branch to a place, leaving it forwards; it stops `short_mm` before. It leaves by the share
    `lower` of the way lower down than where the branch is nearest, so that it grows forwards."""
    near = [np.hypot(*(s - end).T) for s in stems]
    which = int(np.argmin([d.min() for d in near]))
    stem, i = stems[which], int(near[which].argmin())
    i = max(i - int(lower * near[which][i]), min(2, len(stem) - 1))
    foot, ahead = stem[i], stem[min(i + 1, len(stem) - 1)] - stem[i - 1]
    ahead = ahead / max(float(np.hypot(*ahead)), 1e-9)
    far = float(np.hypot(*(end - foot)))
    u = np.linspace(0, max(0.2, 1 - short_mm / max(far, 1e-9)), max(8, int(far)))[:, None]
    knee = foot + ahead * 0.45 * far
    return resample((1 - u) ** 2 * foot + 2 * u * (1 - u) * knee + u**2 * end, 1.0)


def branch(stem: np.ndarray, leaf: float, look: Style, pen: Pen, wish: Wish, open_to: Open,
           rng: np.random.Generator, grown: bool = False) -> list[Mass]:
    """A twig along `stem` (n, 2), `grown` from another or not, with its leaves, back to front: those that lie far from
    the tip first. A leaf that has no room grows smaller or more along the twig, or not at all. Blades are entered in
    `open_to`."""
    s = arc_length(stem)
    long = float(s[-1])
    t = s / long
    width = (1.45 if long > 2 * leaf else 1.1) * pen.outline_mm * (1 - 0.6 * t)
    out = []
    twig = Mass(shapely.linestrings(stem).buffer(0.9 * pen.outline_mm, quad_segs=2),
                [Line(stem, width, "tucked" if grown else "tip", "tip", 0)])
    tangent = np.gradient(stem, axis=0)
    tangent /= np.maximum(np.hypot(tangent[:, 0], tangent[:, 1]), 1e-9)[:, None]
    a = np.arctan2(tangent[-1, 1], tangent[-1, 0])
    side = 1.0 if rng.uniform() < 0.5 else -1.0
    last = fitted(stem[-1], a, 0.85 * leaf, look, side, 0.0, pen, open_to)
    at, k = 0.25 * leaf, int(rng.integers(0, 5))
    while at < long - 0.25 * leaf:
        i = int(np.searchsorted(s, at))
        share = 0.62 + 0.38 * np.sin(np.pi * np.clip(0.15 + 0.8 * at / long, 0, 1))
        grow = leaf * share * float(rng.uniform(0.9, 1.1))
        turn = np.radians(look.turn_deg - 14 * at / long) * side
        a = np.arctan2(tangent[i, 1], tangent[i, 0]) + turn
        ink = look.inks[k % len(look.inks)]
        fitting = fitted(stem[i], a, grow, look, 0.8 * side, turn, pen, open_to)
        out += [fitting.mass(ink, pen)] if fitting else []
        side, k = -side, k + 1
        at += (look.step if fitting else 0.5 * look.step) * grow * (1.25 - 0.4 * wish.density)
    return [*out, *([last.mass(look.inks[0], pen)] if last else []), twig]


def fitted(at: np.ndarray, angle: float, long: float, look: Style, hook: float, turn: float, pen: Pen,
           open_to: Open) -> Leaf | None:
    """The largest leaf that has room, clear of other leaves and stems, and whose
    tip and foot do not just touch the edge of the skin; None where none does. `turn` is by how much it leaves the
    twig's direction."""
    for share, back in FITS:
        if share < 1 and long * share < LEAST_LEAF * pen.pitch_mm:
            continue
        leaf = Leaf(at, angle - back * turn, long * share, look.wide * long * share, hook, look.stalk)
        ends = shapely.points(leaf.mid[[2, -1]])
        if shapely.covers(open_to.whole, shapely.linestrings(leaf.ring())) and not shapely.dwithin(
                open_to.rim, ends, CLEAR_MM).any() and open_to.clear(leaf, at, pen):
            open_to.leaves.append(leaf.blade())
            return leaf
    return None


class Leaf:
    """A leaf from its foot `at` in direction `angle` (radians), `long` by `wide` mm; its midrib bends
    to the side `hook` and its tip curls."""

    def __init__(self, at: np.ndarray, angle: float, long: float, wide: float, hook: float,
                 stalk: float = 0.06) -> None:
        t = np.linspace(0, 1, 26)
        bend = angle + hook * (0.55 * t + 0.75 * np.clip((t - 0.7) / 0.3, 0, 1) ** 2)
        step = long / 25
        z = np.concatenate([[0], np.cumsum(np.exp(1j * bend[:-1]) * step)])
        self.mid = np.column_stack([z.real, z.imag]) + at
        u = np.clip((t - stalk) / (1 - stalk), 0, 1)
        half = 0.5 * wide * u**0.75 * (1 - u) ** 1.05 / (0.417**0.75 * 0.583**1.05)
        self.t, self.half, self.normal, self.long = t, half, normals(self.mid), long
        self.hook = hook

    def side(self, sign: float) -> np.ndarray:
        """The edge to the left (+1) or right (-1) of the midrib."""
        return self.mid + self.normal * (sign * self.half)[:, None]

    def ring(self) -> np.ndarray:
        """Its outline, (n, 2)."""
        return np.vstack([self.side(1.0), self.side(-1.0)[::-1]])

    def blade(self) -> BaseGeometry:
        """The leaf without its foot."""
        k = BLADE_FROM
        return filled(np.vstack([self.side(1.0)[k:], self.side(-1.0)[k:][::-1]]))

    def mass(self, ink: str, pen: Pen) -> Mass:
        """The leaf inked 'open', 'veined', 'half' (its shaded half black) or 'black' (its midrib left open)."""
        left, right = self.side(1.0), self.side(-1.0)
        body = filled(self.ring())
        w = np.interp(self.t, [0, 0.4, 1], [0.5, 1.0, 0.5])
        lines = [Line(edge, pen.outline_mm * w, "tucked", "tip", 0) for edge in (left, right)]
        black = []
        low = 1.0 if self.hook > 0 else -1.0
        room = float(self.half.max())
        if ink == "half" and 2 * room < EYED * pen.pitch_mm:     # the white that is left of it would look like an eye
            ink = "black"
        if ink == "black" and 2 * room > RIB_OPEN * pen.pitch_mm:
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
            rib = self.mid[:-4] if veined else self.mid[:-7]
            lines += pointed([Line(rib, pen.line_mm * np.linspace(1.5, 0.5, len(rib)), "tucked", "tip", 0)], pen)
            lines += self.veins(pen) if veined else []
        return Mass(body, lines, black)

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
                far = 1 - 1.1 * pen.pitch_mm / h
                if far * h > LEAST_VEIN_MM:
                    d = self.mid[min(i + 1, 25)] - self.mid[i - 1]
                    d = d / np.hypot(*d)
                    u = np.linspace(0.0, min(far, 0.7), 8)[:, None]
                    path = self.mid[i] + self.normal[i] * sign * h * u + d * h * 0.9 * u**0.9
                    out.append(Line(path, np.linspace(1.15 * pen.line_mm, pen.least_mm, 8), "tucked", "tip", 0))
                at += gap * 1.45
        return out


