"""What is measured of pieces as they lie, each by itself: numbers only, for many pieces at once.

Kept for each piece as it lies, so that after a move one piece is measured and the rest looked up.
Limbs without the landmark levels have no zones and poses: those are None there.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import shapely

from composer.body.distort import stretches
from composer.body.limb import Limb
from composer.body.motion import is_known, poses_of, worst
from composer.body.panel import Panel
from composer.body.panel_patch import PanelPatch
from composer.body.surface import Surface
from composer.body.zones import Zones, zones_of
from composer.compose.chart import chart_of
from composer.compose.fit_lines import LineGaps, line_gaps
from composer.compose.fit_near import body_of
from composer.compose.fit_samples import Memo, Samples, inside_limb, key_of, samples_of
from composer.compose.fit_seen import best_of, seen_from
from composer.plan.scene import Laid

EDGE_EVERY = 5
JOINTS = ("elbow", "ditch", "crease", "knee")
"""Words that name a level where skin bends."""


@dataclass(frozen=True)
class Client:
    """What of the client changes a reading: figures of zones, girths taped flexed (mm by field)."""

    zones: str = ""
    flexed: tuple[tuple[str, float], ...] = ()


def client_of(zones: Mapping[str, Any] | None = None, flexed_mm: Mapping[str, float] | None = None) -> Client:
    """The client's own figures as something that can be compared."""
    return Client(json.dumps(zones, sort_keys=True) if zones else "", tuple(sorted((flexed_mm or {}).items())))


@dataclass(frozen=True, eq=False)
class Facts:
    """Numbers of one piece. `stretch` (least, most): singular values of paper to skin; `stretch_at`
    (u, s) of the worst; `off` share of it that is off by each of some stretches is `off_by` (n,)
    sorted. `flex` (along, round) worst strain with its sign, `flex_pose` its pose, `flex_s` its level, `flex_zone`
    its zone in words; `fold_share`. `seen` share from each of the part's views, `view` index of the best. `crosses`
    joint levels (of chest and back the armholes) and
    how far (mm) the piece reaches past each on its shorter side. `bone_share`, `bones` zones by
    share. `gaps` between lines; `span` (s from, s to) mm; `middle` (u, s)."""

    samples: Samples
    stretch: tuple[float, float]
    stretch_at: tuple[float, float]
    off_by: np.ndarray
    flex: tuple[float, float] | None
    flex_pose: str
    flex_s: float
    flex_zone: str
    fold_share: float
    seen: tuple[float, ...]
    view: int
    crosses: tuple[tuple[str, float], ...]
    bone_share: float | None
    bones: tuple[str, ...]
    gaps: LineGaps | None
    span: tuple[float, float]
    middle: tuple[float, float]


_facts: Memo[Facts] = Memo()


@lru_cache(maxsize=64)
def zone_map(limb: Surface, part: str, zones: str) -> Zones:
    """The zones of a part (kept). Raises ZoneError."""
    return zones_of(part, limb, json.loads(zones) if zones else None)


def facts_of(surface: Limb, laid: Sequence[Laid], client: Client, lines: bool = True) -> list[Facts]:
    """Facts of each piece. Without `lines` the gaps between lines are left out where not known yet."""
    keys = [(surface, x.piece.part, x.piece.scale, key_of(x), client, lines) for x in laid]
    new = {k: x for k, x in zip(keys, laid, strict=True) if k not in _facts}
    made = dict(zip(new, _measure(surface, list(new.values()), client, lines), strict=True)) if new else {}
    for k, v in made.items():
        _facts.put(k, v)
    return [made[k] if k in made else _facts[k] for k in keys]


