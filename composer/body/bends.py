"""What bending a knee, an elbow or a wrist does to the skin: strain fields round the joint.

Strain is (length after - length before) / length before, along the limb and round it.

Knee. Figures of K. Bethke, SM thesis, Massachusetts Institute of Technology, 2005 (laser scans of a
leg during knee flexion): below the kneecap up to +0.7 along and +1.0 round, -0.6 in the hollow,
and 88% of the leg's skin within +-0.3. The fields between those figures are ours: raised cosines
along, a cosine round (a narrower raised cosine for the round strain), centred just below the
kneecap and in the hollow; how far they reach (REACH knee radii) is set so that the leg of
facts/geometry.md has its 88%. That is a fit to one subject, no validation. The angle of flexion is
not among our facts: 90 degrees is assumed, smaller angles are scaled in proportion, larger ones
not at all. A second source is milder: Lin, Moerman, McMahan, Pasch and Herr, IEEE Trans. Biomed.
Eng. 2016, doi 10.1109/tbme.2016.2626442 (residual limbs): +0.3 above the kneecap, -0.5 behind.

Elbow. No published figures found. The skin over the point has the further way round: angle x 0.65
radius more, spread over SPREAD_MM along with soft ends and falling off as a cosine round; 24% at 90
degrees, 37% at 140 on a mean elbow (tuned on garment figures of 35 to 40% recalled from memory).
The same law on a knee at 90 degrees says 35%, between the two sources above. The strain round is
scaled from the knee, 1.0 / 0.7 of that along. On the crease side skin folds: nothing is predicted there
(NaN) and `folds` says where.

Wrist. No published figures found. The elbow's law with the spread in proportion to the radius, so
the strain depends on the angle alone: 16% at 60 degrees. Positive angles bend to the palm and
stretch the back. Only the part above the wrist tape is on this limb.

None of this knows how loosely skin slides on what is below, age, scars or fat.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from composer.body.correspond import landmarks
from composer.body.limb import TURN, Limb

KNEE_ALONG, KNEE_ROUND, HOLLOW_ALONG, WITHIN = 0.7, 1.0, -0.6, 0.3
"""Bethke 2005; the share of the leg within +-WITHIN is 88%."""
REACH = 2.56
LIFT, SPREAD_MM, MEAN_RADIUS_MM = 0.65, 180.0, 42.2
ROUND_SHARE = KNEE_ROUND / KNEE_ALONG
KNEE_DEG = 90.0


@dataclass(frozen=True)
class Joint:
    """A joint of a limb: its name, the u on the side that stretches, the usual and the most bend.

    `place` gives the level of the joint, mm, on a limb.
    """

    name: str
    stretch_u: float
    usual_deg: float
    most_deg: float
    place: Callable[[Limb], float]


def _level(name: str) -> Callable[[Limb], float]:
    return lambda limb: landmarks(limb)[name]


JOINTS: dict[str, tuple[Joint, ...]] = {
    "arm": (Joint("elbow", 0.5, 90.0, 150.0, _level("elbow")), Joint("wrist", 0.5, 60.0, 90.0, _level("wrist"))),
    "leg": (Joint("knee", 0.0, 90.0, 150.0, _level("knee")),),
}
"""Usual bends are our own choice; the most a joint bends is from memory."""


def bend_strain(limb: Limb, joint: Joint, us: np.ndarray, bend_deg: float) -> tuple[np.ndarray, np.ndarray]:
    """Strain (n, 2) along and round at skin points (n, 2), and whether skin folds there (n,).

    Where nothing can be said (the crease of elbow and wrist) the strain is NaN.
    """
    return (_knee if joint.name == "knee" else _hinge)(limb, joint, np.asarray(us, float), bend_deg)


def raised(d: np.ndarray, half: float) -> np.ndarray:
    """1 in the middle, 0 from `half` on, a raised cosine between."""
    d = np.abs(d)
    out = np.zeros(np.shape(d))
    near = d < half
    out[near] = (1 + np.cos(np.pi / half * d[near])) / 2
    return out


def _plateau(d: np.ndarray, width: float) -> np.ndarray:
    """1 over half the width, soft ends of half the width each: its integral is `width`."""
    ramp = (np.abs(d) - width / 4) / (width / 2)
    return (1 + np.cos(np.pi * np.clip(ramp, 0, 1))) / 2


def _off(u: np.ndarray, u0: float) -> np.ndarray:
    """Turns from u0, within half a turn."""
    d = u - u0
    return d - np.round(d)


def _knee(limb: Limb, joint: Joint, us: np.ndarray, bend_deg: float) -> tuple[np.ndarray, np.ndarray]:
    share = float(np.clip(bend_deg / KNEE_DEG, 0.0, 1.0))
    s_knee, s_below = joint.place(limb), landmarks(limb)["below the knee"]
    s_spot = s_below + 0.35 * (s_knee - s_below)          # the tendon just below the kneecap
    reach = REACH * float(limb.girth(s_knee)) / TURN
    front, back = _off(us[:, 0], joint.stretch_u), _off(us[:, 0], joint.stretch_u + 0.5)
    along = KNEE_ALONG * raised(us[:, 1] - s_spot, reach) * np.maximum(np.cos(TURN * front), 0)
    along += HOLLOW_ALONG * raised(us[:, 1] - s_knee, reach) * np.maximum(np.cos(TURN * back), 0)
    round_ = KNEE_ROUND * raised(us[:, 1] - s_spot, 0.6 * reach) * raised(front, 0.16)
    out = share * np.column_stack([along, round_])
    return out, out[:, 0] < -WITHIN


def _hinge(limb: Limb, joint: Joint, us: np.ndarray, bend_deg: float) -> tuple[np.ndarray, np.ndarray]:
    s0, theta = joint.place(limb), abs(np.radians(bend_deg))
    radius = float(limb.girth(s0)) / TURN
    spread = SPREAD_MM if joint.name == "elbow" else SPREAD_MM * radius / MEAN_RADIUS_MM
    stretched = joint.stretch_u if bend_deg >= 0 else joint.stretch_u + 0.5
    out_side, in_side = _off(us[:, 0], stretched), _off(us[:, 0], stretched + 0.5)
    peak = theta * LIFT * radius / spread
    along = peak * _plateau(us[:, 1] - s0, spread) * np.maximum(np.cos(TURN * out_side), 0)
    round_ = ROUND_SHARE * peak * raised(us[:, 1] - s0, 0.6 * REACH * radius) * raised(out_side, 0.16)
    crease = raised(us[:, 1] - s0, REACH * radius) * np.maximum(np.cos(TURN * in_side), 0)
    folds = crease * theta / np.radians(KNEE_DEG) > 0.25     # wider than the knee's: less is known
    strain = np.column_stack([along, round_])
    strain[folds] = np.nan
    return strain, folds
