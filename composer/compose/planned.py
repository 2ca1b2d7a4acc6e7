"""The skin of a part that is planned: as far as its sleeve goes, and where parts meet as far as the next one.

Of a chest into which a sleeve runs only the sleeve's skin is planned. An arm whose sleeve runs into the chest goes on
over the shoulder to the armhole; so does every arm on a wide sheet, where the trunk is seen beside it.
"""

from __future__ import annotations

from dataclasses import replace

import shapely

from composer.body.kept_skin import from_level, keep_to, to_the_armhole
from composer.body.panel import Panel
from composer.compose.extent import reach, wave_of, within
from composer.compose.into_chest import sleeve_on
from composer.plan.extents import chosen_extent, sleeves_into
from composer.plan.model import PANELS, Plan
from composer.plan.scene import Scene


def planned(plan: Plan, part: str, scene: Scene, joined: bool = False) -> Scene:
    """The scene of a part with its surface cut to what is planned of it. Pieces lie exactly as they did; those that
    reach out stay in the scene. `joined`: an arm goes as far as the trunk whether its sleeve runs into it or not."""
    if isinstance(scene.limb, Panel):
        return _kept(plan, part, scene, scene.limb)
    extent = chosen_extent(plan, part)
    trunk = part.endswith("arm") and any(p.name in PANELS for p in plan.parts)
    to_the_top = extent is None or extent.near.s_mm(scene.limb) >= scene.limb.s_max - 0.5
    if trunk and to_the_top and (joined or (extent is not None and extent.chest_mm > 0)):
        limb = to_the_armhole(part, scene.limb)
        if extent is not None:
            limb = replace(from_level(limb, reach(scene.limb, extent)[0]), far=wave_of(scene.limb, extent.far))
        return replace(scene, limb=limb)
    return scene if extent is None else within(scene, extent)


def _kept(plan: Plan, part: str, scene: Scene, panel: Panel) -> Scene:
    into = sleeves_into(plan, part)
    if not into:
        return scene
    skin = shapely.union_all([shapely.transform(sleeve_on(panel, arm, e), panel.to_mm) for arm, e in into])
    return replace(scene, limb=keep_to(panel, skin))
