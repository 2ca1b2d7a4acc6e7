"""Where two pieces, or a piece and a border, face each other over empty skin.

Every side of an empty triangle that joins two different edges is a short way across. The ways of
one pair, round the same side of the limb and through the same pocket, are one meeting; a pair that
meets on both sides of the limb has several.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.compose.basins import Basins
from composer.compose.chart import Chart, PanelChart
from composer.compose.flow import Flow
from composer.compose.skin import Skin

CHANNEL_MM = 8.0
"""Up to this clearance two pieces read as one group (common practice, no published source)."""

FIT_MM = (6.0, 15.0, 32.0, 52.0)
"""Clearances that a tie can bridge: none below the first or above the last, every one between the
middle two (common practice, no published source; half of it is left at 10 and 42 mm)."""


@dataclass(frozen=True, eq=False)
class Meetings:
    """Rows sorted by pair, winding and pocket. `a`, `b` (n,) edge indices, a < b; `label` the pocket
    that it runs through (-1: a channel); `clearance` mm where it is narrowest; `shared` mm of length
    along it; `from_port`, `to_port` (n, 2): the best way across, (u, s) on the two outlines, u
    unwrapped alike; `from_turn`, `to_turn`: whole turns that bring each piece's own outline there;
    `across` mm along that way; `agree` 0..1: how far the flow runs along it (0 where
    nothing could bridge it). `touching`: pairs (a, b) of pieces that overlap, with the turns to add
    to b's outline (n, 3). `closed`: whether the part goes round; where it does not, u is as it is on the part."""

    a: np.ndarray
    b: np.ndarray
    label: np.ndarray
    clearance: np.ndarray
    shared: np.ndarray
    from_port: np.ndarray
    to_port: np.ndarray
    from_turn: np.ndarray
    to_turn: np.ndarray
    across: np.ndarray
    agree: np.ndarray
    touching: np.ndarray
    closed: bool = True


def fit(across_mm: np.ndarray | float) -> np.ndarray:
    """How well a tie can bridge a clearance, 0..1."""
    return np.asarray(np.interp(across_mm, FIT_MM, (0.0, 1.0, 1.0, 0.0)))


def find_meetings(chart: Chart, skin: Skin, basins: Basins, flow: Flow, wide: np.ndarray) -> Meetings:
    """All meetings on the skin; `wide` (k,) tells which pockets are gaps."""
    mesh = skin.mesh
    corner_of = skin.owner[mesh.corner]
    i, k, j = mesh.pairs
    p, q = (k + 1) % 3, (k + 2) % 3
    differ = corner_of[i, p] != corner_of[i, q]
    if isinstance(chart, PanelChart):
        differ &= (corner_of[i, p] > 1) | (corner_of[i, q] > 1)   # edges that meet at a corner of the part
    i, k, j, p, q = (x[differ] for x in (i, k, j, p, q))
    back = corner_of[i, p] > corner_of[i, q]
    p, q = np.where(back, q, p), np.where(back, p, q)
    a, b = corner_of[i, p], corner_of[i, q]
    own_turn = np.concatenate([e.turns for e in skin.edges])[skin.raw]
    turn_a = mesh.turn[i, p] - own_turn[mesh.corner[i, p]]
    turn_b = mesh.turn[i, q] - own_turn[mesh.corner[i, q]]

    hidden = ~skin.empty[i] & ~skin.empty[j]
    both = hidden & (a > 1)
    touching = _unlike(a[both], b[both], (turn_b - turn_a)[both])
    i, j, k, p, q, a, b, turn_a, turn_b = (x[~hidden] for x in (i, j, k, p, q, a, b, turn_a, turn_b))

    skin_us = chart.to_skin(mesh.points)
    from_us, to_us = skin_us[mesh.corner[i, p]], skin_us[mesh.corner[i, q]]
    from_us[:, 0] += mesh.turn[i, p]
    to_us[:, 0] += mesh.turn[i, q]
    width = basins.side[i, k]
    if isinstance(chart, PanelChart):
        home = np.round(from_us[:, 0]).astype(int)
        from_us[:, 0] -= home
        to_us[:, 0] -= home
        turn_a, turn_b = turn_a - home, turn_b - home
        width = chart.distance(from_us, to_us)
    label = np.maximum(basins.label[i], basins.label[j])
    label = np.where((width < CHANNEL_MM) | ~np.append(wide, False)[label], -1, label)
    along = np.hypot(*(mesh.centre[i] - mesh.centre[j] - np.column_stack([mesh.shift[i, k], 0 * i])).T)
    along = np.minimum(along * chart.girth(from_us[:, 1]), width + 2.0)
    open_way = (label >= 0) & (fit(width) > 0)
    agree = np.zeros(len(i))
    agree[open_way] = _agree(chart, flow, from_us[open_way], to_us[open_way])
    merit = fit(width) * (0.25 + 0.75 * agree) - 1e-3 * width

    key = _pair_key(a, b, turn_b - turn_a) * np.int64(1 << 20) + label + 1
    order = np.lexsort((-merit, key))   # the best way of each group first
    key = key[order]
    starts = np.flatnonzero(np.append(True, key[1:] != key[:-1])) if len(key) else order
    best = order[starts]
    group = np.empty(len(key), int)
    group[order] = np.cumsum(np.bincount(starts, minlength=len(key))) - 1
    n = len(best)
    least = np.minimum.reduceat(width[order], starts) if n else width
    shared = np.bincount(group, along, minlength=n)
    return Meetings(a[best], b[best], label[best], least, shared, from_us[best], to_us[best], turn_a[best],
                    turn_b[best], width[best], agree[best], touching, not isinstance(chart, PanelChart))


def _pair_key(a: np.ndarray, b: np.ndarray, turns: np.ndarray) -> np.ndarray:
    """One number (n,) for a pair of edges and the turns between them, in that order."""
    return (a * np.int64(4096) + b) * 64 + (turns + 32)


def _unlike(a: np.ndarray, b: np.ndarray, turns: np.ndarray) -> np.ndarray:
    """Each (a, b, turns) once, sorted (k, 3)."""
    _, first = np.unique(_pair_key(a, b, turns), return_index=True)
    return np.column_stack([a[first], b[first], turns[first]])


def _agree(chart: Chart, flow: Flow, a_us: np.ndarray, b_us: np.ndarray) -> np.ndarray:
    mid = (a_us + b_us) / 2
    d = b_us - a_us
    way = np.arctan2(d[:, 1], d[:, 0] * chart.girth(mid[:, 1]))
    return np.cos(way - flow.angle(mid)) ** 2
