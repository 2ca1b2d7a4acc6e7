"""Where a sleeve ends, as lines to draw: round a limb, and on a chest that sleeves run into."""

from __future__ import annotations

import numpy as np

from composer.body.panel import Panel
from composer.compose.extent import edge_at
from composer.compose.into_chest import inner_edge
from composer.plan.scene import Scene

_COLUMNS = 181


def sleeve_lines(scene: Scene) -> tuple[np.ndarray, ...]:
    """The sleeve's edges on the part, (n, 2) of (u, s) each: from the seam once round a limb, but for those at its very
    ends; none where no sleeve was chosen."""
    limb = scene.limb
    if isinstance(limb, Panel):
        return tuple(inner_edge(limb, arm, extent) for arm, extent in scene.run_in)
    if scene.sleeve is None:
        return ()
    u = np.linspace(scene.seam_u, scene.seam_u + 1.0, _COLUMNS)
    extent = scene.sleeve.on_limb
    lines = ((edge_at(limb, edge, u), end) for edge, end in ((extent.far, limb.s_min), (extent.near, limb.s_max)))
    return tuple(np.column_stack([u, s]) for s, end in lines if np.abs(s - end).max() > 0.5)
