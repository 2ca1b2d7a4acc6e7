"""Relaxed, flexed, bent, an arm raised: what each pose does to skin at any point, and the worst of them.

Bent is `composer.body.bends`, raised `composer.body.arm_raised`. Flexed: the girth grows by a factor at each
level, PCHIP between (biceps 1.06 to 1.08; that and all others are from memory, no published source); a girth
taped flexed takes the factor's place. The growth is spread evenly round, which is wrong: a muscle bulges
on its own side. Along the limb only the steeper profile stretches the skin, some tenths of a percent.
Poses are taken one at a time; a bent and flexed arm is not the sum of both.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import PchipInterpolator

from composer.body.arm_raised import RAISED, raised_strain
from composer.body.bend_view import BentLimb, bend_view
from composer.body.bends import JOINTS, bend_strain
from composer.body.correspond import landmarks
from composer.body.kinds import Kind, kind_of
from composer.body.limb import TURN, Limb

POSES: dict[str, tuple[str, ...]] = {
    "arm": ("relaxed", "flexed", "bent", RAISED),
    "leg": ("relaxed", "flexed", "bent"),
}
"""The poses of each kind of limb, relaxed first."""
FACTORS: dict[str, float] = {
    "wrist": 1.0, "forearm": 1.04, "elbow": 1.02, "upper_arm": 1.07, "armpit": 1.03, "deltoid": 1.03,
    "ankle": 1.0, "calf": 1.03, "below_knee": 1.01, "knee": 1.0, "mid_thigh": 1.03, "upper_thigh": 1.01, "hip": 1.0,
}
"""Girth flexed over girth relaxed, from memory, no published source."""
_FACTOR = (0.9, 1.4)


class FlexError(ValueError):
    """A pose, angle or flexed girth that can't be; the message is the sentence to show."""


@dataclass(frozen=True, eq=False)
class Worst:
    """The worst over all poses at n points.

    `strain` (n, 2) along and round: in each direction the value that lies furthest from 0, with its
    sign; `pose` (n, 2) which pose that is (indices into the poses of the part); `folds` (n,) where
    skin folds in a pose. Where nothing is predicted the strain is that of the other poses: look at `folds` first.
    """

    strain: np.ndarray
    pose: np.ndarray
    folds: np.ndarray


def strain(limb: Limb, kind: str, us: np.ndarray, pose: str, flexed_mm: Mapping[str, float] | None = None,
           bend_deg: Mapping[str, float] | None = None) -> np.ndarray:
    """Strain (n, 2), along the limb and round it, at skin points (n, 2) of (u, s) in a pose.

    `kind` is the name of a part, 'leg', or 'arm' for a left one; `flexed_mm` girths taped flexed, by field
    name; `bend_deg` angles by joint (elbow, wrist, knee; shoulder, for the raised arm alone) in place of the usual
    ones. NaN where nothing can be said (see `folding`). Raises ValueError (FlexError) with a sentence.
    """
    us = np.asarray(us, float).reshape(-1, 2)
    if _pose(pose, kind) == RAISED:
        return raised_strain(limb, kind, us, bend_deg)
    if pose == "relaxed":
        return np.zeros((len(us), 2))
    if pose == "flexed":
        return _flexed_strain(limb, kind_of(kind), us, flexed_mm or {})
    return _bent(limb, kind_of(kind), us, bend_deg)[0]


def folding(limb: Limb, kind: str, us: np.ndarray, pose: str,
            bend_deg: Mapping[str, float] | None = None) -> np.ndarray:
    """Whether skin folds at points (n, 2) in a pose: (n,) of bool. Raises FlexError."""
    us = np.asarray(us, float).reshape(-1, 2)
    if _pose(pose, kind) != "bent":
        return np.zeros(len(us), bool)
    return _bent(limb, kind_of(kind), us, bend_deg)[1]


def worst(limb: Limb, kind: str, us: np.ndarray, flexed_mm: Mapping[str, float] | None = None,
          bend_deg: Mapping[str, float] | None = None) -> Worst:
    """The worst strain over all poses, for readings. Raises FlexError."""
    us = np.asarray(us, float).reshape(-1, 2)
    bent, folds = _bent(limb, kind_of(kind), us, bend_deg)
    every = np.stack([bent if p == "bent" else strain(limb, kind, us, p, flexed_mm, bend_deg)
                      for p in POSES[kind_of(kind).name]])
    return worst_of(every, folds)


def worst_of(every: np.ndarray, folds: np.ndarray) -> Worst:
    """The worst of strains (poses, n, 2), where it folds (n,) as given."""
    every = np.nan_to_num(every, nan=0.0)
    which = np.abs(every).argmax(axis=0)
    return Worst(np.take_along_axis(every, which[None], axis=0)[0], which, folds)


