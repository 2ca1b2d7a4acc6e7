"""Readings of a whole part: how much skin the pieces take up, and how its tones are spread."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.body.limb import Limb
from composer.body.metric import area
from composer.compose.neighbours import on_skin
from composer.compose.thresholds import COVER_HIGH, COVER_LOW, DARK_APART
from composer.plan.scene import Scene

TONES = ("black", "dark", "mid", "light", "open")


@dataclass(frozen=True)
class PartReading:
    """`cover`: share of the part's skin under main pieces, overlaps counted once, 0..1. `tones`:
    shares of the pieces' own area by tone (they add up to 1, or all 0 without pieces); `lower` and
    `upper`: the same below and above the elbow or knee (the middle where no level is so named).
    `sentences` say it."""

    cover: float
    tones: Mapping[str, float]
    lower: Mapping[str, float]
    upper: Mapping[str, float]
    sentences: tuple[str, ...]


def read_part(scene: Scene, tones: Mapping[str, Mapping[str, float]] | None = None) -> PartReading:
    """Reading of the part. `tones`: shares by tone for each piece id; pieces without are left out.

    What lies behind another piece counts only where it shows. Raises ValueError for a share that
    is negative or not a number.
    """
    limb = scene.limb
    tones = tones or {}
    _check(tones)
    bend, where = next(((lv.s_mm, lv.name) for lv in limb.levels if "elbow" in lv.name.lower()
                        or "knee" in lv.name.lower()), ((limb.s_min + limb.s_max) / 2, "middle"))
    covered: BaseGeometry = shapely.Polygon()
    sums = {half: dict.fromkeys(TONES, 0.0) for half in ("lower", "upper")}
    lower, upper = shapely.box(0, limb.s_min, 1, bend), shapely.box(0, bend, 1, limb.s_max)
    for laid in reversed([x for x in scene.laid if not x.piece.is_filler]):
        shape = _round_limb(on_skin(laid), limb)
        seen = shapely.difference(shape, covered)
        covered = shapely.union(covered, shape)
        for half, box in (("lower", lower), ("upper", upper)):
            a = area(limb, shapely.intersection(seen, box))
            for tone, share in tones.get(laid.piece.id, {}).items():
                if tone in sums[half]:
                    sums[half][tone] += a * share
    cover = area(limb, covered) / limb.area_mm2()
    both = {t: sums["lower"][t] + sums["upper"][t] for t in TONES}
    parts = _shares(both), _shares(sums["lower"]), _shares(sums["upper"])
    return PartReading(float(cover), *parts, tuple(_say(cover, *parts, where)))


def _check(tones: Mapping[str, Mapping[str, float]]) -> None:
    for piece, shares in tones.items():
        for tone, v in shares.items():
            if not np.isfinite(v) or v < 0:
                raise ValueError(f"The share of {tone} in piece '{piece}' must be a number from 0 to 1, not {v}.")


def _round_limb(shape: BaseGeometry, limb: Limb) -> BaseGeometry:
    """The shape folded onto one turn, u in [0, 1], and cut at the ends of the limb."""
    box = shapely.box(0, limb.s_min, 1, limb.s_max)
    u0, _, u1, _ = shape.bounds
    return shapely.union_all([
        shapely.intersection(shapely.transform(shape, lambda p, k=k: p - np.array([k, 0.0])), box)
        for k in range(int(np.floor(u0)), int(np.floor(u1)) + 1)])


def _shares(sums: Mapping[str, float]) -> dict[str, float]:
    total = sum(sums.values())
    return {t: v / total if total > 0 else 0.0 for t, v in sums.items()}


def _say(cover: float, tones: Mapping[str, float], lower: Mapping[str, float], upper: Mapping[str, float],
         where: str) -> list[str]:
    hint = ("; that is sparse for a sleeve, and background alone will have to hold it" if cover < COVER_LOW else
            "; that leaves little room for background" if cover > COVER_HIGH else "")
    out = [f"Pieces take up {100 * cover:.0f}% of the skin{hint if cover > 0 else ''}."]
    if any(tones.values()):
        words = ", ".join(f"{100 * tones[t]:.0f}% {'open skin' if t == 'open' else t}" for t in TONES)
        out.append(f"Their tones: {words}.")
    if any(lower.values()) and any(upper.values()):
        a, b = lower["black"] + lower["dark"], upper["black"] + upper["dark"]
        if abs(a - b) >= DARK_APART:
            out.append(f"Black and dark make up {100 * a:.0f}% of the pieces below the {where} and {100 * b:.0f}% "
                       f"above it: the {'lower' if a > b else 'upper'} half looks heavier.")
    return out
