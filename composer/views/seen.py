"""What of the skin, and of a piece, is seen from a standpoint.

From a level standpoint far off, sight runs level, within one section; a section is an ellipse, so
exactly half of its girth is seen and nothing of one limb hides another bit of it. The edge of
that half is where the ellipse's normal is square to the line of sight.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from composer.art.drawing import rings_to_geometry
from composer.body.limb import Limb
from composer.plan.scene import Laid
from composer.views.camera import NAMES, Camera, view_u
from composer.views.surface import Surface


def edge_u(limb: Limb, s_mm: np.ndarray, view: float) -> np.ndarray:
    """Left edge (turns, unwrapped, within half a turn left of `view`) of what is seen at each s
    from a standpoint that looks at `view` turns; the right edge is half a turn on.

    At the edge the section's normal is square to the line of sight; on the four sides that is a
    quarter turn off whatever the section, between them it is found by halving.
    """
    s = np.asarray(s_mm, float)
    lo, hi = np.full(len(s), view - 0.499), np.full(len(s), view - 0.001)
    quarter = 4 * view
    if abs(quarter - round(quarter)) < 1e-12:   # sight along an axis of the ellipse
        return np.full(len(s), view - 0.25)
    a = 2 * np.pi * view
    toward = np.array([np.sin(a), -np.cos(a)])
    for _ in range(44):
        mid = (lo + hi) / 2
        facing = _section_normal(limb, mid, s) @ toward > 0
        lo, hi = np.where(facing, lo, mid), np.where(facing, mid, hi)
    return (lo + hi) / 2


def _section_normal(limb: Limb, u: np.ndarray, s: np.ndarray) -> np.ndarray:
    """Outward normals (n, 2) of the level sections (not of unit length)."""
    p = limb.embed(np.column_stack([u, s]))[:, :2]
    r = limb.embed(np.column_stack([np.full(len(s), 0.25), s]))[:, 0]
    b = -limb.embed(np.column_stack([np.zeros(len(s)), s]))[:, 1]
    return p / np.column_stack([r * r, b * b])


def visible(surface: Surface, us: np.ndarray, view: float | Camera) -> np.ndarray:
    """Which skin points (n, 2) face the eye: a mask (n,). A number is a far standpoint that looks
    at that u (turns); a camera may stand near."""
    us = np.asarray(us, float)
    n = surface.normals(us)
    if isinstance(view, Camera) and view.distance_mm is not None:
        eye = np.array(view.centre) + view.distance_mm * view.toward
        return np.einsum("ij,ij->i", n, eye - surface.xyz(us)) > 0
    u = view.u if isinstance(view, Camera) else view
    a = 2 * np.pi * u
    return n @ np.array([np.sin(a), -np.cos(a), 0.0]) > 0


def visible_share(limb: Limb, laid: Laid, view: float) -> float:
    """Share (0..1) of a laid piece's skin that faces a far, level standpoint looking at `view` turns.

    Areas are taken in the chart (u, skin area below s), which keeps area: dA = C(s) du ds.
    """
    shape = _equal_area(limb, laid)
    whole = shape.area
    if whole <= 0:
        return 0.0
    seen = sum(shapely.intersection(shape, strip).area for strip in _strips(limb, laid, view))
    return float(min(seen / whole, 1.0))


def _equal_area(limb: Limb, laid: Laid) -> shapely.Geometry:
    return rings_to_geometry([np.column_stack([r[:, 0], limb.area_below(r[:, 1])]) for r in laid.rings])


def _strips(limb: Limb, laid: Laid, view: float) -> list[shapely.Polygon]:
    """The half that is seen, as often as the piece comes by it."""
    us = np.concatenate(laid.rings)
    s = np.linspace(us[:, 1].min() - 1, us[:, 1].max() + 1, 48)
    left = edge_u(limb, np.clip(s, limb.s_min, limb.s_max), view)
    area = limb.area_below(s)
    lo, hi = us[:, 0].min(), us[:, 0].max()
    ring = np.concatenate([np.column_stack([left, area]), np.column_stack([left + 0.5, area])[::-1]])
    turns = range(int(np.ceil(lo - left.max() - 0.5)), int(np.floor(hi - left.min())) + 1)
    return [shapely.Polygon(ring + np.array([k, 0.0])) for k in turns]


@dataclass(frozen=True)
class Best:
    """The view that shows a piece best: its name, u (turns), the share seen from it (0..1), and the
    shares from every view by name."""

    name: str
    u: float
    share: float
    shares: dict[str, float]


def best_view(limb: Limb, part: str, laid: Laid, names: tuple[str, ...] = NAMES) -> Best:
    """The view that shows most of a piece; of views that show it alike, the one that looks at it
    most squarely."""
    us = np.concatenate(laid.rings)
    middle = (us[:, 0].min() + us[:, 0].max()) / 2
    every = {n: visible_share(limb, laid, view_u(part, n)) for n in names}

    def rank(name: str) -> tuple[float, float]:
        off = view_u(part, name) - middle
        return round(every[name], 2), -abs(off - round(off))

    name = max(names, key=rank)
    return Best(name, view_u(part, name), every[name], every)
