"""Filigree: scrollwork that ties the neighbours of a gap together and fills it evenly."""

from __future__ import annotations

import itertools

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, End, Layer, geometry_to_rings
from composer.filler import filigree_ink as ink
from composer.filler.filigree_fill import Growth
from composer.filler.filigree_grow import Stroke
from composer.filler.filigree_mirror import half_of
from composer.filler.filigree_roots import axis, backbone, beads, second_root
from composer.filler.ground import Ground, Wish
from composer.plan.model import Hand

KIND = "filigree"
LONG_ARM_MM = 5.0
"""Radius of the empty disc above which a symmetric one goes on with smaller scrolls."""
LEFT_OVER_MM = 4.6
"""Radius of the empty disc above which the passes are gone through once more at the end."""
WIDE_VOID_MM = 6.5
"""Radius of the empty disc above which a second root is tried."""
FORK_MM = 0.8
"""How wide the crotch of a fork may be where its filling ends."""


def propose(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
    """One filigree for this ground, or None where a stem finds no way. Symmetric about the
    ground's mirror axis if it has one."""
    if ground.symmetry_deg is not None:
        half = half_of(ground)
        if half is None:
            return None
        g = Growth(ground, hand, wish, rng, half.room, half=True)
        axis(g, half)
        fill(g)
        beads(g)
        if len(g.strokes) < 2:
            return None
        return finish(g, mirrored=True, turn_deg=-half.turn_deg)
    g = Growth(ground, hand, wish, rng)
    if not backbone(g):
        return None
    fill(g)
    return finish(g)


def fill(g: Growth) -> None:
    """Scrolls, leaves, curls, small leaves: from large to small until no void is wide."""
    size = g.wish.size
    top = float(np.clip(g.room.wall.max() * 0.8, 4.0, 15.0 * size))
    g.scrolls(5.2, top, max(2, round(14 / g.spare**2)))
    if g.ground.symmetry_deg is not None and float(g.room.void().max()) > LONG_ARM_MM:
        # half a gap has no backbone: scrolls walk into its arms before leaves bar the way
        g.scrolls(3.6, top, 8)
    if g.ground.symmetry_deg is None and float(g.room.void().max()) > WIDE_VOID_MM:
        second_root(g, 4.2, top)
        g.scrolls(5.2, top, 6)
    g.scrolls(4.0, 5.2, 5, 3.2)
    g.leaves(7.0, 15.0, 8, 2.4)
    g.scrolls(3.0, 5.2, 14, 1.7)
    g.leaves(4.0, 9.0, 24, 2.3)
    g.scrolls(2.7, 4.0, 8, 2.2)
    if float(g.room.void().max()) > LEFT_OVER_MM * g.spare:
        g.scrolls(3.0, top, 3, 2.0)
        g.leaves(5.0, 13.0, 3, 2.3)


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
        for a, b in itertools.pairwise(group):
            if b.joint - a.joint < 24:
                between = g.strokes[a.parent].z[a.joint : b.joint + 1]
                out.append(ink.web(a, b, slice(0, 48), FORK_MM, gap, between))
    return out


def finish(g: Growth, mirrored: bool = False, turn_deg: float = 0.0) -> Drawing:
    """Polygons, ends and notes of a growth; `mirrored` adds its image in the y axis, then all is
    turned about the origin by `turn_deg`."""
    lines: list[BaseGeometry] = []
    blacks: list[BaseGeometry] = []
    joints: list[tuple[complex, float]] = []
    ends: list[tuple[complex, str]] = []
    for s in g.strokes:
        (blacks if s.what == "leaf" else lines).append(ink.body(s.z, s.half))
        if s.ball:
            lines += ink.ball(s)
            joints.append((s.ball_at, 1.9 * s.ball + 0.3))
        if s.root:
            ends.append((s.z[0], s.root))
        ends.append((s.z[-1], s.end))
    for fork, at, span in forks(g):
        if fork is not None:
            lines.append(fork)
        joints.append((at, span))
    for _owner, z, h in g.lobes:
        blacks.append(ink.body(z, h))
        ends.append((z[-1], "tip"))
        joints.append((z[len(z) // 3], 0.58 * float(np.abs(np.diff(z)).sum()) + 0.4))
    line, black = shapely.union_all(lines), shapely.union_all(blacks)
    if mirrored:
        line, black = (shapely.union_all([x, shapely.transform(x, lambda p: p * (-1.0, 1.0))]) for x in (line, black))
        joints += [(-np.conj(at), d) for at, d in joints if abs(at.real) > 0.01]
        ends += [(-np.conj(at), how) for at, how in ends if abs(at.real) > 0.01]
    spines = [s.z[::5] for s in g.strokes]
    if turn_deg:
        spin = np.exp(1j * np.radians(turn_deg))
        line, black = (affinity.rotate(x, turn_deg, origin=(0, 0)) for x in (line, black))
        joints = [(at * spin, d) for at, d in joints]
        ends = [(at * spin, how) for at, how in ends]
        spines = [z * spin for z in spines]
    layers = [Layer("line", geometry_to_rings(line))]
    if not black.is_empty:
        layers.insert(0, Layer("black", geometry_to_rings(black)))
    notes = {"joints": [[round(float(at.real), 3), round(float(at.imag), 3), round(float(d), 2)] for at, d in joints],
             "spines": [[round(float(v), 2) for z in spine for v in (z.real, z.imag)] for spine in spines]}
    return Drawing(geometry_to_rings(shapely.union_all([line, black])), tuple(layers),
                   tuple(End(float(at.real), float(at.imag), how) for at, how in ends), notes)
