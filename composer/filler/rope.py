"""Rope and chain along a path: laid rope, chain, rope with a knot; from neighbour to neighbour.

Ends run on behind the neighbours; in the open a rope ends whipped and frayed, a chain in a whole link.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from composer.art.drawing import Drawing
from composer.filler.chain_links import Links
from composer.filler.cloud import pen_of
from composer.filler.cloud_lines import Pen
from composer.filler.filigree_room import room_of
from composer.filler.ground import Ground, Wish
from composer.filler.masses import Mass, own_stage, paint
from composer.filler.rope_knot import knotted
from composer.filler.rope_path import STEP_MM, Run, runs_through
from composer.filler.rope_strands import Rope
from composer.plan.model import Hand


@dataclass(frozen=True)
class Style:
    """A way: half its width as a share of the gap's, least and most of it (mm), how far it sways, how
    tight it bends (half widths)."""

    title: str
    share: float
    least_mm: float
    most_mm: float
    sway: float
    bend: float


STYLES = {
    "laid": Style("Rope, laid", 0.105, 2.5, 4.8, 0.85, 2.6),
    "chain": Style("Chain", 0.13, 2.9, 6.2, 0.6, 2.6),
    "knot": Style("Rope with a knot", 0.075, 2.4, 3.2, 0.35, 2.6),
}
SHIFT = 0.45
"""By up to so much of a strand's length a hidden end begins elsewhere, so that another try is cut elsewhere too."""
THICKER = 0.9
"""How much thicker a rope is at full density than at none, as a share of its width."""
LIGHT = np.array([-0.5, 0.87])
"""Light falls from the upper left."""


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "laid") -> Drawing | None:
    """Rope or chain through the ground, unclipped. Deterministic in `rng`. None where none finds a way."""
    look = STYLES[style]
    pen = pen_of(hand, wish, ground.line_gap_mm)
    stage, _ = own_stage(ground, wish)
    wide = 2 * float(room_of(ground).wall.max())
    full = 1.0 + THICKER * (wish.density - 0.6)
    half = float(np.clip(look.share * wide * wish.size * full, look.least_mm,
                         look.most_mm * max(wish.size * full, 1.0)))
    if style == "chain":
        masses, runs = chained(ground, wish, look, half, pen, rng)
        return told(paint(masses, stage, pen, ground.line_gap_mm), runs)
    for slim in (1.0, 0.82, 0.67):
        own = max(slim * half, look.least_mm)
        runs = runs_through(ground, wish, own, look.sway * full, look.bend * own, rng)
        if runs:
            break
    half = own
    turn = 1.0 if rng.uniform() < 0.5 else -1.0
    masses: list[Mass] = []
    taken = shapely.Polygon()
    for k, run in enumerate(runs):
        path = np.column_stack([run.z.real, run.z.imag])
        levels, knot = np.zeros(len(path)), None
        if style == "knot" and k == 0:
            path, levels, knot = knotted(path, half, room_of(ground), turn)
            taken = shapely.LineString(path).buffer(2 * half + ground.line_gap_mm + 1.0, quad_segs=2)
        elif style == "knot" and shapely.intersects(taken, shapely.LineString(path)):
            continue
        rope = Rope(path, STEP_MM, half, pen.pitch_mm, turn, shaded(path))
        masses += roped(rope, levels, run, pen, hand, rng)
        if knot is not None:
            masses.append(rope.wraps(knot, pen))
    return told(paint(masses, stage, pen, ground.line_gap_mm), runs)


propose = draw


def told(drawing: Drawing | None, runs: list[Run]) -> Drawing | None:
    """The drawing with the middle of its main rope noted (see `composer.filler.handles`)."""
    if drawing is None or not runs:
        return drawing
    z = runs[0].z[::5]
    return replace(drawing, notes={**drawing.notes, "path": np.round(np.column_stack([z.real, z.imag]), 2).tolist()})


def shaded(path: np.ndarray) -> float:
    """The side of a path that lies away from the light: +1 its left, -1 its right."""
    d = path[-1] - path[0]
    return -1.0 if np.array([-d[1], d[0]]) @ LIGHT > 0 else 1.0


def chained(ground: Ground, wish: Wish, look: Style, half: float, pen: Pen,
            rng: np.random.Generator) -> tuple[list[Mass], list[Run]]:
    """Chains through the ground, and where they run: their wire open where the gap is wide enough for it, else one
    line of ink."""
    gap = pen.pitch_mm - pen.line_mm
    for solid in (False, True):
        wire = 2.0 * pen.outline_mm if solid else max(0.62 * half, gap + 1.12 * pen.outline_mm + 0.2)
        eye = gap + (0.9 if solid else 1.12 * pen.outline_mm + 0.5)
        wide, long = max(1.6 * half if solid else 2 * half, 2 * wire + eye), 4 * wire + 1.5 * eye
        runs = runs_through(ground, wish, wide / 2, look.sway, look.bend * wide / 2, rng)
        out = []
        for run in runs:
            path = np.column_stack([run.z.real, run.z.imag])
            whole = (not run.tucked[0], not run.tucked[1])
            out += Links(wire, long, wide, shaded(path)).laid(path, pen, whole, solid)
        if len(out) > 2:
            return out, runs
    return [], []


def roped(rope: Rope, levels: np.ndarray, run: Run, pen: Pen, hand: Hand, rng: np.random.Generator) -> list[Mass]:
    """A laid rope, its stretches ordered by the levels (one each place of the path), its open ends whipped."""
    tail = 2 * (pen.pitch_mm + 0.2) + 3.2 * rope.half_mm
    a = rope.lean_mm + SHIFT * rope.strand_mm * float(rng.uniform()) if run.tucked[0] else tail
    b = rope.length_mm - (rope.lean_mm if run.tucked[1] else tail)
    count = int((b - a) / rope.strand_mm)
    if count < 3:
        return []
    xs = a + rope.strand_mm * np.arange(count + 1)
    level = np.interp((xs[:-1] + xs[1:]) / 2, STEP_MM * np.arange(len(levels)), levels)
    level = np.round(level)
    out: list[tuple[float, Mass]] = []
    i = 0
    while i < count:
        j = i
        while j < count and level[j] == level[i]:
            j += 1
        out.append((float(level[i]), rope.stretch(xs[i], xs[j], pen, hand.dark)))
        i = j
    masses = [m for _, m in sorted(out, key=lambda p: p[0])]
    if not run.tucked[0]:
        masses += rope.end(xs[0] + 0.2 * rope.lean_mm, -1.0, pen, rng)
    if not run.tucked[1]:
        masses += rope.end(xs[-1] - 0.2 * rope.lean_mm, 1.0, pen, rng)
    return masses
