"""How the sleeve hangs together: pieces as a network of conductors, and what a new tie would do.

Pieces that overlap or stand close conduct well, pieces that face each other over open skin a
little. Effective resistance between two pieces falls with every way there is between them (Klein
and Randic 1993); a tie of conductance 1 lowers the resistance of the whole network (the Kirchhoff
index) by an amount in closed form, the rank-one update of the Laplacian's pseudo-inverse (Sherman
and Morrison 1950; Ghosh, Boyd and Saberi 2008).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from composer.compose.meetings import CHANNEL_MM, Meetings

OVERLAP = 4.0
"""Conductance of an overlap; a channel has up to 2 and a facing pair over open skin FAINT."""

FAINT = 0.04


@dataclass(frozen=True, eq=False)
class Hold:
    """For each meeting (n,): `resistance` between its two ends as they hang now; `eased`, the share
    of it that a tie would take away; `whole`, the share of the whole network's resistance that a
    tie would take away. `group` (edges,): which pieces hang together by overlaps and channels."""

    resistance: np.ndarray
    eased: np.ndarray
    whole: np.ndarray
    group: np.ndarray


def held(meetings: Meetings, count: int) -> Hold:
    """Hold of every meeting; `count` edges in all, the two borders first."""
    m = meetings
    channel = (m.label < 0) & (m.clearance < CHANNEL_MM)
    strong = np.clip(m.shared / 20.0, 0.2, 2.0) * np.clip((CHANNEL_MM + 2 - m.clearance) / CHANNEL_MM, 0.1, 1.0)
    g = np.where(channel, strong, FAINT * np.clip(30.0 / np.maximum(m.clearance, 1.0), 0.1, 1.0))
    rows = np.concatenate([m.a, m.touching[:, 0]])
    cols = np.concatenate([m.b, m.touching[:, 1]])
    values = np.concatenate([g, np.full(len(m.touching), OVERLAP)])
    lap = np.zeros((count, count))
    np.add.at(lap, (rows, cols), -values)
    lap = lap + lap.T
    np.fill_diagonal(lap, 0.0)
    np.fill_diagonal(lap, -lap.sum(axis=1))
    inverse = np.linalg.inv(lap + 1.0 / count + 1e-9 * np.eye(count)) - 1.0 / count
    x = inverse[m.a] - inverse[m.b]
    n = np.arange(len(m.a))
    resistance = np.maximum(x[n, m.a] - x[n, m.b], 0.0)
    eased = resistance / (1 + resistance)
    whole = (x * x).sum(axis=1) / (1 + resistance) / max(float(np.trace(inverse)), 1e-12)
    close = np.concatenate([channel & (m.a > 1), np.ones(len(m.touching), bool)])
    _, group = connected_components(coo_matrix((np.ones(close.sum()), (rows[close], cols[close])),
                                               shape=(count, count)), directed=False)
    return Hold(resistance, eased, np.clip(whole, 0, 1), group)
