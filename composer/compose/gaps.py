"""The empty skin of a part as gaps, with the ties that would hold the sleeve together.

Only pieces take up skin here; fillers lie in the gaps. A gap is a pocket wide enough to hold an
element; what is narrower is skin break. There is no seam: u runs on round the limb.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import TYPE_CHECKING

import numpy as np

from composer.compose.basins import Basins, find_basins
from composer.compose.chart import chart_of
from composer.compose.flow import Flow, flow_of
from composer.compose.graph import build_graph, crossed_gaps
from composer.compose.hold import Hold
from composer.compose.meetings import find_meetings
from composer.compose.pockets import Pocket, bare_cell, make_pockets, name_cell, near_cells
from composer.compose.rim import border_at, over_rim
from composer.compose.skin import Skin, build_skin
from composer.compose.ties import Tie, rank_ties
from composer.compose.words import border_titles
from composer.plan.scene import Scene

if TYPE_CHECKING:
    import networkx as nx

SHEET_SLACK = 0.9
"""The sheet of chest or back tells a width in one way by so much too little at most, once it is set right on average;
what is kept is measured in a patch."""


@dataclass(frozen=True)
class Gap:
    """A pocket of empty skin.

    `key`: short name, the same for the same outline. `number`: 1 for the largest, then on.
    `rings`: outline on skin, each ring (n, 2) of (u, s mm), u unwrapped, the outside first, then
    holes, clear of the pieces by the skin break. `area_mm2` on skin. `widest_mm`: diameter of the
    widest circle inside the outline, `centre` its (u, s). `neighbours`: ids of the pieces along its
    edge, and 'border:far' (wrist) or 'border:near' (shoulder); on chest and back 'border:armhole_left' and so on.
    `flow_deg`: direction of flow at the
    centre, degrees counter-clockwise from the way round the limb (x of a patch), in [0, 180).
    `length_mm`: greatest distance between two of its points.
    """

    key: str
    number: int
    rings: tuple[np.ndarray, ...] = field(compare=False, repr=False)
    area_mm2: float
    widest_mm: float
    centre: tuple[float, float]
    neighbours: tuple[str, ...]
    flow_deg: float
    length_mm: float


@dataclass(frozen=True, eq=False)
class Survey:
    """What was found on a part. `gaps` from the largest, `ties` from the strongest, `flow` of
    the background, `graph` of all. The rest is what `resurvey` starts from."""

    gaps: tuple[Gap, ...]
    ties: tuple[Tie, ...]
    flow: Flow
    scene: Scene
    skin_break_mm: float
    least_mm: float
    skin: Skin = field(repr=False)
    cells: Mapping[bytes, tuple[Pocket, ...]] = field(repr=False)
    make_graph: Callable[[], nx.MultiGraph] = field(repr=False)

    @cached_property
    def graph(self) -> nx.MultiGraph:
        """Pieces, gaps and borders (see `composer.compose.graph`), built when first asked for."""
        return self.make_graph()


def survey(scene: Scene, skin_break_mm: float = 2.0, least_mm: float = 10.0) -> Survey:
    """Gaps and ties of a scene from scratch.

    `skin_break_mm`: clear margin kept round pieces. `least_mm`: a pocket counts when a circle of
    this diameter fits between the edges of the pieces (so, within the gap's outline, one of
    least_mm - 2 skin breaks); within a single piece it takes twice that, since small holes belong
    to the drawing. Raises ValueError when a margin is not a sensible length.
    """
    if not 0 <= skin_break_mm <= 20:
        raise ValueError(f"The skin break must be between 0 and 20 mm, not {skin_break_mm:g}.")
    if not 2 * skin_break_mm + 2 <= least_mm <= 200:
        raise ValueError(f"The smallest gap must be between {2 * skin_break_mm + 2:g} mm (two skin breaks and "
                         f"something to see) and 200 mm, not {least_mm:g}.")
    return _look(scene, skin_break_mm, least_mm, None)


def resurvey(previous: Survey, scene: Scene) -> Survey:
    """The survey of a scene that differs from the previous one in a few pieces: equal to a full
    survey, sooner. Another limb is surveyed from scratch."""
    return _look(scene, previous.skin_break_mm, previous.least_mm, previous)


def _look(scene: Scene, skin_break_mm: float, least_mm: float, old: Survey | None) -> Survey:
    if old is not None and old.scene.limb != scene.limb:
        old = None
    skin = build_skin(scene, skin_break_mm, old.skin if old else None)
    chart = chart_of(scene.limb)
    basins = find_basins(chart, skin.mesh, skin.empty)
    cells, pockets = _cells(skin, basins, least_mm, old.cells if old else {})
    flow = flow_of(scene)
    gaps = _number([p for found in pockets.values() for p in found], flow)

    wide = np.array([bool(pockets.get(k)) for k in range(len(basins.peak))], bool)
    meetings = find_meetings(chart, skin, basins, flow, wide)
    hold = Hold(meetings, len(skin.edges))
    group = hold.group
    crossed = crossed_gaps(meetings, pockets)
    main = [x.piece for x in scene.laid if not x.piece.is_filler]
    anchors = {p.id: (p.u, p.s_mm) for p in main}
    titles = border_titles(main[0].part if main else "") | {p.id: p.title for p in main}
    ties = rank_ties(meetings, hold, [e.id for e in skin.edges], titles, crossed, partial(border_at, scene.limb),
                     over_rim(scene.limb, [e.cover for e in skin.edges]))
    make = partial(build_graph, chart, skin, basins, meetings, group, crossed, pockets, anchors, flow)
    return Survey(gaps, ties, flow, scene, skin_break_mm, least_mm, skin, cells, make)


def _cells(skin: Skin, basins: Basins, least_mm: float,
           known: Mapping[bytes, tuple[Pocket, ...]],
           ) -> tuple[dict[bytes, tuple[Pocket, ...]], dict[int, tuple[Pocket, ...]]]:
    """Outlines by the name of what they were made from, and by the label of their pocket."""
    mesh = skin.mesh
    turn = mesh.turn + basins.lift[:, None]
    order = np.argsort(basins.label, kind="stable")
    start = np.searchsorted(basins.label[order], np.arange(len(basins.peak) + 1))
    rule = f"{least_mm!r} {skin.skin_break_mm!r}".encode()
    enough = least_mm if skin.limb.closed else SHEET_SLACK * least_mm
    labels = [k for k, peak in enumerate(basins.peak) if 2 * basins.radius[peak] >= enough]
    cells = []
    for k in labels:
        own = order[start[k] : start[k + 1]]
        tri = mesh.points[mesh.corner[own]]
        tri[:, :, 0] += turn[own] - turn[basins.peak[k]].min()  # whole turns first: equal corners stay equal
        if not skin.limb.closed:   # a panel is where u is about 0
            tri[:, :, 0] -= np.round(tri[:, :, 0].mean())
        cells.append(tri)
    if len(skin.edges) == 2 and skin.limb.closed:
        labels, cells = [0], [bare_cell(skin.limb)]
    out: dict[bytes, tuple[Pocket, ...]] = {}
    pockets: dict[int, tuple[Pocket, ...]] = {}
    for k, tri, near in zip(labels, cells, near_cells(skin.limb, cells, skin.edges), strict=True):
        name = name_cell(tri, near, rule)
        found = known.get(name)
        if found is None:
            found = make_pockets(skin.limb, tri, near, least_mm, skin.skin_break_mm)
        out[name] = pockets[k] = found
    return out, pockets


def _number(pockets: list[Pocket], flow: Flow) -> tuple[Gap, ...]:
    pockets = sorted(pockets, key=lambda p: (-p.area_mm2, p.key))
    if not pockets:
        return ()
    deg = np.degrees(flow.angle(np.array([p.centre for p in pockets]))) % 180.0
    return tuple(Gap(p.key, i + 1, p.rings, p.area_mm2, p.widest_mm, p.centre, p.neighbours, float(d), p.length_mm)
                 for i, (p, d) in enumerate(zip(pockets, deg, strict=True)))