def posed_limb(limb: Limb, pose: str, kind: str, flexed_mm: Mapping[str, float] | None = None,
               bend_deg: Mapping[str, float] | None = None) -> Limb | BentLimb:
    """The limb as it looks in a pose, for views: (u, s) stays that of the relaxed skin.

    Flexed is a limb with grown girths, bent one that only embeds (the wrist, at its end, stays
    straight); raised its shape is not foretold, and stays as it is at rest. Raises FlexError.
    """
    if _pose(pose, kind) in ("relaxed", RAISED):
        return limb
    of = kind_of(kind)
    if pose == "flexed":
        grow = _factor(limb, of, flexed_mm or {})
        return Limb(tuple(replace(lv, girth_mm=lv.girth_mm * float(grow(lv.s_mm))) for lv in limb.levels))
    joint = JOINTS[of.name][0]
    return bend_view(limb, joint, _angles(of, bend_deg)[joint.name])


def _pose(pose: str, kind: str) -> str:
    known = POSES[kind_of(kind).name]
    if pose not in known:
        raise FlexError(f"'{str(pose)[:20]}' is no pose of {kind_of(kind).called}; use {', '.join(known)}.")
    return pose


def _angles(kind: Kind, given: Mapping[str, float] | None) -> dict[str, float]:
    joints = {j.name: j for j in JOINTS[kind.name]}
    out = {n: j.usual_deg for n, j in joints.items()}
    for name, deg in (given or {}).items():
        if name not in joints:
            raise FlexError(f"{kind.called.capitalize()} has no joint '{str(name)[:20]}' here; "
                            f"known are {', '.join(joints)}.")
        most = joints[name].most_deg
        least = -most if name == "wrist" else 0.0
        if isinstance(deg, bool) or not isinstance(deg, int | float) or not least <= deg <= most:
            raise FlexError(f"The {name} can't bend by {deg!r} degrees; {least:g} to {most:g} can be used.")
        out[name] = float(deg)
    return out


def _bent(limb: Limb, kind: Kind, us: np.ndarray, given: Mapping[str, float] | None) -> tuple[np.ndarray, np.ndarray]:
    """All joints bent at once. Their fields hardly meet; where they do, the larger counts."""
    angles = _angles(kind, given)
    total, folds = np.zeros((len(us), 2)), np.zeros(len(us), bool)
    for joint in JOINTS[kind.name]:
        more, creased = bend_strain(limb, joint, us, angles[joint.name])
        total = np.where(np.isnan(more) | (np.abs(more) > np.abs(total)), more, total)
        folds |= creased
    return total, folds


def _factor(limb: Limb, kind: Kind, flexed_mm: Mapping[str, float]) -> PchipInterpolator:
    """Girth factor over s, mm, beyond the ends that of the end."""
    marks = landmarks(limb)
    at = [marks[n] for n in kind.levels]
    factor = dict(zip(kind.girths, (FACTORS[g] for g in kind.girths), strict=True))
    for name, mm in flexed_mm.items():
        if name not in factor:
            raise FlexError(f"'{str(name)[:40]}' is no girth of {kind.called}; known are {', '.join(kind.girths)}.")
        what = kind.by_name[name].label.lower()
        if isinstance(mm, bool) or not isinstance(mm, int | float) or not math.isfinite(mm):
            raise FlexError(f"The flexed girth of the {what} is {mm!r}, which is not a number.")
        relaxed = float(limb.girth(at[kind.girths.index(name)]))
        factor[name] = mm / relaxed
        if not _FACTOR[0] <= factor[name] <= _FACTOR[1]:
            raise FlexError(f"The {what} taped flexed is {mm:g} mm against {relaxed:g} mm relaxed; it must lie within "
                            f"{_FACTOR[0] * relaxed:.0f} to {_FACTOR[1] * relaxed:.0f} mm. Tape both once more.")
    return PchipInterpolator(at, list(factor.values()))


def _flexed_strain(limb: Limb, kind: Kind, us: np.ndarray, flexed_mm: Mapping[str, float]) -> np.ndarray:
    grow = _factor(limb, kind, flexed_mm)
    s = np.clip(us[:, 1], limb.s_min, limb.s_max)
    factor = grow(s)
    before = limb.slope(s) / TURN
    after = (limb.slope(s) * factor + limb.girth(s) * grow.derivative()(s)) / TURN
    # seen from the side the profile keeps its height and leans out further: Pythagoras
    along = np.sqrt(np.maximum(1 - before**2, 0) + after**2) - 1
    return np.column_stack([along, factor - 1])
