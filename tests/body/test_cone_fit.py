"""The cone on which a large piece lies truest: never worse than that of least squares; small pieces keep theirs."""

from __future__ import annotations

import numpy as np
import pytest

from composer.body.cone_fit import SMALL_MM, spans, truer
from composer.body.limb import Level, Limb
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.patch import Patch, fitted_cone, lay_patch, level_weights
from composer.body.strained_paper import LEVELS, paper_of

ARM = build_limb("left_arm", dict(TYPICAL_MM))
T = np.linspace(0, 2 * np.pi, 60, endpoint=False)
ROUND = np.column_stack([np.cos(T), np.sin(T)])
SQUARE = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) / np.sqrt(2)


def off_mm(limb: Limb, patch: Patch, ring: np.ndarray) -> float:
    """How far the rim lies from skin that is laid flat, by the strain measured in space along a fine grid."""
    reach = float(np.hypot(*ring.T).max())
    paper = paper_of(*(np.round(v / reach, 9).tobytes() for v in spans([ring], LEVELS)))
    xy, h = paper.at[: paper.spread] * reach, 0.05
    slopes = [(limb.embed(patch.to_skin(xy + step)) - limb.embed(patch.to_skin(xy - step))) / (2 * h)
              for step in (np.array([h, 0.0]), np.array([0.0, h]))]
    space = np.stack(slopes, axis=2)
    value, way = np.linalg.eigh(np.einsum("nki,nkj->nij", space, space))
    skin = np.einsum("nij,nj,nkj->nik", way, np.sqrt(value), way)
    return float(np.abs(paper.moved(skin)).max()) * reach


@pytest.mark.parametrize("shape", [ROUND, SQUARE])
@pytest.mark.parametrize(("s_mm", "u"), [(120.0, 0.0), (190.0, 0.3), (260.0, -0.2), (380.0, 0.35)])
def test_a_large_piece_lies_no_worse_than_by_least_squares(shape: np.ndarray, s_mm: float, u: float) -> None:
    ring = 100.0 * shape
    y, weight = level_weights([ring])
    c1, b = fitted_cone(y, ARM.girth(s_mm + y), weight)
    even = Patch(u, s_mm, float(c1), float(b))
    best = Patch(u, s_mm, *truer(ARM, even, [ring]))
    assert off_mm(ARM, best, ring) < off_mm(ARM, even, ring) + 0.1
    again = truer(ARM, best, [ring])
    assert again == pytest.approx((best.c1_mm, best.b), abs=0.004 * best.c1_mm)     # it stays where it came to


def test_small_pieces_and_true_cones_are_left_alone() -> None:
    even = lay_patch(ARM, 0.1, 150.0, 40.0, 40.0)
    assert truer(ARM, even, [(SMALL_MM - 1.0) * ROUND]) == (even.c1_mm, even.b)
    cone = Limb((Level("a", 0.0, 200.0), Level("b", 400.0, 320.0)))
    there = lay_patch(cone, 0.1, 200.0, 100.0, 100.0)
    assert truer(cone, there, [100.0 * ROUND]) == (there.c1_mm, there.b)


def test_a_piece_that_lies_mostly_past_the_end_keeps_its_cone() -> None:
    past = lay_patch(ARM, 0.1, ARM.s_max + 60.0, 100.0, 100.0)
    assert truer(ARM, past, [100.0 * ROUND]) == (past.c1_mm, past.b)


def test_spans_are_what_an_outline_reaches_to() -> None:
    y, left, right = spans([np.array([[-10.0, 0.0], [30.0, 0.0], [10.0, 20.0]])], np.array([0.25, 0.5]))
    assert y == pytest.approx([5.0, 10.0])
    assert left == pytest.approx([-5.0, 0.0]) and right == pytest.approx([25.0, 20.0])