def _measure(surface: Limb, laid: Sequence[Laid], client: Client, lines: bool) -> list[Facts]:
    bodies = [body_of(surface, x) for x in laid]
    samples = [samples_of(x) for x in laid]
    points = [np.concatenate([b.inner_us, b.us[::EDGE_EVERY]]) for b in bodies]
    keep = [inside_limb(surface, p) for p in points]
    stop = np.cumsum([len(p) for p in points])
    every = np.concatenate(points)
    flex = zone = zones = None
    part = laid[0].piece.part
    seen = seen_from(surface, part, every)
    if is_known(surface, part):
        flex = worst(surface, part, every, dict(client.flexed))
        zones = zone_map(surface, part, client.zones)
        zone = zones.at(every)
    out = []
    for k, (x, b, s) in enumerate(zip(laid, bodies, samples, strict=True)):
        rows = slice(stop[k] - len(points[k]), stop[k])
        n = len(b.inner_us)
        within = keep[k]
        both = _stretches(surface, x, points[k], np.concatenate([s.inner, s.edge[::EDGE_EVERY]]))
        off = np.abs(both - 1).max(axis=1)
        at = int(np.where(within, off, -1.0).argmax())
        low, high = float(b.us[:, 1].min()), float(b.us[:, 1].max())
        middle = b.inner_us.mean(axis=0)
        pose, along_round, level, spot = "", None, middle[1], ""
        folds, bone = 0.0, None
        bones: tuple[str, ...] = ()
        each = seen[rows][:n].mean(axis=0)
        shares, view = tuple(map(float, each)), best_of(part, float(middle[0]), each)
        if flex is not None and zone is not None and zones is not None:
            strain = np.where(within[:, None], flex.strain[rows], 0.0)
            i = np.abs(strain).argmax(axis=0)
            along_round = float(strain[i[0], 0]), float(strain[i[1], 1])
            j = int(np.abs(along_round).argmax())
            pose, level = poses_of(part)[int(flex.pose[rows][i[j], j])], points[k][i[j], 1]
            spot = zones.zones[int(zone[rows][i[j]])].label
            inner = within[:n] if within[:n].any() else np.ones(n, bool)
            folds = float(flex.folds[rows][:n][inner].mean())
            share = np.bincount(zone[rows][:n][inner], minlength=len(zones.zones)) / inner.sum()
            over = [(v, z.label) for v, z in zip(share, zones.zones, strict=True) if z.over_bone and v > 0]
            bone, bones = float(sum(v for v, _ in over)), tuple(label for _, label in sorted(over, reverse=True))
        out.append(Facts(s, (float(both[within].min()), float(both[within].max())),
                         (float(points[k][at, 0]), float(points[k][at, 1])), np.sort(off[:n]), along_round, pose,
                         float(level), spot, folds, shares, view, _crossed(surface, b.us), bone, bones,
                         line_gaps(x) if lines else None, (low, high), (float(middle[0]), float(middle[1]))))
    return out


def _crossed(surface: Limb | Panel, us: np.ndarray) -> tuple[tuple[str, float], ...]:
    """Joint lines that an outline (n, 2) runs over, and how far it reaches past each on its shorter side, mm: levels of
    a limb; of chest and back the armholes, where the arm folds against the trunk."""
    if not isinstance(surface, Panel):
        low, high = float(us[:, 1].min()), float(us[:, 1].max())
        return tuple((lv.name, float(min(lv.s_mm - low, high - lv.s_mm))) for lv in surface.levels
                     if any(w in lv.name.lower() for w in JOINTS) and low < lv.s_mm < high)
    within = surface.inside(us)
    if within.all() or not within.any():
        return ()
    xy = shapely.points(surface.to_mm(us))
    lines = [(e.name, shapely.distance(shapely.LineString(surface.to_mm(e.us)), xy)) for e in surface.edges]
    nearest = np.array([mm for _, mm in lines]).argmin(axis=0)
    out = []
    for k, (name, mm) in enumerate(lines):
        past = ~within & (nearest == k)
        if name.startswith("armhole") and past.any():
            out.append((f"{name.split('_')[1]} armhole", float(min(mm[past].max(), mm[within].max()))))
    return tuple(out)


def _stretches(surface: Limb, laid: Laid, us: np.ndarray, xy: np.ndarray) -> np.ndarray:
    """Singular values (n, 2), larger first, of paper to skin."""
    if isinstance(laid.patch, PanelPatch):
        return stretches(surface, laid.patch, xy)
    cone = laid.patch.c1_mm + laid.patch.b * (us[:, 1] - laid.patch.s0_mm)
    with np.errstate(divide="ignore"):
        r = np.where(cone > 0, chart_of(surface).girth(us[:, 1]) / np.maximum(cone, 0.0), np.inf)
    return np.column_stack([np.maximum(r, 1.0), np.minimum(r, 1.0)])
