"""Ties: where something should be carried across a gap, and why, in the artist's words.

Ties are ranked one after the other: the strongest first, then the strongest of the rest as if the
first were already drawn, and so on, so that the top of the list is a set that holds the sleeve.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from composer.compose.hold import Hold
from composer.compose.meetings import Meetings, fit
from composer.compose.outline import FAR, NEAR
from composer.compose.words import both, capital, names_of, side_name

BORDER_PULL = 0.35
"""Pull of a tie to a cuff, where one between pieces has 0..1: it finishes the sleeve's edge."""

LEADS_ON = ("armhole", "shoulder", "side")
"""Edges of chest and back beyond which skin goes on: there a tie finishes nothing."""

WEAKEST = 0.12
MOST = 64
SAME_PLACE_MM = 25.0
STEPS = 24
"""So many ties are ranked one after the other; the rest as they stand then, MOST in all."""

WHOLE_FULL = 0.1
"""Share of the whole sleeve's resistance that counts as all a single tie can do."""


@dataclass(frozen=True)
class Tie:
    """A link that something should carry. `a`, `b`: piece ids; b may be 'border:far' / 'border:near', on chest and
    back 'border:armhole_left' and so on.
    `gaps`: keys of the gaps that it crosses or stands in the neck of. `clearance_mm` from port to
    port. `strength` 0..1: how much a tie here would hold the sleeve together once the stronger ones
    are drawn. `reason`: why, for the artist. `from_port` on a and `to_port` on b: (u, s mm), u
    unwrapped so that the short way lies between them. `agree` 0..1: how far the flow runs along it.
    `joins`: with the stronger ties drawn, it still joins two groups that nothing else holds together."""

    a: str
    b: str
    gaps: tuple[str, ...]
    clearance_mm: float
    strength: float
    reason: str
    from_port: tuple[float, float]
    to_port: tuple[float, float]
    agree: float
    joins: bool


def rank_ties(meetings: Meetings, hold: Hold, ids: Sequence[str], titles: Mapping[str, str],
              crossed: Mapping[int, tuple[str, ...]],
              border_at: Callable[[np.ndarray, str], str] = lambda us, who: who,
              over: np.ndarray | None = None) -> tuple[Tie, ...]:
    """Ties from the strongest. `ids` name the edges; `crossed` gives the gaps of each meeting that
    runs through one. `hold` is used up: ties are added to it. `border_at` tells which edge of the part a border is
    at a place (2,) of (u, s); what runs over the edge already (`over`, bool for each of `ids`) needs no tie to it."""
    m = meetings
    names = names_of(titles)
    rows, gaps = _candidates(m, crossed if over is None else {
        r: v for r, v in crossed.items() if m.a[r] > 1 or not over[m.b[r]]})
    base = fit(m.across[rows]) * (0.4 + 0.6 * m.agree[rows])
    border = m.a[rows] < 2
    a, b = m.a[rows] - 2, m.b[rows] - 2
    left = np.arange(len(rows))
    out: list[Tie] = []
    last = 1.0
    for step in range(STEPS + 1):
        if not len(left):
            break
        eased, whole = np.zeros(len(left)), np.zeros(len(left))
        inner = ~border[left]
        eased[inner], whole[inner] = hold.gain(a[left[inner]], b[left[inner]])
        pull = np.where(inner, 0.5 * eased + 0.5 * np.minimum(whole / WHOLE_FULL, 1.0), BORDER_PULL)
        strength = np.minimum(base[left] * (0.2 + 0.8 * pull), last)
        order = np.argsort(-strength, kind="stable")
        for k in order if step == STEPS else order[:1]:
            last = float(strength[k])
            if last < WEAKEST or len(out) == MOST:
                return tuple(out)
            r = int(rows[left[k]])
            out.append(_tie(r, gaps[left[k]], last, float(eased[k]), m, hold, ids, names, border_at))
            if m.a[r] > 1 and step < STEPS:
                hold.tie(int(m.a[r]) - 2, int(m.b[r]) - 2)
        left = np.delete(left, order[0])
    return tuple(out)


