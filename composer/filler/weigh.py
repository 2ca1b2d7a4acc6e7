"""How well a whole background sits between the pieces: what is weighed when one is chosen among many.

Open skin is looked at in spots a few mm apart, placed in space, so that there is no seam. A straight line in
space is shorter than the way over skin by at most 1.5% over 30 mm on a limb of 260 mm girth (chord to arc of a
circle, from memory), and nothing longer is compared. What counts, and how much, are the project's own rules.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry import Polygon

from composer.compose.tone_field import tone_field
from composer.filler.held import REACH_MM, spots_in
from composer.plan.model import Settings
from composer.plan.scene import Laid, Scene

if TYPE_CHECKING:
    from composer.compose.gaps import Survey
    from composer.compose.ties import Tie

STEP_MM = 4.0
EDGE_MM = 1.5
BAND = (0.35, 0.55)
"""Coefficient of variation of the empty circles' radii between which a background is neither a pattern nor a
scatter (DESIGN.md, section 4)."""

LEAST_VOID_MM = 3.0
WIDE_MM = 9.0
"""Skin farther than this from any ink or edge reads as a hole."""

BARE = 0.25
"""Skin where shade lines let background less than this is to stay bare, and is not weighed."""
CARRIED_MM = 8.0
SEAM_MM = 5.0
"""An edge of a gap so near to a seam with a gap over it is no edge."""
SHARES = {"reach": 0.26, "even": 0.18, "closed": 0.18, "flow": 0.12, "variety": 0.10, "balance": 0.16}
MUST = 0.5
"""What is taken off the total for a must that is not carried at all."""


@dataclass(frozen=True, eq=False)
class Place:
    """The open skin that is weighed: `us` spots (n, 2) of (u, s), `xyz` (n, 3) mm in space, `wall` (n,) mm to the
    nearest piece or border, `sector` (n,) 0..5 (three lengths of the limb, two sides)."""

    scene: Scene
    us: np.ndarray
    xyz: np.ndarray
    wall: np.ndarray
    sector: np.ndarray
    ways: dict[Tie, np.ndarray] = field(default_factory=dict)
    """Ways (n, 3) mm in space of ties that don't lie on this scene's skin alone."""

    def way(self, tie: Tie) -> np.ndarray:
        """The way of a tie from port to port, (n, 3) mm in space."""
        if tie in self.ways:
            return self.ways[tie]
        a, b = np.array(tie.from_port), np.array(tie.to_port)
        return self.scene.limb.embed(a + (b - a) * np.linspace(0, 1, 13)[:, None])

    @cached_property
    def tree(self) -> cKDTree:
        return cKDTree(self.xyz)


@dataclass(frozen=True, eq=False)
class Seen:
    """One filler as weighed: `far` (n,) mm from each spot to its form, 0 inside it; `kind`; `ink`: share of its form
    that is line or black; `along` 0..1: how far its strokes run with the flow; `size` mm2 of its form."""

    far: np.ndarray
    kind: str
    ink: float
    along: float
    size: float


def place_of(scene: Scene, survey: Survey, seams: np.ndarray | None = None) -> Place:
    """The spots of all gaps. `seams`: places (n, 2) of seams over which background runs on, so that a gap's edge there
    is no wall. Raises ValueError when there is no gap."""
    rows = [spots_in(g, STEP_MM / float(scene.limb.girth(g.centre[1])), STEP_MM) for g in survey.gaps]
    us = np.concatenate(rows) if rows else np.zeros((0, 2))
    us = us[tone_field(scene, Settings()).open(us) > BARE] if len(us) else us
    if not len(us):
        raise ValueError("There is no open gap on this part; place the main pieces first.")
    xyz = scene.limb.embed(us)
    walls = [np.asarray(shapely.segmentize(Polygon(r * (300.0, 1.0)), 3.0).exterior.coords) / (300.0, 1.0)
             for g in survey.gaps for r in g.rings]
    rim = scene.limb.embed(np.concatenate(walls))
    if seams is not None and len(seams):
        shut = cKDTree(scene.limb.embed(seams)).query(rim)[0] > SEAM_MM
        rim = rim[shut] if shut.any() else rim
    wall = cKDTree(rim).query(xyz)[0] + survey.skin_break_mm
    length = (us[:, 1] - scene.limb.s_min) / (scene.limb.s_max - scene.limb.s_min)
    sector = np.clip((length * 3).astype(int), 0, 2) * 2 + ((us[:, 0] % 1.0) < 0.5)
    return Place(scene, us, xyz, wall, sector)


def seen(place: Place, laid: Laid, flow: Callable[[np.ndarray], np.ndarray]) -> Seen:
    """What a filler laid on skin does to the place. `flow`: directions (radians) at points of its chart, as its
    kind was given them."""
    size = max(laid.flat.outline.area, 1e-6)
    kind = laid.piece.recipe.kind if laid.piece.recipe else ""
    return Seen(far_from(place, laid), kind, min(laid.flat.ink("line", "black").area / size, 1.0),
                _along(laid, flow), size)


def far_from(place: Place, laid: Laid) -> np.ndarray:
    """How far each spot lies from a filler's form, mm (n,); 0 inside it."""
    form = laid.flat.outline
    rim = np.concatenate([np.asarray(shapely.segmentize(Polygon(r), EDGE_MM).exterior.coords)
                          for r in laid.flat.silhouette])
    far = cKDTree(place.scene.limb.embed(laid.patch.to_skin(rim))).query(place.xyz)[0]
    shapely.prepare(form)
    for turn in (-1.0, 0.0, 1.0):
        flat = laid.patch.to_flat(place.us + np.array([turn - np.round(laid.patch.u0), 0.0]))
        far[shapely.contains_xy(form, flat[:, 0], flat[:, 1])] = 0.0
    return far.astype(np.float32)


