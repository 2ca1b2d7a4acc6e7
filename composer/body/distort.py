"""How far paper must stretch to lie on skin, at every point of it.

A chart that is rolled up on its cone is true to length there; on the limb it is stretched round
by C(s) / cone girth and not at all along. These two are the principal stretches (the singular
values of paper -> skin) on round sections. Sections that are ellipses add a little, which
`stretches_in_space` measures on the surface that is drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, cast

import numpy as np

from composer.body.panel_patch import PanelPatch
from composer.body.patch import Patch
from composer.body.units import format_length
from composer.body.wrap import Wrap

if TYPE_CHECKING:
    from composer.body.panel import Panel
    from composer.body.surface import Surface

WARN, STRONG = 0.05, 0.10
"""From 5% paper wrinkles, from 10% it needs slits, rings or freehand: common practice as set in
DESIGN.md, no published source."""


class Chart(Protocol):
    """Anything that takes flat mm to skin."""

    def to_skin(self, xy: np.ndarray) -> np.ndarray: ...


@dataclass(frozen=True)
class Distortion:
    """Worst stretch over some points: `stretch` signed (0.04: skin is 4% longer than paper there,
    -0.04: shorter), its place on skin, `level` '' / 'warn' / 'strong', and what to say."""

    stretch: float
    u: float
    s_mm: float
    level: str
    sentence: str


def stretches(limb: Surface, patch: Patch, xy: np.ndarray) -> np.ndarray:
    """Principal stretches (n, 2), larger first, of paper -> skin at flat points (n, 2), mm.

    Exact for round sections. A point at or beyond the tip of the patch's cone gets inf.
    """
    if isinstance(patch, PanelPatch):
        return patch.stretches(cast("Panel", limb), xy)
    s = patch.to_skin(xy)[:, 1]
    cone = patch.c1_mm + patch.b * (s - patch.s0_mm)
    with np.errstate(divide="ignore"):
        round_ = np.where(cone > 0, limb.girth(s) / np.maximum(cone, 0), np.inf)
    return np.column_stack([np.maximum(round_, 1.0), np.minimum(round_, 1.0)])


def wrap_stretches(wrap: Wrap, xy: np.ndarray) -> np.ndarray:
    """Principal stretches (n, 2), larger first, of a closing band: a shear of u dC/ds."""
    us = wrap.to_skin(xy)
    k = np.abs((us[:, 0] - wrap.u0) * wrap.limb.slope(us[:, 1]))
    root = np.sqrt(1 + k * k / 4)
    return np.column_stack([root + k / 2, root - k / 2])


def stretches_in_space(limb: Surface, chart: Chart, xy: np.ndarray, step_mm: float = 0.05) -> np.ndarray:
    """Principal stretches (n, 2), larger first, measured by differences on the embedded surface:
    singular values of d(space)/d(flat). Works for any chart and for elliptic sections."""
    xy = np.asarray(xy, float)
    columns = []
    for axis in ((step_mm, 0.0), (0.0, step_mm)):
        ahead, back = (limb.embed(chart.to_skin(xy + np.multiply(k, axis))) for k in (1, -1))
        columns.append((ahead - back) / (2 * step_mm))
    return np.linalg.svd(np.stack(columns, axis=2), compute_uv=False)


def worst(limb: Surface, patch: Patch, xy: np.ndarray, unit: str = "cm") -> Distortion:
    """The worst stretch over flat points (n, 2), mm, with the sentence that says what to do.

    Points past the ends of the limb count only when all are (see `past_the_ends`). `unit` is
    what the sentence is written in.
    """
    us = patch.to_skin(np.asarray(xy, float))
    if isinstance(patch, PanelPatch):
        return _worst_on_panel(cast("Panel", limb), patch, np.asarray(xy, float), us, unit)
    inside = (us[:, 1] >= limb.s_min) & (us[:, 1] <= limb.s_max)
    us = us[inside] if inside.any() else us
    cone = patch.c1_mm + patch.b * (us[:, 1] - patch.s0_mm)
    if np.any(cone <= 0):
        i = int(np.argmin(cone))
        return Distortion(float("inf"), float(us[i, 0]), float(us[i, 1]), "strong",
                          "The piece reaches past the tip of the cone that the paper forms here; make it smaller.")
    stretch = limb.girth(us[:, 1]) / cone - 1
    i = int(np.argmax(np.abs(stretch)))
    worst_, s = float(stretch[i]), float(us[i, 1])
    return _told(limb, worst_, float(us[i, 0]), s, unit)


def _worst_on_panel(limb: Panel, patch: PanelPatch, xy: np.ndarray, us: np.ndarray, unit: str) -> Distortion:
    """The same on a panel, where paper may be strained both ways; what runs over an edge counts only when all does."""
    inside = limb.inside(us)
    pick = np.flatnonzero(inside) if inside.any() else np.arange(len(us))
    both = patch.stretches(limb, xy[pick]) - 1
    k = int(np.abs(both).max(axis=1).argmax())
    u, s = us[pick[k]]
    return _told(limb, float(both[k, np.abs(both[k]).argmax()]), float(u), float(s), unit)


def _told(limb: Surface, worst_: float, u: float, s: float, unit: str) -> Distortion:
    level = "strong" if abs(worst_) >= STRONG else "warn" if abs(worst_) >= WARN else ""
    how = "pull apart" if worst_ > 0 else "fold"
    where = f"{100 * abs(worst_):.0f}% at {format_length(s, unit)} above the {limb.levels[0].name}"
    sentence = {
        "": f"Paper lies well here: it is off by {where} at most.",
        "warn": f"Paper will {how} by {where}: stretch the skin while applying, or make the piece smaller.",
        "strong": f"Paper can't lie here: it would {how} by {where}. Cut slits or rings, or draw that part freehand.",
    }[level]
    return Distortion(worst_, u, s, level, sentence)


def past_the_ends(limb: Surface, us: np.ndarray, unit: str = "cm") -> str:
    """What to say of skin points (n, 2) beyond the first or last level, '' when there are none.
    Past the ends the end girth is kept, which is a guess."""
    s = np.asarray(us, float)[:, 1]
    below, above = limb.s_min - float(s.min()), float(s.max()) - limb.s_max
    told = [f"{format_length(mm, unit)} past the {name}" for mm, name in
            ((below, limb.levels[0].name), (above, limb.levels[-1].name)) if mm > 0.5]
    if not told:
        return ""
    return f"The piece reaches {' and '.join(told)}, where nothing was taped; its shape there is a guess."
