"""The named zones of an arm and a leg: where each lies and what it is like. Data only.

Places are in `v`, turns from the front towards the outer side (so v = u on a left part and -u on
a right one; outer 0.25, back 0.5, inner -0.25), and in rungs: 0 is the first level from the far
end, 1 the next, 1.5 halfway between. Boxes tile the limb; ovals lie on top of them.

The three scales run from 0 to 10: pain while tattooing, movement of the skin with the joint, and
how much is seen with the limb at ease in short clothes. All are common practice, no published
source: surveys of pain disagree, and every client does. They are there to be changed.
"""

from __future__ import annotations

from dataclasses import dataclass

SCALES = ("pain", "movement", "visibility")
SOURCE = "common practice, no published source"


@dataclass(frozen=True)
class Zone:
    """A named zone. Scales 0 to 10; `over_bone` where bone lies right under the skin; `edited`
    names the scales that were changed for this client, all others being `source`."""

    name: str
    label: str
    pain: float
    movement: float
    visibility: float
    over_bone: bool = False
    edited: tuple[str, ...] = ()
    source: str = SOURCE


@dataclass(frozen=True)
class Box:
    """A zone from v0 to v1 round the limb and from rung r0 up to r1."""

    zone: Zone
    v0: float
    v1: float
    r0: float
    r1: float


@dataclass(frozen=True)
class Oval:
    """A zone round v, `half_v` turns to either side, from rung r0 up to r1 (below 0: past the end)."""

    zone: Zone
    v: float
    half_v: float
    r0: float
    r1: float


def _quarters(name: str, what: str, r0: float, r1: float, front: tuple[str, float, float, float],
              outer: tuple[str, float, float, float], back: tuple[str, float, float, float],
              inner: tuple[str, float, float, float]) -> list[Box]:
    """Four boxes of a quarter each; per side the words in brackets, pain, movement, visibility."""
    out = []
    for k, (side, (says, *scales)) in enumerate((("front", front), ("outer", outer), ("back", back), ("inner", inner))):
        label = f"{side.capitalize()} {what}{f' ({says})' if says else ''}"
        out.append(Box(Zone(f"{name}_{side}", label, *scales), k / 4 - 0.125, k / 4 + 0.125, r0, r1))
    return out


ARM_BOXES: tuple[Box, ...] = (
    Box(Zone("wrist_front", "Front of the wrist (palm side)", 6, 7, 6), -0.25, 0.25, 0, 0.22),
    Box(Zone("wrist_back", "Back of the wrist", 5, 6, 8), 0.25, 0.75, 0, 0.22),
    *_quarters("forearm", "forearm", 0.22, 2, ("palm side", 4, 2, 8), ("thumb side", 2.5, 2, 9), ("", 3, 2, 8),
               ("little-finger side", 4, 2, 5)),
    *_quarters("upper_arm", "upper arm", 2, 4, ("biceps", 3.5, 3, 8), ("", 2, 2, 9), ("triceps", 4, 3, 5),
               ("", 5.5, 4, 3)),
    Box(Zone("cap", "Shoulder cap", 3, 3, 9), -0.08, 0.58, 4, 5),
    Box(Zone("armpit", "Armpit", 9, 8, 1), -0.42, -0.08, 4, 5),
)
ARM_OVALS: tuple[Oval, ...] = (
    Oval(Zone("wrist_bone", "Wrist bone", 7, 4, 8, over_bone=True), -0.36, 0.055, -0.08, 0.13),
    Oval(Zone("elbow", "Elbow point", 8, 9, 5, over_bone=True), 0.5, 0.10, 1.55, 2.22),
    Oval(Zone("ditch", "Ditch (inside of the elbow)", 8, 9, 7), 0.0, 0.15, 1.55, 2.22),
)
LEG_BOXES: tuple[Box, ...] = (
    Box(Zone("ankle_front", "Front of the ankle", 7, 6, 5), -0.25, 0.25, 0, 0.18),
    Box(Zone("heel_tendon", "Heel tendon", 6, 6, 5), 0.25, 0.75, 0, 0.18),
    Box(Zone("shin", "Shin", 7, 2, 8, over_bone=True), -0.14, 0.03, 0.18, 2),
    Box(Zone("lower_leg_outer", "Outer lower leg", 3, 2, 8), 0.03, 0.375, 0.18, 2),
    Box(Zone("calf", "Calf", 4, 3, 7), 0.375, 0.625, 0.18, 2),
    Box(Zone("lower_leg_inner", "Inner lower leg", 5, 2, 5), -0.375, -0.14, 0.18, 2),
    Box(Zone("knee_outer", "Outer side of the knee", 5, 6, 6), 0.0, 0.5, 2, 3.35),
    Box(Zone("knee_inner", "Inner side of the knee", 6, 6, 4), -0.5, 0.0, 2, 3.35),
    *_quarters("thigh", "thigh", 3.35, 5, ("", 4, 2, 6), ("", 3, 2, 6), ("", 5, 3, 4), ("", 7, 4, 2)),
    Box(Zone("hip_side", "Hip", 4, 3, 4), 0.06, 0.42, 5, 6),
    Box(Zone("buttock_fold", "Buttock fold", 6, 6, 1), 0.42, 0.66, 5, 6),
    Box(Zone("groin", "Groin", 9, 8, 0), -0.34, 0.06, 5, 6),
)
LEG_OVALS: tuple[Oval, ...] = (
    Oval(Zone("ankle_outer", "Outer ankle bone", 7, 4, 6, over_bone=True), 0.27, 0.085, -0.1, 0.13),
    Oval(Zone("ankle_inner", "Inner ankle bone", 7, 4, 4, over_bone=True), -0.23, 0.085, -0.1, 0.14),
    Oval(Zone("knee_cap", "Kneecap", 8, 9, 7, over_bone=True), 0.0, 0.105, 2.3, 3.2),
    Oval(Zone("knee_hollow", "Hollow of the knee", 9, 9, 3), 0.5, 0.15, 2.05, 3.3),
    Oval(Zone("hip_bone", "Hip bone", 6, 4, 4, over_bone=True), 0.25, 0.06, 5.35, 6.6),
)
TABLES: dict[str, tuple[tuple[Box, ...], tuple[Oval, ...]]] = {
    "arm": (ARM_BOXES, ARM_OVALS), "leg": (LEG_BOXES, LEG_OVALS)}