def _along(laid: Laid, flow: Callable[[np.ndarray], np.ndarray]) -> float:
    """Mean of cos 2a, a between the long axes of the strokes and the flow, by their length, made 0..1: 0.5 is
    what strokes in all directions have."""
    rows = [r for la in laid.flat.layers if la.role in ("line", "black") for r in la.rings if len(r) > 3]
    if not rows:
        return 1.0
    mid = np.array([r.mean(axis=0) for r in rows])
    cov = np.array([np.cov((r - r.mean(axis=0)).T) for r in rows])
    value, vector = np.linalg.eigh(cov)
    long, thin = np.sqrt(np.maximum(value[:, 1], 1e-9)), np.sqrt(np.maximum(value[:, 0], 0.0))
    weight = long - thin
    own = np.arctan2(vector[:, 1, 1], vector[:, 0, 1])
    return 0.5 + 0.5 * float((weight * np.cos(2 * (own - flow(mid)))).sum() / max(weight.sum(), 1e-9))


def figures(place: Place, chosen: Sequence[Seen], ties: Sequence[Tie] = ()) -> dict[str, float]:
    """What a background of these fillers comes to, each 0..1 and 1 the best: `reach` share of the open skin within
    5 mm of it; `even` how near the empty circles' variation lies to BAND (`void_cv`, as it is); `closed` share of the
    skin that is in no wide hole; `flow` along the flow; `variety` two or three kinds, none of them a speck;
    `balance` of dark over six sectors; `musts` share of the must `ties` that are carried; and the `total`."""
    far = np.min([c.far for c in chosen], axis=0) if chosen else np.full(len(place.us), np.inf)
    left = np.minimum(far, place.wall)
    cv = _void_cv(place, np.where(far > 0, left, 0.0))
    size = np.array([c.size for c in chosen]) if chosen else np.zeros(0)
    out = {
        "reach": float((far <= REACH_MM).mean()),
        "even": float(np.exp(-8.0 * max(BAND[0] - cv, cv - BAND[1], 0.0))),
        "closed": float((left <= WIDE_MM).mean()),
        "flow": float((size * [c.along for c in chosen]).sum() / size.sum()) if chosen else 0.0,
        "variety": _variety(place, chosen),
        "balance": _balance(place, chosen),
        "musts": float(np.mean([carried(place, far, t) for t in ties])) if ties else 1.0,
    }
    total = sum(out[k] * w for k, w in SHARES.items()) - MUST * (1.0 - out["musts"])
    return {**{k: round(v, 4) for k, v in out.items()}, "void_cv": round(cv, 4), "total": round(total, 4)}


def carried(place: Place, far: np.ndarray, tie: Tie) -> float:
    """Share (0..1) of the way from port to port of a tie along which background lies within CARRIED_MM; spots on
    pieces do not count against it."""
    near, spot = place.tree.query(place.way(tie))
    open_ = near <= 1.5 * STEP_MM
    return float((far[spot[open_]] <= CARRIED_MM).mean()) if open_.any() else 1.0


def _void_cv(place: Place, left: np.ndarray) -> float:
    """Coefficient of variation of the radii of empty circles, the largest first, none across another."""
    left, radii = left.copy(), []
    while len(radii) < 80:
        k = int(np.argmax(left))
        r = float(left[k])
        if r < LEAST_VOID_MM:
            break
        radii.append(r)
        left[np.linalg.norm(place.xyz - place.xyz[k], axis=1) < 1.6 * r] = 0.0
    return float(np.std(radii) / np.mean(radii)) if len(radii) > 1 else 0.0


def _variety(place: Place, chosen: Sequence[Seen]) -> float:
    """1 for two or three kinds of which each holds a twelfth or more; less for one, and for a clutter."""
    held = kinds(place, chosen)
    large = sum(v >= 1 / 12 for v in held.values())
    return {0: 0.0, 1: 0.5, 2: 1.0, 3: 1.0}.get(large, 0.6) - 0.1 * min(len(held) - large, 3)


def kinds(place: Place, chosen: Sequence[Seen]) -> Mapping[str, float]:
    """Share of the open skin that each kind holds, nearest first."""
    if not chosen:
        return {}
    who = np.argmin([c.far for c in chosen], axis=0)
    out: dict[str, float] = {}
    for i, c in enumerate(chosen):
        out[c.kind] = out.get(c.kind, 0.0) + float((who == i).mean())
    return out


def _balance(place: Place, chosen: Sequence[Seen]) -> float:
    """1 when the dark of the background is spread alike over the six sectors, the less the more it varies."""
    if not chosen:
        return 0.0
    dark = np.max([np.where(c.far <= 0, c.ink, 0.0) for c in chosen], axis=0)
    held = np.bincount(place.sector, minlength=6)
    mean = np.bincount(place.sector, dark, minlength=6)[held > 20] / held[held > 20]
    if not len(mean) or mean.mean() <= 0:
        return 0.0
    return float(1.0 / (1.0 + np.std(mean) / mean.mean()))
