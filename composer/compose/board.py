"""A part as a whole: cover, tones by side, main pieces, flow and contrast, in numbers and words.

The skin is looked at in spots about 3 mm apart; each shows the foremost piece or background over it.
Shares are of skin, not of the picture: what lies at the edge of a view counts like its middle.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import shapely

from composer.body.panel import Panel
from composer.compose.board_say import say_board
from composer.compose.chart import chart_of
from composer.compose.extent import ink_weight
from composer.compose.fit_limits import Limits
from composer.compose.fit_near import body_of, clearances
from composer.compose.fit_seen import seen_from, views_of
from composer.compose.gaps import Survey
from composer.compose.into_chest import chest_weight
from composer.compose.words import border_titles, names_of
from composer.plan.extents import Extent
from composer.plan.scene import Scene

TONES = ("black", "dark", "mid", "light", "open")
SPOT_MM = 3.0
GOLDEN = (np.sqrt(5.0) - 1) / 2


@dataclass(frozen=True)
class Share:
    """Of some skin: `pieces`, `background`, `bare` (they add up to 1), and `tones` of the pieces and backgrounds
    whose tones are known, shares that add up to 1 (all 0 where none is)."""

    pieces: float
    background: float
    bare: float
    tones: Mapping[str, float]


@dataclass(frozen=True)
class Focus:
    """What draws the eye from one side: ids of the focal pieces that show there, the largest first, with mm2
    of each that shows."""

    pieces: tuple[str, ...]
    seen_mm2: tuple[float, ...]


@dataclass(frozen=True)
class Contrast:
    """Two neighbours: how far they lie apart, mm, and by how much the share of black and dark differs, 0..1."""

    a: str
    b: str
    clearance_mm: float
    apart: float


@dataclass(frozen=True)
class Board:
    """The plan-wide readings of a part. `area_mm2` of skin looked at; `whole`, and by the part's `views`, the `Share`;
    `focus` by view; `flow` 0..1: how far the background's direction runs along the ties, weighted by their
    strength (None without a survey or ties); `broken`: ties that the flow crosses, as pairs of ids, strongest first;
    `contrasts` between neighbours, the weakest first, and their `contrast` mean; `said` the sentences about cover,
    tones, focus, flow and contrast; `seen_mm2` what shows of each piece and filler; `outside`: main pieces that lie
    wholly beyond the sleeve's edges, which count for nothing."""

    area_mm2: float
    whole: Share
    views: Mapping[str, Share]
    focus: Mapping[str, Focus]
    flow: float | None
    broken: tuple[tuple[str, str], ...]
    contrasts: tuple[Contrast, ...]
    contrast: float | None
    said: Mapping[str, tuple[str, ...]]
    seen_mm2: Mapping[str, float] = field(default_factory=dict)
    outside: frozenset[str] = frozenset()

    @property
    def sentences(self) -> tuple[str, ...]:
        """All that is said, in order."""
        return tuple(s for words in self.said.values() for s in words)


def board(scene: Scene, tones: Mapping[str, Mapping[str, float]] | None = None,
          sides: Mapping[str, Mapping[str, Any]] | None = None, survey: Survey | None = None,
          extent: Extent | None = None, limits: Limits | None = None, part: str = "",
          unit: str = "cm") -> Board:
    """The board of a part; of a chest that sleeves run into, of what they take of it.

    `tones`: shares by tone for each piece or background id (those of `sides` where not given). `sides`: side files by
    piece id (focal, tones). `extent`: the sleeve, the whole part by default. `unit`: of the sentences.

    On chest and back areas are those of the flat sheet. Raises ValueError for a share that is no share.
    """
    limits, sides = limits or Limits(), sides or {}
    part = part or next((x.piece.part for x in scene.laid), "left_arm")
    known = {i: s["tones"] for i, s in sides.items() if s.get("tones")} | dict(tones or {})
    _check(known)
    us, weight = _spots(scene, extent)
    owner = _owners(scene, us)
    views = seen_from(scene.limb, part, us)
    look = {n: views[:, k] for k, n in enumerate(views_of(part))}
    whole = _share(scene, owner, weight, known)
    by_view = {n: _share(scene, owner, np.where(m, weight, 0.0), known) for n, m in look.items()}
    focal = [i for i, x in enumerate(scene.laid) if not x.piece.is_filler and sides.get(x.piece.id, {}).get("focal")]
    focus = {n: _focus(scene, owner, weight, m, focal, limits) for n, m in look.items()}
    flow, broken = _flow(survey)
    outside = _outside(scene, extent)
    contrasts = _contrasts(scene, known, limits, outside)
    mean = float(np.mean([c.apart for c in contrasts])) if contrasts else None
    names = names_of(border_titles(part) | {x.piece.id: x.piece.title for x in scene.laid if not x.piece.is_filler})
    shown = np.bincount(owner + 1, weight, minlength=len(scene.laid) + 1)[1:].tolist()
    out = Board(float(weight.sum()), whole, by_view, focus, flow, broken, contrasts, mean, {},
                {x.piece.id: a for x, a in zip(scene.laid, shown, strict=True)}, outside)
    return replace(out, said=say_board(out, names, limits, bool(focal), unit))


def _check(tones: Mapping[str, Mapping[str, float]]) -> None:
    for piece, shares in tones.items():
        for tone, v in shares.items():
            if isinstance(v, bool) or not isinstance(v, int | float) or not np.isfinite(v) or v < 0:
                raise ValueError(f"The share of {tone} in piece '{piece}' must be a number from 0 to 1, not {v}.")


