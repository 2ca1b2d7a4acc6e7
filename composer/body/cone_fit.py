"""Of all cones the one on which a large piece lies truest: its largest error over the piece's own shape is least.

Paper on skin of another shape is strained, and skin laid flat lies beside it by a displacement w (`strained_paper`).
That is linear in small changes of the cone's girth and taper, so one solution tells the error of every cone nearby;
that one is taken for which the power mean of |w| along the rim is least, and then once more from there. Strain is that
of the skin in space, so that sections which are no circles count. How near this comes to an as-rigid-as-possible
flattening is measured in tests/outside/test_limb_paper.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from composer.body.limb import Limb
from composer.body.strained_paper import LEVELS, paper_of, root_of

if TYPE_CHECKING:
    from composer.body.patch import Patch

POWER, STEPS, ROUNDS = 16, 10, 2
SMALL_MM, LARGE_MM = 45.0, 60.0
"""A piece that reaches less far from its anchor stays as it is fitted; from the second on it goes all the way."""
SLIGHT_MM, WRONG_MM = 0.2, 0.5
"""The same by how far it is off."""
_U, _S = 1e-3, 0.5
"""Steps in turns and mm over which slopes of the skin are taken."""
_SOUND = 0.4
"""A cone's girth is at least this share of the skin's, and this share of the piece lies on taped skin."""


def spans(rings: Sequence[np.ndarray], share: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Levels y (n,) of an outline, mm, at rising shares (n,) of its height, and how far it reaches to the left and
    right there (n,): inf and -inf where there is nothing of it."""
    a = np.concatenate(rings)
    b = np.concatenate([np.roll(r, -1, axis=0) for r in rings])
    low, high = float(a[:, 1].min()), float(a[:, 1].max())
    y = low + (high - low) * share
    first, last = np.searchsorted(y, np.minimum(a[:, 1], b[:, 1])), np.searchsorted(y, np.maximum(a[:, 1], b[:, 1]))
    n = last - first
    edge = np.repeat(np.arange(len(a)), n)
    level = np.arange(len(edge)) - np.repeat(np.cumsum(n) - n, n) + np.repeat(first, n)
    p, q = a[edge], b[edge]
    x = p[:, 0] + (q[:, 0] - p[:, 0]) * (y[level] - p[:, 1]) / (q[:, 1] - p[:, 1])
    left, right = np.full(len(y), np.inf), np.full(len(y), -np.inf)
    np.minimum.at(left, level, x)
    np.maximum.at(right, level, x)
    return y, left, right


def truer(limb: Limb, patch: Patch, rings: Sequence[np.ndarray]) -> tuple[float, float]:
    """Girth c1 (mm) and taper b (mm per mm) of the cone that serves best for paper of this outline, rings (n, 2) in
    flat mm from the anchor, near the cone of `patch`; those of `patch` where the piece is small, off by little, or
    mostly past the ends of the limb. Mirrored paper at the mirrored place has exactly the same cone."""
    as_it_is = patch.c1_mm, patch.b
    xy = np.concatenate(rings)
    reach = float(np.hypot(*xy.T).max())
    if reach <= SMALL_MM:
        return as_it_is
    y, left, right = spans(rings, LEVELS)
    if not (right > left).all():
        return as_it_is
    u0 = patch.u0 - float(np.round(patch.u0))
    here = replace(patch, u0=0.0)
    if _is_mirrored(u0, left + right):
        u0, left, right = -u0, -right, -left
    found = _best(limb, here, abs(u0), (y, left, right), reach)
    if found is None:
        return as_it_is
    off, dc, db = found
    share = np.clip((reach - SMALL_MM) / (LARGE_MM - SMALL_MM), 0, 1) * \
        np.clip((off - SLIGHT_MM) / (WRONG_MM - SLIGHT_MM), 0, 1)
    c1, b = patch.c1_mm + share * dc, patch.b + share * db
    s = here.to_skin(np.column_stack([np.zeros(len(y)), y]))[:, 1]
    if (c1 + b * (s - patch.s0_mm) < _SOUND * limb.girth(s)).any():
        return as_it_is
    return float(c1), float(b)


def _is_mirrored(u0: float, twice_middle: np.ndarray) -> bool:
    """Which of a piece and its mirror image is worked out: one whose first number that is not 0 is positive."""
    said = np.append(u0 if abs(u0) < 0.5 else 0.0, twice_middle)
    told = said[said != 0]
    return bool(len(told)) and bool(told[0] < 0)


