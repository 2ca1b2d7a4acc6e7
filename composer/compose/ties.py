"""Ties: where something should be carried across a gap, and why, in the artist's words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import networkx as nx
import numpy as np

from composer.compose.hold import Hold
from composer.compose.meetings import Meetings, fit
from composer.compose.outline import FAR, NEAR
from composer.compose.words import both_names, piece_name, side_name

BORDER_SHARE = 0.6
"""Say of a tie to a cuff: it finishes the sleeve, it does not join two pieces."""

WEAKEST = 0.05


@dataclass(frozen=True)
class Tie:
    """A link that something should carry. `a`, `b`: piece ids, or 'border:far' / 'border:near'.
    `gaps`: keys of the gaps that it crosses. `clearance_mm` from port to port. `strength` 0..1: how
    much a tie here would hold the sleeve together. `reason`: why, for the artist. `from_port` on a
    and `to_port` on b: (u, s mm), u unwrapped so that the short way lies between them. `agree` 0..1:
    how far the flow runs along it. `only`: no other tie could join the two groups."""

    a: str
    b: str
    gaps: tuple[str, ...]
    clearance_mm: float
    strength: float
    reason: str
    from_port: tuple[float, float]
    to_port: tuple[float, float]
    agree: float
    only: bool


def rank_ties(meetings: Meetings, hold: Hold, ids: Sequence[str], titles: Mapping[str, str],
              crossed: Mapping[int, tuple[str, ...]]) -> tuple[Tie, ...]:
    """Ties from the strongest. `ids` name the edges; `crossed` gives the gaps of each meeting that
    runs through one."""
    m = meetings
    rows = [r for r in sorted(crossed) if crossed[r] and fit(m.across[r]) > 0]
    only = _only(m, hold, rows)
    pull = 0.6 * hold.eased + 0.4 * np.minimum(hold.whole / 0.08, 1.0)
    strength = fit(m.across) * (0.4 + 0.6 * m.agree) * (0.3 + 0.7 * pull)
    strength = np.where(m.a < 2, BORDER_SHARE, 1.0) * strength
    out = []
    for r in rows:
        value = float(np.clip(strength[r], 0, 1))
        if value < WEAKEST:
            continue
        a, b = ids[m.a[r]], ids[m.b[r]]
        start, end = m.from_port[r], m.to_port[r]
        if a in (FAR, NEAR):
            a, b, start, end = b, a, end, start
        turns = np.floor(start[0])
        reason = _reason(a, b, float(m.across[r]), float(m.agree[r]), r in only, r, m, hold, ids, titles)
        out.append(Tie(a, b, crossed[r], float(m.across[r]), value, reason, (float(start[0] - turns), float(start[1])),
                       (float(end[0] - turns), float(end[1])), float(m.agree[r]), r in only))
    return tuple(sorted(out, key=lambda t: (-round(t.strength, 6), t.a, t.b, t.gaps, t.from_port)))


def _only(m: Meetings, hold: Hold, rows: Sequence[int]) -> set[int]:
    """Rows that are the one place where two groups of pieces could be joined: bridges of the graph
    of groups."""
    pairs: dict[tuple[int, int], list[int]] = {}
    for r in rows:
        if m.a[r] > 1:
            g, h = sorted((int(hold.group[m.a[r]]), int(hold.group[m.b[r]])))
            if g != h:
                pairs.setdefault((g, h), []).append(r)
    graph = nx.Graph(list(pairs))
    bridges = {tuple(sorted(e)) for e in nx.bridges(graph)} if pairs else set()
    return {rs[0] for pair, rs in pairs.items() if len(rs) == 1 and pair in bridges}


def _reason(a: str, b: str, across: float, agree: float, only: bool, row: int, m: Meetings, hold: Hold,
            ids: Sequence[str], titles: Mapping[str, str]) -> str:
    flow = ("the flow runs through" if agree >= 0.65 else "the flow runs aslant" if agree >= 0.3 else
            "the flow runs across it")
    if b in (FAR, NEAR):
        run = {"the flow runs through": "the flow runs out to it", "the flow runs aslant": "the flow runs out aslant",
               "the flow runs across it": "the flow runs past it"}[flow]
        return (f"{piece_name(a, titles, capital=True)} stands {across:.0f} mm from {piece_name(b, titles)} and {run}; "
                f"a tie here finishes the edge there.")
    first = f"{both_names(a, b, titles)} face each other across {across:.0f} mm and {flow}"
    g, h = int(hold.group[m.a[row]]), int(hold.group[m.b[row]])
    if g == h:
        how = ("they hang together only the long way round, and a tie would close the ring"
               if hold.eased[row] >= 0.5 else "they hang together already, so a tie here is for rhythm")
        return f"{first}; {how}."
    sides = [side_name(x, [ids[k] for k in np.flatnonzero(hold.group == hold.group[k2]) if k > 1], titles)
             for x, k2 in ((ids[m.a[row]], m.a[row]), (ids[m.b[row]], m.b[row]))]
    if only:
        return f"{first}. Nothing else can join {sides[0]} and {sides[1]}; without something here they fall apart."
    if hold.whole[row] >= 0.04:
        return f"{first}; without something here {sides[0]} and {sides[1]} drift apart."
    return f"{first}; it would join {sides[0]} to {sides[1]}, which other ties could do too."
