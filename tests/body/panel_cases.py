"""Chests and backs for tests: a strategy of measures, the typical ones, and an uneven chest."""

from __future__ import annotations

import numpy as np
from hypothesis import Phase, settings
from hypothesis import strategies as st

from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.panel import Panel
from composer.body.yoke import build_panel
from composer.body.yoke_fields import PANEL_TYPICAL_MM

SOME = settings(max_examples=8, deadline=None, derandomize=True, phases=(Phase.explicit, Phase.generate))
UNEVEN = {**PANEL_TYPICAL_MM["chest"], "notch_to_acromion_left": 218.0, "midline_to_crease_left": 178.0,
          "acromion_to_crease_right": 163.0}


@st.composite
def trunks(draw: st.DrawFn, part: str) -> dict[str, float]:
    """Measures of chest or back: the typical one scaled as a whole by 0.85 to 1.2 and each by 4% more or less."""
    whole = draw(st.floats(0.85, 1.2))
    return {k: v * whole * draw(st.floats(0.96, 1.04)) for k, v in PANEL_TYPICAL_MM[part].items()}


def typical(part: str) -> Panel:
    return build_panel(part, PANEL_TYPICAL_MM[part])


def body() -> dict[str, object]:
    """Both arms, chest and back of the typical body."""
    return {"chest": typical("chest"), "upper_back": typical("upper_back"),
            "left_arm": build_limb("left_arm", TYPICAL_MM), "right_arm": build_limb("right_arm", TYPICAL_MM)}


def places(panel: Panel, n: int, clear_mm: float = 0.0, seed: int = 5) -> np.ndarray:
    """Places (n, 2) of (u, s) at least `clear_mm` inside the edges."""
    rng = np.random.default_rng(seed)
    x0, y0, x1, y1 = panel.form.bounds
    us = panel.from_mm(rng.uniform((x0, y0), (x1, y1), (60 * n, 2)))
    return us[panel.within_mm(us) >= clear_mm][:n]


def disc(radius_mm: float, n: int = 72) -> np.ndarray:
    t = np.linspace(0, 2 * np.pi, n, endpoint=False)
    return radius_mm * np.column_stack([np.cos(t), np.sin(t)])
