"""Best place by trying everything: shapely alone decides what is clear, nothing is ruled out early.

The tries, the hard rules and the score are the project's own; what is independent is the search and
the test for collisions, which goes back to the outlines: geometry in (u, s), laid piece by piece by
`composer.plan.scene.lay`, distances by shapely in a patch at the place (`composer.compose.neighbours`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import shapely

from composer.art.drawing import Drawing
from composer.body.limb import Limb
from composer.compose import best_place as bp
from composer.compose.best_place_check import Pose
from composer.compose.best_place_field import lattice_of, spots_of
from composer.compose.best_place_score import Scorer, scorer
from composer.compose.best_place_tries import make_pairs, stamp_of
from composer.compose.fit_facts import Client
from composer.compose.fit_limits import Limits
from composer.compose.neighbours import _clearance, _shifted, _turns, on_skin
from composer.plan.model import Piece
from composer.plan.scene import Laid, Scene, lay


def shapes_of(scene: Scene) -> list[shapely.Geometry]:
    """Outlines of all main pieces in (u, s)."""
    return [on_skin(x) for x in scene.laid if not x.piece.is_filler]


def clear_by_shapely(limb: Limb, shapes: list[shapely.Geometry], laid: Laid, skin_break_mm: float) -> bool:
    """Whether a laid piece is on the limb, does not meet itself, and keeps the skin break from every shape."""
    mine = on_skin(laid)
    u0, s0, u1, s1 = mine.bounds
    if s0 < limb.s_min - 1e-6 or s1 > limb.s_max + 1e-6:
        return False
    if u1 - u0 + skin_break_mm / float(np.min(limb.girth(np.linspace(s0, s1, 50)))) >= 1.0:
        return False
    return all(_clearance(limb, mine, _shifted(other, k)) >= skin_break_mm
               for other in shapes for k in _turns(limb, mine, other))


def judge_of(scene: Scene, drawing: Drawing, side: Mapping[str, Any], size_range: tuple[float, float],
             **options: Any) -> tuple[Scorer, list[Any], Any]:
    """The project's own tries and scores, all of them."""
    limb = scene.limb
    step, sizes = options.get("step_mm", bp.STEP_MM), options.get("sizes", bp.SIZES)
    stamp = stamp_of(drawing)
    forms = bp.forms_of(stamp, side, size_range, sizes, options.get("turns", bp.TURNS), True)
    lattice = lattice_of(limb, step)
    pairs = make_pairs(limb, lattice, stamp, forms, 2.0, (limb.s_min, limb.s_max), Limits().stretch_strong)
    spots = spots_of(limb, "left_arm", Client(), step)
    return scorer(limb, "left_arm", dict(side), pairs, lattice, spots, forms, Limits()), forms, lattice


def brute_force(scene: Scene, drawing: Drawing, side: Mapping[str, Any], size_range: tuple[float, float], count: int,
                **options: Any) -> tuple[list[tuple[float, Pose]], int]:
    """The best clear poses with their scores, and how many tries there were: every try is laid and tested."""
    judge, forms, lattice = judge_of(scene, drawing, side, size_range, **options)
    shapes = shapes_of(scene)
    outline = Drawing(drawing.silhouette, ())
    pair, column = (x.ravel() for x in np.meshgrid(np.arange(len(judge.pairs.form)), np.arange(lattice.columns),
                                                   indexing="ij"))
    score = judge.score(judge.losses(pair, column))
    clear = []
    for i in range(len(pair)):
        f, u = forms[judge.pairs.form[pair[i]]], column[i] / lattice.columns
        pose = Pose(u - round(u), float(lattice.rows[judge.pairs.row[pair[i]]]), f.turn_deg, f.scale, f.flip)
        piece = Piece("x", "left_arm", drawing.digest, "x", pose.u, pose.s_mm, pose.turn_deg, pose.scale, pose.flip)
        if clear_by_shapely(scene.limb, shapes, lay(scene.limb, piece, outline), 2.0):
            clear.append((-float(score[i]), int(pair[i]), int(column[i]), pose))
    clear.sort(key=lambda c: c[:3])
    out: list[tuple[float, Pose]] = []
    for rule in bp.APART:
        for s, _, _, pose in clear:
            if len(out) < count and all(
                    bp.differ(scene.limb, pose, p, stamp_of(drawing).size_mm, rule) for _, p in out):
                out.append((-s, pose))
    return sorted(out, key=lambda c: -c[0]), len(pair)


def near(a: Pose, b: Pose) -> bool:
    """Whether two poses are one."""
    return replace(a, u=0.0) == replace(b, u=0.0) and abs((a.u - b.u + 0.5) % 1.0 - 0.5) < 1e-9
