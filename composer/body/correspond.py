"""From one limb to the other, and across an axis within one limb.

Both limbs are read in the same normalised coordinate: a ladder with its rungs midway between the
landmark levels of the two, s of either limb by PCHIP from rung to rung. Going over and coming
back is therefore the identity, and on equal measures nothing moves at all. Round the limb, u
becomes -u: the front landmark line is the axis of symmetry. A piece is carried by its anchor and
turn and redrawn rigid.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from scipy.interpolate import PchipInterpolator

from composer.body.limb import Limb


@dataclass(frozen=True)
class Pose:
    """Where and how a piece lies: anchor (u turns, s mm), turn counter-clockwise, flip."""

    u: float
    s_mm: float
    turn_deg: float = 0.0
    flip: bool = False


def landmarks(limb: Limb) -> dict[str, float]:
    """Landmark levels of a limb: name -> s, mm, from the far end up; further girths are none."""
    return {lv.name: lv.s_mm for lv in limb.levels if lv.landmark}


@lru_cache(maxsize=64)
def _ladders(source: Limb, target: Limb) -> tuple[np.ndarray, np.ndarray]:
    a, b = landmarks(source), landmarks(target)
    if list(a) != list(b):
        raise ValueError("A piece can only be carried between parts of the same kind, with the same levels from the "
                         f"far end up; one has {', '.join(a)}, the other {', '.join(b)}.")
    return np.array(list(a.values())), np.array(list(b.values()))


def carry_s(source: Limb, target: Limb, s_mm: np.ndarray | float) -> np.ndarray:
    """Level on `target`, mm, that answers to `s_mm` on `source`; beyond the ends in step.

    Raises ValueError when the two don't have the same landmark levels.
    """
    a, b = _ladders(source, target)
    s = np.asarray(s_mm, float)
    if np.array_equal(a, b):
        return s.copy()
    inside = np.clip(s, a[0], a[-1])
    rungs = (a + b) / 2
    return PchipInterpolator(rungs, b)(_invert(PchipInterpolator(rungs, a), rungs, a, inside)) + (s - inside)


def _invert(ladder: PchipInterpolator, rungs: np.ndarray, knots: np.ndarray, s: np.ndarray) -> np.ndarray:
    """t with ladder(t) = s on a rising ladder: bisection, then Newton kept inside the bracket."""
    i = np.clip(np.searchsorted(knots, s, side="right") - 1, 0, len(knots) - 2)
    lo, hi = rungs[i], rungs[i + 1]
    slope = ladder.derivative()
    t = lo + (s - knots[i]) / (knots[i + 1] - knots[i]) * (hi - lo)
    for _ in range(40):
        miss = ladder(t) - s
        if np.all(np.abs(miss) < 1e-11):
            break
        lo, hi = np.where(miss < 0, t, lo), np.where(miss > 0, t, hi)
        step = t - miss / np.maximum(slope(t), 1e-9)
        t = np.where((step >= lo) & (step <= hi), step, (lo + hi) / 2)
    return t


def carry_points(source: Limb, target: Limb, us: np.ndarray) -> np.ndarray:
    """The pointwise map onto the other limb: skin (n, 2) to skin (n, 2), u mirrored."""
    us = np.asarray(us, float)
    return np.column_stack([-us[:, 0], carry_s(source, target, us[:, 1])])


def carry(source: Limb, target: Limb, pose: Pose, flip_art: bool = True) -> Pose:
    """The pose on the other limb. The lean is mirrored; the art too, unless `flip_art` is off
    (lettering must not read backwards). Raises ValueError for a pose that is nowhere."""
    _finite(pose)
    return Pose(-pose.u, float(carry_s(source, target, pose.s_mm)), -pose.turn_deg, pose.flip != flip_art)


def mirror(pose: Pose, axis_u: float, flip_art: bool = True) -> Pose:
    """The pose mirrored about the line u = `axis_u` (turns) on the same limb."""
    _finite(pose)
    if not np.isfinite(axis_u):
        raise ValueError("The axis of a mirror must be a finite place round the limb.")
    return replace(pose, u=2 * axis_u - pose.u, turn_deg=-pose.turn_deg, flip=pose.flip != flip_art)


def mirror_points(us: np.ndarray, axis_u: float) -> np.ndarray:
    """Skin points (n, 2) mirrored about u = `axis_u`."""
    us = np.asarray(us, float)
    return np.column_stack([2 * axis_u - us[:, 0], us[:, 1]])


def _finite(pose: Pose) -> None:
    if not np.isfinite([pose.u, pose.s_mm, pose.turn_deg]).all():
        raise ValueError("A piece must have a finite place and turn before it can be mirrored.")
