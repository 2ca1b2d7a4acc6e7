"""A tall motif's stencil, unasked, against exact geodesics: an oval of 200 by 120 mm on the arm and below the cap.

Source: potpourri3d (edge-flip geodesics, Sharp and Crane 2020), on the synthetic arm of the design's figures.
"""

from __future__ import annotations

import numpy as np
import pytest
from test_body_geodesic import as_circles, solver
from test_limb_paper import ARM, ROUND
from test_stencil_geodesic import worst_miss

from composer.art.drawing import Drawing
from composer.body.limb import Limb
from composer.body.measures import TYPICAL_MM
from composer.plan.model import Plan
from composer.plan.steps import apply
from composer.sheets import stencil as stencil_module
from composer.sheets.slits import Limits, prepare


@pytest.mark.parametrize("limb", [as_circles(ARM), ARM], ids=["round", "elliptic"])
def test_unasked_a_tall_oval_is_right_to_1_mm_up_to_the_cap(limb: Limb, monkeypatch: pytest.MonkeyPatch) -> None:
    """Forearm, elbow, upper arm, and 430 mm, from where it runs 40 mm onto the cap."""
    art, flip = Drawing((np.multiply(ROUND, (0.6, 1.0)),), ()), solver(limb)
    monkeypatch.setattr(stencil_module, "surface_of", lambda plan, part: limb)
    plan = apply(Plan("p", "Estuary"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    for s in (120.0, 250.0, 370.0, 430.0):
        piece = {"id": "b", "part": "left_arm", "art": art.digest, "title": "Oval", "u": 0.0, "s_mm": s}
        st = stencil_module.stencil(apply(plan, {"do": "place", "piece": piece}), ["b"], {art.digest: art})
        assert max(st.size_mm) > 199.0
        cut = prepare(st, Limits.of({}))
        assert len(cut.cells) > 1 and cut.freehand_mm2 == 0
        assert worst_miss(st, cut, flip, 25.0) < 1.0
