"""How dark background is where: a field of tone over the skin of a part, 0 open skin to 1 as dark as the hand goes.

    tone = (base + sum of w_i (beside_i - base) / max(1, sum of w_i)) * open * cuff

base    the hand's darkness times what the zone of the theme (or the artist, for one filler) makes of it
beside  the tone that keeps its contrast to piece i (`tone_contrast`); w_i is 1 within HOLD_MM of the piece and falls to
        0 over FADE_MM more
open    product over shade lines of ease(depth / fall_mm), depth being how far inside the shaded side a place lies
        (`shade_reach`), and of the raised cosine of fading sleeve edges: at and beyond a line nothing is drawn
cuff    ease(distance to a straight or wavy edge of the sleeve / cuff_mm): washes give out there, lines go on

ease(x) = 3 x^2 - 2 x^3 on 0..1, the cubic with level ends. Fillers have no say. A line goes before contrast: where
shading gives out beside a light piece, the piece is left alone with open skin.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from scipy.spatial import cKDTree

from composer.art.tone_shares import tones_of
from composer.body.kept_skin import OpenLimb
from composer.body.panel import Panel
from composer.body.surface import Surface
from composer.compose.extent import edge_at, ink_weight
from composer.compose.into_chest import chest_weight
from composer.compose.shade_reach import Reach, reach_of
from composer.compose.tone_contrast import OnSkin, on_skin_of
from composer.kept import Kept
from composer.plan.extents import Extent
from composer.plan.model import Settings
from composer.plan.scene import Laid, Scene
from composer.plan.shade_lines import ShadeLine

HOLD_MM, FADE_MM = 4.0, 14.0
"""Contrast to a piece is kept within the first of its outline, and given up over the second (common practice of leaving
a halo, no published source)."""
REACH_MM = HOLD_MM + FADE_MM
ROUGH_MM, SPACED_MM = 0.4, 0.6

_shares: Kept[dict[str, float]] = Kept(4000, lambda _: 1)
"""Shares by tone of drawings by digest."""


def ease(x: np.ndarray) -> np.ndarray:
    """The cubic from 0 to 1 with level ends; 0 below 0, 1 above 1."""
    x = np.clip(x, 0.0, 1.0)
    return x * x * (3.0 - 2.0 * x)


@dataclass(frozen=True, eq=False)
class ToneField:
    """The field of one part. `hand_dark` 0..1; `reaches` of the shade lines with what they fall off over, mm; `edges`
    of the sleeve (None: both ends of the limb, straight), `cuff_mm`; `pieces` the main ones; `run_in` the sleeves that
    run into a chest."""

    limb: Surface
    hand_dark: float
    skin: OnSkin
    reaches: tuple[tuple[Reach, float], ...]
    edges: Extent | None
    cuff_mm: float
    pieces: tuple[Laid, ...]
    run_in: tuple[tuple[str, Extent], ...] = ()

    def tone(self, us: np.ndarray, share: float = 1.0) -> np.ndarray:
        """Tone (n,) at skin points (n, 2) of (u, s); the base is the hand's darkness times `share`."""
        us = np.asarray(us, float)
        return self.before_falls(us, share) * self.open(us) * self.cuff(us)

    def open(self, us: np.ndarray) -> np.ndarray:
        """How much background is let (n,): 0 at and beyond a shade line, 1 where nothing gives out."""
        us = np.asarray(us, float)
        out = np.ones(len(us))
        for reach, fall_mm in self.reaches:
            out *= ease(reach.depth_mm(us) / fall_mm)
        if self.fades and self.edges is not None:
            out *= ink_weight(self.limb, self.edges, us)
        if self.fades and isinstance(self.limb, Panel):
            out *= chest_weight(self.limb, self.run_in, us)
        return out

    def cuff(self, us: np.ndarray) -> np.ndarray:
        """How much of its tone background keeps (n,) towards the sleeve's straight and wavy edges."""
        us = np.asarray(us, float)
        out = np.ones(len(us))
        if not self.limb.closed or self.cuff_mm <= 0:
            return out
        ends = [(us[:, 1] - self.limb.s_min), (self.limb.s_max - us[:, 1])]
        for k, inside in enumerate(ends):
            edge = None if self.edges is None else (self.edges.far, self.edges.on_limb.near)[k]
            if k == 1 and self._runs_on:
                continue
            if edge is not None:
                if edge.form == "fading":
                    continue
                inside = (us[:, 1] - edge_at(self.limb, edge, us[:, 0])) * (1.0 if k == 0 else -1.0)
            out *= ease(inside / self.cuff_mm)
        return out

    def before_falls(self, us: np.ndarray, share: float = 1.0) -> np.ndarray:
        """Tone (n,) before it falls off at lines and cuffs: the base, held apart from the pieces."""
        us = np.asarray(us, float)
        base = float(np.clip(self.hand_dark * share, 0.0, 1.0))
        pull, weight = np.zeros(len(us)), np.zeros(len(us))
        if not len(us):
            return base + pull
        beside, (low, high) = self._beside(base), (us[:, 1].min(), us[:, 1].max())
        for laid in self.pieces:
            target, (_, _, first, last) = beside[laid.piece.id], self._boxes[laid.piece.id]
            if target == base or first >= high or last <= low:
                continue
            i, far = self._near(laid, us)
            if not len(i):
                continue
            w = 1.0 - ease((far - HOLD_MM) / FADE_MM)
            pull[i] += w * (target - base)
            weight[i] += w
        return base + pull / np.maximum(1.0, weight)

    def _beside(self, base: float) -> dict[str, float]:
        """The tone that keeps its contrast to each main piece, by id, where the base is this."""
        if base not in self._targets:
            self._targets[base] = {name: self.skin.beside(base, light) for name, light in self.lights.items()}
        return self._targets[base]

    @cached_property
    def _targets(self) -> dict[float, dict[str, float]]:
        return {}

    @cached_property
    def lights(self) -> dict[str, float]:
        """CIE L* of each main piece on this skin, by id."""
        out = {}
        for x in self.pieces:
            shares = _shares.once(x.piece.art or x.flat.digest, lambda x=x: tones_of(x.flat))
            out[x.piece.id] = self.skin.piece(shares)
        return out

    @cached_property
    def _outlines(self) -> dict[str, tuple[shapely.Geometry, cKDTree]]:
        """Each main piece's silhouette, prepared, and places SPACED_MM apart along its outline, in its patch."""
        out = {}
        for x in self.pieces:
            outline = shapely.simplify(x.flat.outline, ROUGH_MM)
            shapely.prepare(outline)
            out[x.piece.id] = outline, cKDTree(shapely.get_coordinates(shapely.segmentize(outline, SPACED_MM)))
        return out

    @cached_property
    def _boxes(self) -> dict[str, tuple[float, float, float, float]]:
        """Where on skin each main piece has any weight: middle and half width (turns), lowest and highest (mm)."""
        out = {}
        for x in self.pieces:
            rings = np.concatenate(x.rings)
            (u0, s0), (u1, s1) = rings.min(axis=0), rings.max(axis=0)
            least = float(np.min(self.limb.girth(np.clip((s0, s1), self.limb.s_min, self.limb.s_max))))
            out[x.piece.id] = (u0 + u1) / 2, (u1 - u0) / 2 + REACH_MM / least * 1.2, s0 - REACH_MM, s1 + REACH_MM
        return out

    def _near(self, laid: Laid, us: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Which points lie near a piece, and how far from its outline, mm in its patch (0 on it)."""
        middle, wide, low, high = self._boxes[laid.piece.id]
        i = np.flatnonzero((us[:, 1] > low) & (us[:, 1] < high))
        u = us[i, 0] - np.round(us[i, 0] - middle) if self.limb.closed else us[i, 0]
        hit = np.abs(u - middle) < wide
        i, u = i[hit], u[hit]
        if not len(i):
            return i, np.zeros(0)
        flat = laid.patch.to_flat(np.column_stack([u, us[i, 1]]))
        outline, places = self._outlines[laid.piece.id]
        far, _ = places.query(flat, distance_upper_bound=REACH_MM)     # beyond that it has no weight
        far[shapely.contains_xy(outline, *flat.T)] = 0.0
        return i, np.minimum(far, REACH_MM)

    @property
    def fades(self) -> bool:
        """Whether an edge of the sleeve fades."""
        on_limb = () if self.edges is None else (self.edges.far, self.edges.on_limb.near)
        return "fading" in (e.form for e in (*on_limb, *(e.near for _, e in self.run_in)))

    @property
    def _runs_on(self) -> bool:
        """Whether the sleeve goes on above its upper edge, which is no cuff then."""
        on = isinstance(self.limb, OpenLimb) and self.limb.runs_on
        return on or (self.edges is not None and self.edges.chest_mm > 0)


def tone_field(scene: Scene, settings: Settings) -> ToneField:
    """The field of a part for the plan's hand and the client's skin."""
    shade = scene.shade
    mains = tuple(x for x in scene.laid if not x.piece.is_filler) if shade.contrast else ()
    return ToneField(scene.limb, settings.hand.dark, on_skin_of(settings.skin),
                     tuple((reach_of(scene.limb, x), x.fall_mm) for x in shade.lines), scene.sleeve, shade.cuff_mm,
                     mains, scene.run_in)


def larger_side(limb: Surface, line: ShadeLine, beside: Sequence[ShadeLine] = ()) -> int:
    """The side of a new line on which more skin lies that other lines leave shaded: 1 or -1. Shading goes 'up to
    here' from where there is more of it."""
    s = np.arange(limb.s_min + 4.0, limb.s_max, 8.0)
    u = (np.arange(48) + 0.5) / 48 - 0.5
    us = np.column_stack([np.tile(u, len(s)), np.repeat(s, len(u))])
    if not limb.closed:
        us = us[limb.inside(us)]
    for other in beside:
        us = us[reach_of(limb, other).inside(us)]
    if not len(us):
        return line.side
    here = reach_of(limb, line).inside(us)
    weight = limb.girth(us[:, 1])
    return line.side if (weight * here).sum() * 2 >= weight.sum() else -line.side
