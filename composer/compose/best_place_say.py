"""A proposed place in words: where it is, and what it gives up for what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

import numpy as np
import shapely

from composer.art.drawing import rings_to_geometry
from composer.body.motion import is_known
from composer.body.panel import Panel
from composer.body.surface import Surface
from composer.body.units import format_length
from composer.compose.best_place_score import WEIGHTS
from composer.compose.fit_facts import client_of, zone_map
from composer.compose.fit_readings import PieceFit
from composer.compose.fit_seen import views_of
from composer.compose.gaps import Survey

GIVES = {"size": "it is the largest", "stretch": "the stencil lies flattest", "tilt": "it stands straightest",
         "joints": "it keeps off the joint", "facing": "it looks the usual way",
         "seen": "it is seen best from one side", "flex": "the skin moves least",
         "folds": "no skin folds there", "bone": "no bone lies under it",
         "shown": "it is most on show"}
TELL = 0.012
"""From so much lost or won (of a score of 1) it is told."""


class Placed(Protocol):
    """What is said of a proposal."""

    @property
    def u(self) -> float: ...
    @property
    def s_mm(self) -> float: ...
    @property
    def score(self) -> float: ...
    @property
    def losses(self) -> Mapping[str, float]: ...
    @property
    def clear_mm(self) -> float: ...
    @property
    def readings(self) -> PieceFit: ...
    @property
    def gap(self) -> int | None: ...


def gap_at(survey: Survey | None, u: float, s_mm: float) -> int | None:
    """Number of the gap that a place lies in, None where it is none."""
    if survey is None:
        return None
    for g in survey.gaps:
        shape = rings_to_geometry(g.rings)
        u0, s0, u1, s1 = shape.bounds
        if s0 <= s_mm <= s1:
            for k in range(int(np.ceil(u0 - u)), int(np.floor(u1 - u)) + 1):
                if shapely.contains_xy(shape, u + k, s_mm):
                    return g.number
    return None


def say_place(one: Placed, every: Sequence[Placed], limb: Surface, part: str, zones: Mapping[str, Any] | None,
              unit: str) -> str:
    """One sentence: place, size, lean, what speaks for it and what it costs, against the other proposals."""
    width, height = one.readings.facts.samples.size
    lean = one.readings.mark("tilt").value or 0.0
    stands = "upright" if abs(lean) < 0.5 else f"leaning {abs(lean):.0f} degrees"
    head = f"{_where(one, limb, part, zones)}, {format_length(width, unit)} wide and {format_length(height, unit)} " \
           f"tall, {stands}"
    room = "nothing near" if not np.isfinite(one.clear_mm) else f"{one.clear_mm:.1f} mm clear"
    others = [p for p in every if p is not one]
    trunk = isinstance(limb, Panel)
    won, lost = _won(one, others, trunk), _lost(one, others, trunk)
    return f"{head}, {room}: {won}" + (f", but {lost}." if lost else ".")


def _where(one: Placed, limb: Surface, part: str, zones: Mapping[str, Any] | None) -> str:
    gap = f"Gap {one.gap}, " if one.gap else ""
    if is_known(limb, part):
        found = zone_map(limb, part, client_of(zones).zones)
        label = found.zones[int(found.at(np.array([[one.u, one.s_mm]]))[0])].label.split(" (")[0].lower()
        label = f"client's {label}" if label.startswith(("left ", "right ")) else label
    else:
        label = f"{views_of(part)[one.readings.facts.view]} side near the " \
                f"{min(limb.levels, key=lambda lv: abs(lv.s_mm - one.s_mm)).name}"
    return f"{gap}{label}" if gap else label[:1].upper() + label[1:]


def _won(one: Placed, others: Sequence[Placed], trunk: bool) -> str:
    """What it has over most of the others: the reading that wins most against their middle."""
    if not others:
        return "the one place that fits"
    ahead = {n: WEIGHTS[n] * (float(np.median([p.losses[n] for p in others])) - one.losses[n]) for n in WEIGHTS}
    best = max(ahead, key=lambda n: ahead[n])
    first = all(one.score >= p.score for p in others)
    if ahead[best] < TELL:
        return "the best all round" if first else "much like the others all round"
    only = all(one.losses[best] < p.losses[best] - 1e-9 for p in others)
    said = GIVES[best] if only else _softer(best)
    if trunk:
        said = {"seen": "it faces out most squarely" if only else "it faces out more squarely than most",
                "folds": "it keeps off the armhole, where skin creases"}.get(best, said)
    return f"the best all round, {said}" if first else said


def _softer(name: str) -> str:
    return {"size": "it is larger than most", "stretch": "the stencil lies flatter than for most",
            "tilt": "it stands straighter than most", "seen": "it is seen better than most",
            "flex": "the skin moves less than under most",
            "shown": "it is more on show than most"}.get(name, GIVES[name])


def _lost(one: Placed, others: Sequence[Placed], trunk: bool) -> str:
    """What costs it most, with the number."""
    cost = {n: WEIGHTS[n] * one.losses[n] for n in WEIGHTS}
    worst = max(cost, key=lambda n: cost[n])
    if cost[worst] < TELL:
        return ""
    f = one.readings.facts
    seen = f.seen[f.view]
    size = max(f.samples.size)
    lean = abs(one.readings.mark("tilt").value or 0.0)
    strain = max(map(abs, f.flex)) if f.flex else 0.0
    stretch = max(f.stretch[1] - 1, 1 - f.stretch[0])
    over = " and the ".join(n for n, _ in f.crosses) or "joint"
    larger = any(p.losses["size"] < one.losses["size"] - 1e-9 for p in others)
    small = f"at {size:.0f} mm it is smaller than elsewhere" if larger else \
        f"{size:.0f} mm is as large as there is room for, well under its largest"
    on_trunk = {"facing": "it looks away from the body's centre line",
                "seen": f"it turns away by {np.degrees(np.arccos(1 - one.losses['seen'] / 2)):.0f} degrees on average",
                "folds": "it lies near the armhole, or where skin creases in motion"}
    if trunk and worst in on_trunk:
        return on_trunk[worst]
    return {"size": small, "stretch": f"paper is off by {100 * stretch:.0f}%",
            "tilt": f"it leans {lean:.0f} degrees", "joints": f"it runs over the {over}",
            "facing": "it looks away from the body's centre line or backward",
            "seen": f"only {100 * seen:.0f}% is seen from one side",
            "flex": f"skin under it moves by up to {100 * strain:.0f}%",
            "folds": f"{100 * f.fold_share:.0f}% of it lies where skin folds",
            "bone": f"{100 * (f.bone_share or 0):.0f}% of it lies over bone",
            "shown": "little is seen of that place in daily life"}[worst]
