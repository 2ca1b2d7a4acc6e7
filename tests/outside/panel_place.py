"""Best place on chest and back by trying everything: shapely decides on the paper of each piece what is clear.

The tries and the score are the project's own; independent is the search, and the test for collisions, which goes back
to the outlines as `composer.plan.scene.lay` puts them.
"""

from __future__ import annotations

import numpy as np
import shapely
from skin_cases import blob

from composer.art.drawing import Drawing
from composer.body.panel import Panel
from composer.compose import best_place as bp
from composer.compose.best_place_check import Pose
from composer.compose.best_place_panel import panel_tries
from composer.compose.best_place_tries import stamp_of
from composer.compose.fit_limits import Limits
from composer.plan.model import Piece
from composer.plan.scene import Laid, Scene, lay


def panel_scene(rng: np.random.Generator, panel: Panel, part: str, count: int, low_mm: float, high_mm: float,
                apart_mm: float = 4.0) -> Scene:
    """Blobs thrown on a panel, mostly clear of each other, some over its edges."""
    laid: list[Laid] = []
    taken: list[tuple[np.ndarray, float]] = []
    x0, y0, x1, y1 = panel.form.bounds
    for i in range(count):
        size = rng.uniform(low_mm, high_mm)
        for _ in range(120):
            at = rng.uniform((x0, y0), (x1, y1))
            if panel.within_mm(panel.from_mm(at[None]))[0] > -10 and all(
                    np.hypot(*(at - b)) > (size + z) / 2 * 0.95 + apart_mm for b, z in taken):
                break
        taken.append((at, size))
        u, s = panel.from_mm(at)
        art = blob(rng, size, rng.uniform(0.7, 1.5))
        laid.append(lay(panel, Piece(f"p{i:02d}", part, art.digest, f"Estuary piece {i}", float(u), float(s),
                                     rng.uniform(-40, 40)), art))
    return Scene(panel, -0.5, tuple(laid))


def lay_at(panel: Panel, part: str, art: Drawing, p: Pose) -> Laid:
    """A drawing where a proposal would have it."""
    return lay(panel, Piece("x", part, art.digest, "x", p.u, p.s_mm, p.turn_deg, p.scale, p.flip), art)


def apart_mm(laid: Laid, others: list[Laid]) -> float:
    """Least distance in the patch of a laid piece to the others, 0 where it overlaps one."""
    mine = shapely.union_all([shapely.make_valid(shapely.Polygon(r)) for r in laid.flat.silhouette])
    return min((float(shapely.distance(mine, shapely.make_valid(shapely.Polygon(laid.patch.to_flat(r)))))
                for x in others for r in x.rings), default=np.inf)


def over_edge_mm(panel: Panel, laid: Laid) -> float:
    """How far, sheet mm, a laid piece lies over the outline of the panel at most; 0 where it keeps within."""
    skin = shapely.Polygon(panel.to_mm(panel.outline))
    points = shapely.points(panel.to_mm(np.concatenate(laid.rings)))
    return float(shapely.distance(skin, points).max())


def brute_force(scene: Scene, part: str, art: Drawing, side: dict[str, object], size_range: tuple[float, float],
                count: int, *, sizes: int, step_mm: float, turns: tuple[float, ...],
                skin_break_mm: float) -> tuple[list[tuple[float, Pose]], int]:
    """The best clear poses with their scores, and how many tries there were: every try is laid and measured."""
    panel = scene.limb
    assert isinstance(panel, Panel)
    stamp = stamp_of(art)
    forms = bp.forms_of(stamp, side, size_range, sizes, turns, True)
    tries = panel_tries(panel, part, stamp, forms, side, step_mm, panel.form, Limits())
    form, anchor = (x.ravel() for x in np.meshgrid(np.arange(len(forms)), np.arange(len(tries.at_mm)), indexing="ij"))
    score = tries.score(tries.losses(form, anchor))
    clear = []
    for i in range(len(form)):
        f, (u, s) = forms[form[i]], panel.from_mm(tries.at_mm[anchor[i]])
        pose = Pose(float(u), float(s), f.turn_deg, f.scale, f.flip)
        laid = lay_at(panel, part, art, pose)
        flat = np.abs(laid.patch.stretches(panel, np.concatenate(laid.flat.silhouette)) - 1).max()  # type: ignore[attr-defined]
        if over_edge_mm(panel, laid) == 0 and flat < Limits().stretch_strong \
                and apart_mm(laid, list(scene.laid)) >= skin_break_mm:
            clear.append((-float(score[i]), int(form[i]), int(anchor[i]), pose))
    clear.sort(key=lambda c: c[:3])
    out: list[tuple[float, Pose]] = []
    for rule in bp.APART:
        for s, _, _, pose in clear:
            if len(out) < count and all(bp.differ(panel, pose, p, stamp.size_mm, rule) for _, p in out):
                out.append((-s, pose))
    return sorted(out, key=lambda c: -c[0]), len(form)
