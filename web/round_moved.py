"""What a pose does to the skin, as the turntable colours it: values at the grid's places, a key, and words."""

from __future__ import annotations

from typing import Any

import numpy as np

from composer.body.motion import poses_of, ways_of
from composer.body.panel import Panel
from composer.compose.fit_limits import limits_of
from composer.plan.zone_edits import zones_on
from web.desk import View
from web.fit import signed
from web.tint import LIMB_MODEL, POSE_TITLES, TRUNK_MODEL, moved_at, moved_key

SHAPED = ("flexed", "bent")
"""Poses of a limb in which its shape is drawn too."""
BOTH = ("arm raised", "breathed in")
"""Poses that the parts beside a trunk are shown in with it."""


def pose_beside(pose: str, part: str) -> str:
    """The pose in which a part is shown beside a trunk that is in `pose`."""
    return pose if pose in BOTH and pose in poses_of(part) else "relaxed"


def moved(view: View, us: np.ndarray, pose: str) -> dict[str, Any]:
    """`values` (strain furthest from rest, whatever its sign) and `folds` (0 or 1) at skin points (n, 2), how they are
    inked, whether only colour tells of the pose, and the sentences."""
    trunk = isinstance(view.limb, Panel)
    strain, way, folds = moved_at(view, us, pose)
    levels, inks, key = moved_key(limits_of(view.plan.settings))
    skin = view.limb.inside(us) if isinstance(view.limb, Panel) else np.ones(len(us), bool)
    worst = int(np.where(skin & ~folds, np.abs(strain), -1.0).argmax())
    zones = zones_on(view.plan, view.part)
    zone = zones.zones[int(zones.at(us[worst : worst + 1])[0])].label
    along = ways_of(view.part)[int(way[worst])].replace("it", "the limb")
    words = f"Most: {signed(float(strain[worst]))} {along} at the {zone[:1].lower()}{zone[1:]}."
    if folds[skin].any():
        key.append(("hatch", "folds"))
    only = trunk or pose not in SHAPED
    return {"values": np.abs(strain).round(3).tolist(), "folds": folds.astype(int).tolist(), "levels": levels,
            "inks": [[*(c / 255 for c in i)] for i in inks], "key": key, "title": POSE_TITLES[pose], "only": only,
            "most": words + (" Drawn in its shape at rest." if only else ""),
            "sentence": TRUNK_MODEL if trunk else LIMB_MODEL}
