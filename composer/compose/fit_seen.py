"""Which side of the body shows a piece, which way it looks, how far it leans: as the limb hangs.

From a level standpoint far off exactly the half of each section is seen whose normal looks that
way. Skin on the left arm's outer side lies at u = 0.25, on the right arm's at -0.25, so towards the
body's centre line is the other way round on the two. Of chest and back that skin is seen whose
normal looks that way; what hides behind an arm or another bit of the trunk is not looked for.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from composer.body.kinds import side_of
from composer.body.limb import Limb
from composer.body.panel import Panel

VIEWS = ("front", "outer", "back", "inner")
PANEL_VIEWS = {"chest": ("front", "left side", "right side"), "upper_back": ("back", "left side", "right side")}
"""Sides of the body from which skin of chest and back shows; left and right are the client's."""
HALF = np.sqrt(0.5)


def views_of(part: str) -> tuple[str, ...]:
    """The sides that a part is looked at from, by name."""
    return PANEL_VIEWS.get(part, VIEWS)


def say_view(name: str) -> str:
    """A side in a sentence: 'the front', 'the client's left side', 'the outer side'."""
    if name in ("front", "back"):
        return f"the {name}"
    return f"the client's {name}" if "side" in name else f"the {name} side"


@lru_cache(maxsize=16)
def _towards(part: str) -> np.ndarray:
    """Where each of a panel's views looks from: (views, 3), the part itself looking towards -y."""
    left = 1.0 if part == "chest" else -1.0
    return np.array([[0.0, -1.0, 0.0], [left, 0.0, 0.0], [-left, 0.0, 0.0]])


def view_u(part: str, name: str) -> float:
    """Where (turns) somebody looks at who sees a part from a side of it."""
    return side_of(part) * VIEWS.index(name) / 4


@lru_cache(maxsize=64)
def _half_axes(limb: Limb) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Levels (n,), and half the width and depth of the section there, mm."""
    s = np.linspace(limb.s_min, limb.s_max, 257)
    wide = limb.embed(np.column_stack([np.full(len(s), 0.25), s]))[:, 0]
    deep = -limb.embed(np.column_stack([np.zeros(len(s)), s]))[:, 1]
    return s, wide, deep


def section_normals(limb: Limb, us: np.ndarray) -> np.ndarray:
    """Outward normals (n, 2) of the level sections at skin points (n, 2), in (right, back) of
    somebody who looks at the front; not of unit length."""
    s, wide, deep = _half_axes(limb)
    at = np.column_stack([us[:, 0], np.clip(us[:, 1], limb.s_min, limb.s_max)])
    p = limb.embed(at)[:, :2]
    return p / np.column_stack([np.interp(at[:, 1], s, wide) ** 2, np.interp(at[:, 1], s, deep) ** 2])


def squarely(surface: Limb | Panel, part: str, us: np.ndarray) -> np.ndarray:
    """How squarely each skin point (n, 2) looks at each of the part's views: (n, views) cosines, of a limb's level
    sections, of a panel's skin."""
    if isinstance(surface, Panel):
        x, y = np.moveaxis(surface.tangents(us), 2, 0)
        normal = np.cross(x, y)
        return normal @ _towards(part).T / np.linalg.norm(normal, axis=1)[:, None]
    a = 2 * np.pi * np.array([view_u(part, v) for v in VIEWS])
    normal = section_normals(surface, us)
    return normal @ np.stack([np.sin(a), -np.cos(a)]) / np.hypot(*normal.T)[:, None]


def seen_from(surface: Limb | Panel, part: str, us: np.ndarray) -> np.ndarray:
    """Whether each skin point (n, 2) is seen from each of the part's views: (n, views) of bool."""
    return squarely(surface, part, us) > 0


def best_of(part: str, middle_u: float, shares: np.ndarray) -> int:
    """Index of the view that shows most; of those alike the one that looks most squarely at it."""
    if part in PANEL_VIEWS:
        return int(np.round(shares, 2).argmax())
    off = np.array([view_u(part, v) for v in VIEWS]) - middle_u
    return int(np.lexsort((np.abs(off - np.round(off)), -np.round(shares, 2)))[0])


def tilt(turn_deg: float, upright_deg: float, flip: bool) -> float:
    """How far a motif leans from upright, degrees counter-clockwise in (-180, 180]. `upright_deg` is
    the turn at which the unflipped drawing stands upright."""
    lean = turn_deg - (-upright_deg if flip else upright_deg)
    return lean - 360.0 * np.ceil(lean / 360.0 - 0.5)


def looks(surface: Limb | Panel, part: str, u: float, facing: str, flip: bool,
          turn_deg: float) -> tuple[float, float] | None:
    """How far a motif looks towards the body's centre line and how far forward, each -1..1 (the
    opposite of forward is backward); None when it looks at the viewer, nowhere, or up or down.

    `facing` 'left' or 'right' as drawn, seen from outside. Chest and back: forward is 0.
    """
    way = {"left": -1.0, "right": 1.0}.get(facing, 0.0) * (-1.0 if flip else 1.0) * np.cos(np.radians(turn_deg))
    if abs(way) < 0.35:
        return None
    way = float(np.sign(way))
    if not surface.closed:
        return (-way * float(np.sign(u)) if u else 0.0), 0.0
    a = 2 * np.pi * u
    return -side_of(part) * way * float(np.cos(a)), -way * float(np.sin(a))


def looks_word(towards: float, forward: float) -> str:
    """'towards the centre line', 'forward', 'away from the centre line', 'backward'."""
    if abs(towards) >= abs(forward):
        return "towards the centre line" if towards >= 0 else "away from the centre line"
    return "forward" if forward > 0 else "backward"
