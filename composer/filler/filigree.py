"""Filigree: scrollwork that ties the neighbours of a gap together and fills it evenly."""

from __future__ import annotations

import itertools

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, End, Layer, geometry_to_rings
from composer.filler import filigree_ink as ink
from composer.filler.filigree_fill import Growth
from composer.filler.filigree_grow import Stroke
from composer.filler.ground import Ground, Wish
from composer.plan.model import Hand

KIND = "filigree"
FORK_MM = 0.8
"""How wide the crotch of a fork may be where its filling ends."""


def propose(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
    """One filigree for this ground, or None where a stem finds no way."""
    g = Growth(ground, hand, wish, rng)
    if not g.backbone():
        return None
    top = float(np.clip(g.room.wall.max() * 0.8, 4.0, 15.0 * wish.size))
    g.scrolls(5.2, top, 14)
    g.leaves(7.0, 15.0, 8, 2.4)
    g.scrolls(3.0, 5.2, 14)
    g.leaves(4.0, 9.0, 24, 2.3)
    return finish(g)


def forks(g: Growth) -> list[tuple[BaseGeometry | None, complex, float]]:
    """The webs of all forks: between each branch and its parent, and between neighbours that
    leave the parent close together on one side."""
    out = []
    gap = g.ground.line_gap_mm
    by_parent: dict[tuple[int, int], list[Stroke]] = {}
    for s in g.strokes:
        if s.parent >= 0:
            parent = g.strokes[s.parent]
            out.append(ink.web(s, parent, parent.joint_span(s.joint), FORK_MM, gap))
            by_parent.setdefault((s.parent, s.side), []).append(s)
    for group in by_parent.values():
        group.sort(key=lambda s: s.joint)
        near = [(a, b) for a, b in itertools.pairwise(group) if b.joint - a.joint < 24]
        out += [ink.web(a, b, slice(0, 48), FORK_MM, gap) for a, b in near]
    return out


def finish(g: Growth) -> Drawing:
    """Polygons, ends and notes of a growth."""
    lines, blacks, joints, ends = [], [], [], []
    for s in g.strokes:
        (blacks if s.what == "leaf" else lines).append(ink.body(s.z, s.half))
        if s.ball:
            lines.append(ink.ball(s))
            c = s.ball_at
            joints.append([round(c.real, 3), round(c.imag, 3), round(1.9 * s.ball + 0.3, 2)])
        if s.root:
            ends.append(End(float(s.z[0].real), float(s.z[0].imag), s.root))
        ends.append(End(float(s.z[-1].real), float(s.z[-1].imag), s.end))
    for fork, at, span in forks(g):
        if fork is not None:
            lines.append(fork)
        joints.append([round(at.real, 3), round(at.imag, 3), round(span, 2)])
    for _owner, z, h in g.lobes:
        blacks.append(ink.body(z, h))
        ends.append(End(float(z[-1].real), float(z[-1].imag), "tip"))
        c = z[len(z) // 3]
        joints.append([round(c.real, 3), round(c.imag, 3), round(0.58 * float(np.abs(np.diff(z)).sum()) + 0.4, 2)])
    line, black = shapely.union_all(lines), shapely.union_all(blacks)
    both = shapely.union_all([line, black])
    layers = [Layer("line", geometry_to_rings(line))]
    if not black.is_empty:
        layers.insert(0, Layer("black", geometry_to_rings(black)))
    notes = {"joints": joints, "spines": [[round(v, 2) for z in s.z[::5] for v in (z.real, z.imag)] for s in g.strokes]}
    return Drawing(geometry_to_rings(both), tuple(layers), tuple(ends), notes)
