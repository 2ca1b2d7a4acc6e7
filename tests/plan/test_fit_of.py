"""Which paper a piece lies on: main pieces that of the skin under them, others the patch they were drawn in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from composer.art.drawing import Drawing
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.patch import lay_patch, lay_patch_under
from composer.plan.model import Piece, Recipe
from composer.plan.scene import lay

ARM = build_limb("left_arm", dict(TYPICAL_MM))
_T = np.linspace(0, 2 * np.pi, 90, endpoint=False)
OVAL = np.column_stack([50 * np.cos(_T), 80 * np.sin(_T)])


def test_fillers_and_traced_tattoos_keep_the_patch_they_were_drawn_in() -> None:
    drawing, traced = Drawing((OVAL,), ()), Drawing((OVAL,), (), (), {"traced": True})
    main = Piece("p", "left_arm", drawing.digest, "Oval", 0.1, 200.0)
    low, high = OVAL[:, 1].min(), OVAL[:, 1].max()
    even, under = lay_patch(ARM, 0.1, 200.0, -low, high), lay_patch_under(ARM, 0.1, 200.0, [OVAL])
    assert abs(even.b - under.b) > 0.01
    assert lay(ARM, main, drawing).patch == under
    filler = replace(main, recipe=Recipe("cloud", 1))
    for found in (lay(ARM, filler, drawing), lay(ARM, replace(main, art=traced.digest), traced)):
        assert (found.patch.c1_mm, found.patch.b) == (even.c1_mm, even.b)
    assert lay(ARM, main, drawing).patch == under    # nothing is kept under the other's name