def _candidates(m: Meetings, crossed: Mapping[int, tuple[str, ...]]) -> tuple[np.ndarray, list[tuple[str, ...]]]:
    """Meetings that a tie can bridge; two of one pair at one neck are one, in both gaps."""
    merit = fit(m.across) * (0.25 + 0.75 * m.agree)
    good = np.array([r for r in sorted(crossed) if crossed[r]], int)
    good = good[merit[good] > 0]
    good = good[np.argsort(-merit[good], kind="stable")]
    kept: dict[tuple[int, ...], list[list]] = {}
    turns, at = m.to_turn[good] - m.from_turn[good], m.from_port[good, 0] - m.from_turn[good]
    for r, *pair, u, s in zip(*(x.tolist() for x in (good, m.a[good], m.b[good], turns, at, m.from_port[good, 1])),
                               strict=True):
        others = kept.setdefault(tuple(pair), [])
        for other in others:
            if math.hypot((u - other[2]) * 300.0, s - other[3]) < SAME_PLACE_MM:
                other[1] += tuple(g for g in crossed[r] if g not in other[1])
                break
        else:
            others.append([r, crossed[r], u, s])
    flat = sorted((x for xs in kept.values() for x in xs), key=lambda x: x[0])
    return np.array([x[0] for x in flat], int), [x[1] for x in flat]


def _tie(r: int, gaps: tuple[str, ...], strength: float, eased: float, m: Meetings, hold: Hold, ids: Sequence[str],
         names: Mapping[str, str], border_at: Callable[[np.ndarray, str], str]) -> Tie:
    a, b = ids[m.a[r]], ids[m.b[r]]
    start, end = m.from_port[r], m.to_port[r]
    joins = False
    if a in (FAR, NEAR):
        a, b, start, end = b, border_at(start, a), end, start
        reason = _border_reason(a, b, float(m.across[r]), float(m.agree[r]), names)
    else:
        g, h = hold.group[m.a[r] - 2], hold.group[m.b[r] - 2]
        joins = bool(g != h)
        sides = [side_name(who, [ids[k + 2] for k in np.flatnonzero(hold.group == x).tolist()], names)
                 for who, x in ((a, g), (b, h))] if joins else []
        reason = _reason(capital(both(names[a], names[b])), float(m.across[r]), float(m.agree[r]), joins, eased, sides)
    turns = np.floor(start[0]) if m.closed else 0.0
    return Tie(a, b, gaps, float(m.across[r]), strength, reason, (float(start[0] - turns), float(start[1])),
               (float(end[0] - turns), float(end[1])), float(m.agree[r]), joins)


def _reason(pair: str, across: float, agree: float, joins: bool, eased: float, sides: Sequence[str]) -> str:
    flow = ("the flow runs through" if agree >= 0.65 else "the flow runs aslant" if agree >= 0.3 else
            "the flow runs across it")
    first = f"{pair} face each other across {across:.0f} mm and {flow}"
    if joins:
        return f"{first}; without something here {sides[0]} and {sides[1]} fall apart."
    if eased >= 0.5:
        return f"{first}; they hang together only the long way round, and a tie would close the ring."
    return f"{first}; they hang together already, so a tie here is for rhythm."


def _border_reason(a: str, b: str, across: float, agree: float, names: Mapping[str, str]) -> str:
    flow = ("the flow runs out to it" if agree >= 0.65 else "the flow runs out aslant" if agree >= 0.3 else
            "the flow runs past it")
    does = "leads on over it" if b.split(":")[1].startswith(LEADS_ON) else "finishes that edge"
    return f"{capital(names[a])} stands {across:.0f} mm from {names[b]} and {flow}; a tie here {does}."
