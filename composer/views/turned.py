"""A part as drawn from a standpoint: outline, level rings and art as flat vectors.

Parallel light, level sight: the outline is the edge of the half that is seen (`seen.edge_u`), and
art beyond it is folded onto that edge, where it has no area.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from composer.plan.model import Piece
from composer.views.mesh import End, ends
from composer.views.seen import edge_u
from composer.views.surface import Surface
from composer.views.worn import Worn, turns_over


@dataclass(frozen=True)
class Turned:
    """One view, mm, x right, y up (height above the far end), seen at true size. `outline` is the
    skin's, `caps` the soft ends' (rings); `levels` are (name, line); `pieces` (piece, ground,
    silhouette, layers) are rings, filled even-odd, back to front."""

    u: float
    outline: np.ndarray
    caps: tuple[np.ndarray, np.ndarray]
    levels: tuple[tuple[str, np.ndarray], ...]
    pieces: tuple[TurnedPiece, ...]

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        xy = np.concatenate([self.outline, *self.caps])
        (x0, y0), (x1, y1) = xy.min(axis=0), xy.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)


@dataclass(frozen=True)
class TurnedPiece:
    """A piece as seen: rings (n, 2) in the view's mm."""

    piece: Piece
    ground: list[np.ndarray]
    silhouette: list[np.ndarray]
    layers: tuple[tuple[str, list[np.ndarray]], ...]


@dataclass(frozen=True)
class Standpoint:
    """A far, level standpoint in front of `u` (turns); `mirror` turns the picture over."""

    surface: Surface
    u: float
    mirror: bool = False

    def flat(self, xyz: np.ndarray) -> np.ndarray:
        """Space (n, 3) to the picture's mm (n, 2)."""
        a = 2 * np.pi * self.u
        x = xyz[:, 0] * np.cos(a) + xyz[:, 1] * np.sin(a)
        return np.column_stack([-x if self.mirror else x, xyz[:, 2]])

    def rings(self, rings: Sequence[np.ndarray], table: tuple[np.ndarray, np.ndarray]) -> list[np.ndarray]:
        """Rings on skin to what is seen of them; `table` is (s, left edge u)."""
        return self.groups([rings], table)[0]

    def groups(self, groups: Sequence[Sequence[np.ndarray]], table: tuple[np.ndarray, np.ndarray]) -> list[
            list[np.ndarray]]:
        """The same for several groups of rings at once, which is quicker."""
        out: list[list[np.ndarray]] = [[] for _ in groups]
        rings = [r for group in groups for r in group]
        if not rings:
            return out
        whose = np.repeat(np.arange(len(groups)), [len(group) for group in groups]).tolist()
        limb = self.surface.limb
        us = np.concatenate(rings)
        cuts = [0, *np.cumsum([len(r) for r in rings]).tolist()]
        left = np.interp(us[:, 1], *table)
        for k in turns_over(us[:, 0].min(), us[:, 0].max(), float(table[1].min()), float(table[1].max()) + 0.5):
            across = us[:, 0] + k - left
            shows = (np.maximum.reduceat(across, cuts[:-1]) > 0.0) & (np.minimum.reduceat(across, cuts[:-1]) < 0.5)
            if not shows.any():
                continue
            skin = np.column_stack([left + np.clip(across, 0.0, 0.5), np.clip(us[:, 1], limb.s_min, limb.s_max)])
            seen = np.repeat(shows, np.diff(cuts))   # the rest need not be carried into space
            flat = np.empty_like(skin)
            flat[seen] = self.flat(self.surface.xyz(skin[seen]))
            for (a, b), shown, i in zip(pairwise(cuts), shows.tolist(), whose, strict=True):
                if shown:
                    out[i].append(flat[a:b])
        return out


def turned(surface: Surface, art: Sequence[Worn], u: float, mirror: bool = False) -> Turned:
    """The part from a far, level standpoint that looks at `u` (turns). Raises ValueError for a bent
    limb, whose sections are not level."""
    if not surface.level:
        raise ValueError("A bent limb can't be drawn flat here; look at it on the turntable.")
    limb, stand = surface.limb, Standpoint(surface, u, mirror)
    s = np.linspace(limb.s_min, limb.s_max, 161)
    left = edge_u(limb, s, u)
    table = (s, left)
    edge = [stand.flat(surface.xyz(np.column_stack([left + d, s]))) for d in (0.0, 0.5)]
    rim = [_arc(surface, stand, table, at) for at in (limb.s_min, limb.s_max)]
    outline = np.concatenate([rim[0], edge[1][1:], rim[1][::-1][1:], edge[0][::-1][1:-1]])
    far, near = ends(limb, surface.part, surface.posed)
    levels = tuple((lv.name, _arc(surface, stand, table, lv.s_mm)) for lv in limb.levels)
    pieces = []
    for w in art:
        once = w.silhouette is w.ground
        ground, *rest = stand.groups([w.ground, *([] if once else [w.silhouette]), *(r for _, r in w.layers)], table)
        if ground:
            silhouette, *layers = [ground, *rest] if once else rest
            pieces.append(TurnedPiece(w.piece, ground, silhouette,
                                      tuple((role, r) for (role, _), r in zip(w.layers, layers, strict=True))))
    return Turned(u, outline, (_hull(stand, far), _hull(stand, near)), levels, tuple(pieces))


def _arc(surface: Surface, stand: Standpoint, table: tuple[np.ndarray, np.ndarray], s: float) -> np.ndarray:
    u = float(np.interp(s, *table)) + np.linspace(0, 0.5, 33)
    return stand.flat(surface.xyz(np.column_stack([u, np.full(len(u), s)])))


def _hull(stand: Standpoint, end: End) -> np.ndarray:
    """Outline of a soft end: its widest points ring by ring (n, 2)."""
    flat = stand.flat(end.xyz)
    heights = np.unique(end.fade)
    rings = [flat[end.fade == h] for h in heights]
    left = np.array([r[r[:, 0].argmin()] for r in rings])
    right = np.array([r[r[:, 0].argmax()] for r in rings])
    return np.concatenate([left, right[::-1]])
