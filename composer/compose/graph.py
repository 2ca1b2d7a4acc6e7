"""The composition graph: pieces, gaps and borders, and everything that lies between them.

Nodes: piece ids, gap keys and 'border:far' / 'border:near', with `kind` 'piece', 'gap' or 'border'
and their place (`u`, `s_mm`). Pieces with one `group` hang together by overlaps and channels. Edges have `kind`:

- 'meets': two pieces, or a piece and a border, facing each other; `gap` is the key of the gap
  between or None for a channel, `clearance_mm`, `shared_mm` of length along, `agree` with the flow
  (0..1; 0 where no tie
  could bridge it).
- 'overlaps': two pieces that lie over each other.
- 'bounds': a gap and what lies along its edge.
- 'neck': two gaps that open into each other; `width_mm`.
- 'flow': two gaps that the flow runs on between; `behind`, the pieces it passes under.

An undirected edge keeps no direction, so each carries `start`, `end`, and from start to end `du`
(turns, unwrapped), `ds_mm`, and `winding`, the whole turns in du: a pair may meet on both sides.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import shapely

from composer.compose.basins import Basins
from composer.compose.chart import Chart
from composer.compose.flow import Flow
from composer.compose.meetings import Meetings, fit
from composer.compose.pockets import U_SCALE, Pocket
from composer.compose.rim import border_at, borders_of
from composer.compose.skin import Skin
from composer.compose.streams import find_streams

if TYPE_CHECKING:   # loaded only where a graph is asked for: it takes 20 MB
    import networkx as nx


def crossed_gaps(meetings: Meetings, pockets: Mapping[int, Sequence[Pocket]]) -> dict[int, tuple[str, ...]]:
    """For each meeting through a pocket, the keys of the gaps that its way across passes through,
    the longest stretch first. `pockets` gives the gaps of each label."""
    share = np.array([0.3, 0.5, 0.7])[None, :, None]
    can = np.flatnonzero(fit(meetings.across) > 0)
    can = can[np.argsort(meetings.label[can], kind="stable")]
    ways = meetings.from_port[can, None] * (1 - share) + meetings.to_port[can, None] * share
    label_of = meetings.label[can]
    out: dict[int, tuple[str, ...]] = {}
    for label, found in pockets.items():
        first, last = np.searchsorted(label_of, (label, label + 1)).tolist()
        if first == last or not found:
            continue
        rows, us = can[first:last], ways[first:last].reshape(-1, 2)
        hits = np.array([p.holds(us).reshape(len(rows), -1).sum(axis=1) for p in found])
        if len(found) == 1:
            only = (found[0].key,)
            out.update((r, only if hit else ()) for r, hit in zip(rows.tolist(), hits[0].tolist(), strict=True))
            continue
        for r, counts in zip(rows.tolist(), hits.T.tolist(), strict=True):
            order = sorted((-hit, k) for k, hit in enumerate(counts) if hit)
            out[r] = tuple(found[k].key for _, k in order)
    return out


def build_graph(chart: Chart, skin: Skin, basins: Basins, meetings: Meetings, group: np.ndarray,
                crossed: Mapping[int, tuple[str, ...]], pockets: Mapping[int, Sequence[Pocket]],
                anchors: Mapping[str, tuple[float, float]], flow: Flow) -> nx.MultiGraph:
    """The graph of a survey. `anchors`: (u, s mm) of each piece."""
    import networkx as nx

    g = nx.MultiGraph()
    for who, u, s in borders_of(skin.limb):
        g.add_node(who, kind="border", u=u, s_mm=s)
    for e, part in zip(skin.edges[2:], group, strict=True):
        g.add_node(e.id, kind="piece", u=anchors[e.id][0], s_mm=anchors[e.id][1], group=int(part))
    for found in pockets.values():
        for p in found:
            g.add_node(p.key, kind="gap", u=p.centre[0], s_mm=p.centre[1], area_mm2=p.area_mm2)
    _add_meetings(g, skin, meetings, crossed, anchors)
    for found in pockets.values():
        for p in found:
            for who in p.neighbours:
                u, s = anchors.get(who, (p.centre[0] if skin.limb.closed else g.nodes[who]["u"], g.nodes[who]["s_mm"]))
                _link(g, p.key, who, "bounds", _short(u - p.centre[0]), s - p.centre[1])
    _add_necks(g, chart, skin, basins, pockets)
    for x in find_streams(chart, flow, skin, [p for found in pockets.values() for p in found]):
        _link(g, x.start, x.end, "flow", x.du, x.ds_mm, behind=x.behind, length_mm=x.length_mm)
    return g


def _link(g: nx.MultiGraph, start: str, end: str, kind: str, du: float, ds: float, **more: object) -> None:
    g.add_edge(start, end, kind=kind, start=start, end=end, du=float(du), ds_mm=float(ds), winding=round(du), **more)


def _short(du: float) -> float:
    return float(du - np.round(du))


def _add_meetings(g: nx.MultiGraph, skin: Skin, m: Meetings, crossed: Mapping[int, tuple[str, ...]],
                  anchors: Mapping[str, tuple[float, float]]) -> None:
    ids = [e.id for e in skin.edges]
    for r in range(len(m.a)):
        a, b = (border_at(skin.limb, at, ids[k]) if k < 2 else ids[k]
                for k, at in ((m.a[r], m.from_port[r]), (m.b[r], m.to_port[r])))
        (ua, sa), (ub, sb) = m.from_port[r], m.to_port[r]
        if a in anchors:
            ua, sa = anchors[a][0] + m.from_turn[r], anchors[a][1]
        if b in anchors:
            ub, sb = anchors[b][0] + m.to_turn[r], anchors[b][1]
        through = crossed.get(r, ())
        _link(g, a, b, "meets", ub - ua, sb - sa, gap=through[0] if through else None,
              clearance_mm=float(m.clearance[r]), shared_mm=float(m.shared[r]), agree=float(m.agree[r]))
    for x, y, k in m.touching:
        a, b = ids[x], ids[y]
        _link(g, a, b, "overlaps", anchors[b][0] + k - anchors[a][0], anchors[b][1] - anchors[a][1], clearance_mm=0.0)


def _add_necks(g: nx.MultiGraph, chart: Chart, skin: Skin, basins: Basins,
               pockets: Mapping[int, Sequence[Pocket]]) -> None:
    mesh, label = skin.mesh, basins.label
    wide = np.array([bool(pockets.get(k)) for k in range(len(basins.peak))] + [False])
    i, k, j = mesh.pairs
    keep = (label[i] != label[j]) & wide[label[i]] & wide[label[j]]
    i, k, j = i[keep], k[keep], j[keep]
    back = label[i] > label[j]
    lo, hi = np.where(back, label[j], label[i]), np.where(back, label[i], label[j])
    shift = np.where(back, -1, 1) * (mesh.shift[i, k] + basins.lift[i] - basins.lift[j])
    width = basins.side[i, k]
    seen: set[tuple[int, int, int]] = set()
    for n in np.lexsort((k, i, -width)):
        at = (int(lo[n]), int(hi[n]), int(shift[n]))
        if at in seen:
            continue
        seen.add(at)
        ends = mesh.points[mesh.corner[i[n], [(k[n] + 1) % 3, (k[n] + 2) % 3]]]
        ends[:, 0] += mesh.turn[i[n], [(k[n] + 1) % 3, (k[n] + 2) % 3]]
        mid = chart.to_skin(ends).mean(axis=0)
        a, b = (_nearest(pockets[x], mid) for x in at[:2])
        (ua, sa), (ub, sb) = a.centre, b.centre
        du = _short(mid[0] - ua) + _short(ub - mid[0])
        _link(g, a.key, b.key, "neck", du, sb - sa, width_mm=float(width[n]))
    for found in pockets.values():
        for x, a in enumerate(found):
            for b in found[x + 1 :]:
                du = _short(b.centre[0] - a.centre[0])
                turn = round(du - (b.centre[0] - a.centre[0]))
                moved = shapely.transform(b.shape, lambda p, k=turn: p + np.array([k * U_SCALE, 0.0]))
                if shapely.dwithin(a.shape, moved, 0.5):
                    _link(g, a.key, b.key, "neck", du, b.centre[1] - a.centre[1], width_mm=float(
                        min(a.widest_mm, b.widest_mm)))


def _nearest(found: Sequence[Pocket], us: np.ndarray) -> Pocket:
    if len(found) == 1:
        return found[0]
    spots = shapely.points([((us[0] + k) * U_SCALE, us[1]) for k in (-1, 0, 1)])
    return min(found, key=lambda p: float(shapely.distance(p.shape, spots).min()))
