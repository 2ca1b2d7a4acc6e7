"""How the sleeve hangs together: pieces as a network of conductors, and what a new tie would do.

Pieces that overlap or stand close conduct well, pieces that face each other over open skin a
little. Effective resistance between two pieces falls with every way there is between them (Klein
and Randic 1993). A tie of conductance 1 lowers the resistance of the whole network (the Kirchhoff
index) by an amount in closed form, the rank-one update of the Laplacian's pseudo-inverse (Sherman
and Morrison 1950; Ghosh, Boyd and Saberi 2008).
"""

from __future__ import annotations

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from composer.compose.meetings import CHANNEL_MM, Meetings

OVERLAP = 4.0
"""Conductance of an overlap; a channel has up to 2, a facing pair over open skin FAINT at most."""

FAINT = 0.04
LEAK = 1e-3


class Hold:
    """The network as ties are added to it, one after the other. Nodes are the edges' indices less
    the two borders. `group` (n,): which pieces hang together by overlaps, channels and ties."""

    def __init__(self, meetings: Meetings, count: int) -> None:
        m, n = meetings, count - 2
        rows = m.a > 1
        a, b, near, shared = m.a[rows] - 2, m.b[rows] - 2, m.clearance[rows], m.shared[rows]
        channel = (m.label[rows] < 0) & (near < CHANNEL_MM)
        strong = np.clip(shared / 20.0, 0.2, 2.0) * np.clip((CHANNEL_MM + 2 - near) / CHANNEL_MM, 0.1, 1.0)
        g = np.where(channel, strong, FAINT * np.clip(30.0 / np.maximum(near, 1.0), 0.1, 1.0))
        over = m.touching[:, :2] - 2
        a, b = np.concatenate([a, over[:, 0]]), np.concatenate([b, over[:, 1]])
        g = np.concatenate([g, np.full(len(over), OVERLAP)])
        lap = np.full((n, n), -LEAK / max(n, 1))
        np.add.at(lap, (a, b), -g)
        np.add.at(lap, (b, a), -g)
        np.fill_diagonal(lap, 0.0)
        np.fill_diagonal(lap, -lap.sum(axis=1))
        self.inverse = np.linalg.inv(lap + 1.0 / n) - 1.0 / n if n else np.zeros((0, 0))
        close = np.concatenate([channel, np.ones(len(over), bool)])
        self.group = connected_components(
            coo_matrix((np.ones(close.sum()), (a[close], b[close])), shape=(n, n)), directed=False)[1] if n else \
            np.zeros(0, int)

    def gain(self, a: np.ndarray, b: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """For ties between nodes a and b (k,): the share of the resistance between the two that a
        tie would take away, and the share of the whole network's; both 0..1."""
        x = self.inverse[a] - self.inverse[b]
        k = np.arange(len(a))
        r = np.maximum(x[k, a] - x[k, b], 0.0)
        whole = (x * x).sum(axis=1) / (1 + r) / max(float(np.trace(self.inverse)), 1e-12)
        return r / (1 + r), np.clip(whole, 0.0, 1.0)

    def tie(self, a: int, b: int) -> None:
        """Add a tie of conductance 1 between nodes a and b."""
        x = self.inverse[a] - self.inverse[b]
        self.inverse = self.inverse - np.outer(x, x) / (1 + max(float(x[a] - x[b]), 0.0))
        if self.group[a] != self.group[b]:
            self.group = np.where(self.group == self.group[b], self.group[a], self.group)