def _best(limb: Limb, patch: Patch, u0: float, outline: tuple[np.ndarray, np.ndarray, np.ndarray],
          reach: float) -> tuple[float, float, float] | None:
    """How far the paper is off at most, mm, and by how much girth and taper of the best cone differ; None where
    nothing can be said or the paper is hardly off. `outline`: levels (n,) and what it reaches to left and right."""
    paper = paper_of(*(np.round(v / reach, 9).tobytes() for v in outline))
    xy, n = paper.at * reach, paper.spread
    s = patch.to_skin(xy)[:, 1]
    taped = (s > limb.s_min) & (s < limb.s_max)
    if paper.area[taped[:n]].sum() < _SOUND:
        return None
    rim = n + np.flatnonzero(taped[n:])
    cone, off, by = patch, 0.0, np.zeros(0)
    for k in range(ROUNDS):
        skin = _skin(limb, cone, u0, xy[:n], taped[:n])
        if skin is None:
            return None
        w = paper.moved(skin)[rim] * reach
        if k == 0:
            off = float(np.abs(w).max())
            if off <= SLIGHT_MM:
                return None
            by = paper.bends(*_changes(limb, patch, xy[:n], reach))[rim] * reach
        dc, db = _least(np.concatenate([w, by], axis=1) / off)
        cone = replace(cone, c1_mm=cone.c1_mm + dc * patch.c1_mm, b=cone.b + db * patch.c1_mm / reach)
    return off, cone.c1_mm - patch.c1_mm, cone.b - patch.b


def _skin(limb: Limb, patch: Patch, u0: float, xy: np.ndarray, taped: np.ndarray) -> np.ndarray | None:
    """How much longer skin is than the paper over it at flat points (n, 2): symmetric (n, 2, 2), the root of the
    metric in paper's own x and y; as long where skin is not `taped` (n,). None for a cone that is no paper."""
    us = patch.to_skin(xy)
    s = us[:, 1]
    cone = patch.c1_mm + patch.b * (s - patch.s0_mm)
    if (cone < _SOUND * limb.girth(s)).any():
        return None
    beside = np.array([[_U, 0.0], [-_U, 0.0], [0.0, _S], [0.0, -_S]]) + np.array([u0, 0.0])
    right, left, up, down = np.split(limb.embed(np.concatenate([us + by for by in beside])), 4)
    by_u, by_s = (right - left) / (2 * _U * cone[:, None]), (up - down) / (2 * _S)
    way = _ways(patch, us)                                       # round the limb and up it, on paper
    space = np.einsum("ni,nj->nij", by_u, way[:, 0]) + np.einsum("ni,nj->nij", by_s, way[:, 1])
    return np.where(taped[:, None, None], root_of(np.einsum("nki,nkj->nij", space, space)), np.eye(2))


def _ways(patch: Patch, us: np.ndarray) -> np.ndarray:
    """Unit vectors on paper at skin points (n, 2): round the limb, and up it, (n, 2, 2) row by row."""
    turn = patch.b * us[:, 0]
    c, d = np.cos(turn), np.sin(turn)
    return np.stack([np.stack([c, -d], axis=1), np.stack([d, c], axis=1)], axis=1)


def _changes(limb: Limb, patch: Patch, xy: np.ndarray, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """By how much that changes, (n, 2, 2), with the cone's girth (by its own share), and with its taper (by the girth
    over the reach)."""
    us = patch.to_skin(xy)
    round_ = _ways(patch, us)[:, 0]
    ds = us[:, 1] - patch.s0_mm
    rate = -limb.girth(us[:, 1]) * patch.c1_mm / (patch.c1_mm + patch.b * ds) ** 2
    by_girth = rate[:, None, None] * np.einsum("ni,nj->nij", round_, round_)
    return by_girth, by_girth * (ds / reach)[:, None, None]


def _least(w: np.ndarray) -> np.ndarray:
    """The two numbers v for which the power mean of |w[:, 0] + w[:, 1:] @ v| is least, w (m, 3) complex: Newton's
    steps with halving, from 0 on."""
    start, by = w[:, 0], w[:, 1:]
    outer = (by.conj()[:, :, None] * by[:, None, :]).real.reshape(-1, 4)

    def mean(e: np.ndarray) -> float:
        return float(((e.real**2 + e.imag**2) ** (POWER / 2)).sum())

    v, e, now = np.zeros(2), start, mean(start)
    for _ in range(STEPS):
        q = np.maximum(e.real**2 + e.imag**2, 1e-12)
        slope = (e.conj()[:, None] * by).real
        heavy = q ** (POWER / 2 - 2)
        grad = (heavy * q) @ slope
        bend = ((heavy * q) @ outer).reshape(2, 2) + (POWER - 2) * (slope.T * heavy) @ slope
        step = np.linalg.solve(bend + 1e-9 * np.trace(bend) * np.eye(2), grad)
        while np.abs(step).max() > 1e-5:
            there = start + by @ (v - step)
            if (new := mean(there)) <= now:
                v, e, now = v - step, there, new
                break
            step = step / 2
        else:
            break
    return v