def _spots(scene: Scene, extent: Extent | None) -> tuple[np.ndarray, np.ndarray]:
    """Skin points (n, 2) with u in [0, 1) on a limb, and the mm2 of skin that each stands for: up the limb by
    equal area, each on by the golden section round it, so that no piece's edge runs along a row of them."""
    surface = scene.limb
    s = np.linspace(surface.s_min, surface.s_max, 2001)
    below = surface.area_below(s)
    n = max(400, int(below[-1] / SPOT_MM**2))
    i = np.arange(n)
    u = ((i + 0.5) * GOLDEN) % 1.0 - (0.0 if surface.closed else 0.5)
    us = np.column_stack([u, np.interp((i + 0.5) / n * below[-1], below, s)])
    weight = np.full(n, float(below[-1]) / n)
    weight = weight * _planned(scene, extent, us)
    return us[weight > 0], weight[weight > 0]


def _planned(scene: Scene, extent: Extent | None, us: np.ndarray) -> np.ndarray:
    """How much of what is planned there is at skin points (n, 2), 0 to 1."""
    if isinstance(scene.limb, Panel):
        return scene.limb.inside(us) * (chest_weight(scene.limb, scene.run_in, us) if scene.run_in else 1.0)
    return np.ones(len(us)) if extent is None else ink_weight(scene.limb, extent, us)


def _owners(scene: Scene, us: np.ndarray) -> np.ndarray:
    """Place in the scene of the foremost thing over each point (n,), -1 where skin is bare."""
    ut = chart_of(scene.limb).to_chart(us)
    order = np.argsort(ut[:, 1], kind="stable")
    u, t = ut[order].T
    owner = np.full(len(us), -1)
    for i, x in enumerate(scene.laid):
        body = body_of(scene.limb, x)
        u0, t0, u1, t1 = body.box
        a, b = np.searchsorted(t, [t0, t1])
        turns = range(int(np.floor(u0)), int(np.floor(u1)) + 1) if scene.limb.closed else range(1)
        for k in turns:
            near = a + np.flatnonzero((u[a:b] + k >= u0) & (u[a:b] + k <= u1))
            hit = near[shapely.contains_xy(body.cover, u[near] + k, t[near])]
            owner[order[hit]] = i
    return owner


def _share(scene: Scene, owner: np.ndarray, weight: np.ndarray, known: Mapping[str, Mapping[str, float]]) -> Share:
    total = float(weight.sum())
    by = np.bincount(owner + 1, weight, minlength=len(scene.laid) + 1)
    if total <= 0:
        return Share(0.0, 0.0, 0.0, dict.fromkeys(TONES, 0.0))
    sums = dict.fromkeys(TONES, 0.0)
    back = 0.0
    for x, a in zip(scene.laid, by[1:], strict=True):
        back += a if x.piece.is_filler else 0.0
        for tone, share in known.get(x.piece.id, {}).items():
            if tone in sums:
                sums[tone] += float(a) * share
    inked = sum(sums.values())
    return Share(float(by[1:].sum() - back) / total, back / total, float(by[0]) / total,
                 {t: v / inked if inked > 0 else 0.0 for t, v in sums.items()})


def _focus(scene: Scene, owner: np.ndarray, weight: np.ndarray, seen: np.ndarray, focal: Sequence[int],
           limits: Limits) -> Focus:
    """Focal pieces of which enough shows from a side."""
    found = []
    for i in focal:
        own = owner == i
        whole, here = float(weight[own].sum()), float(weight[own & seen].sum())
        if whole > 0 and here >= limits.focal_share * whole:
            found.append((-here, scene.laid[i].piece.id))
    found.sort()
    return Focus(tuple(i for _, i in found), tuple(-a for a, _ in found))


def _flow(survey: Survey | None) -> tuple[float | None, tuple[tuple[str, str], ...]]:
    if survey is None or not survey.ties:
        return None, ()
    strength = np.array([t.strength for t in survey.ties])
    agree = np.array([t.agree for t in survey.ties])
    broken = tuple((t.a, t.b) for t in survey.ties if t.agree < 0.25)
    return float((strength * agree).sum() / max(strength.sum(), 1e-9)), broken


def _outside(scene: Scene, extent: Extent | None) -> frozenset[str]:
    """Main pieces of which nothing reaches into the sleeve."""
    if extent is None and not scene.run_in:
        return frozenset()
    bodies = {x.piece.id: body_of(scene.limb, x) for x in scene.laid if not x.piece.is_filler}
    return frozenset(i for i, b in bodies.items()
                     if not _planned(scene, extent, np.concatenate([b.us, b.inner_us])).any())


def _contrasts(scene: Scene, known: Mapping[str, Mapping[str, float]], limits: Limits,
               outside: frozenset[str]) -> tuple[Contrast, ...]:
    main = [x for x in scene.laid if not x.piece.is_filler and known.get(x.piece.id) and x.piece.id not in outside]
    dark = [known[x.piece.id].get("black", 0.0) + known[x.piece.id].get("dark", 0.0) for x in main]
    found = [Contrast(main[p.a].piece.id, main[p.b].piece.id, p.clearance_mm, abs(dark[p.a] - dark[p.b]))
             for p in clearances(scene.limb, main, limits.near_mm)]
    return tuple(sorted(found, key=lambda c: (c.apart, c.clearance_mm, c.a, c.b)))
