"""From a fitted trunk to the panel: laid flat, its edges and places carried onto the sheet, a table of space."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely
from scipy.spatial import cKDTree

from composer.body.limb import Level
from composer.body.panel import Line, Panel
from composer.body.panel_flatten import Flattening, flatten
from composer.body.yoke_fit import WORDS, fit_trunk, lower_line, side_edges
from composer.body.yoke_shape import Trunk

SAMPLE_MM, TABLE_MM, PAST_MM = 11.0, 8.0, 45.0


@lru_cache(maxsize=64)
def make_panel(part: str, items: tuple[tuple[str, float], ...]) -> Panel:
    m = dict(items)
    try:
        trunk, v_top, sides = fit_trunk(part, m)
    except np.linalg.LinAlgError:
        raise ValueError("No trunk fits these tapes; tape all of this part once more.") from None
    own = {s: side_edges(trunk, v_top, at) for s, at in sides.items()}
    rings = [np.concatenate([*(x[:-1] for x in e.values()), e["lower"][-1:]]) for e in own.values()]
    both = [shapely.Polygon(np.concatenate([r, (r * (-1, 1))[::-1]])) for r in rings]
    if not all(b.is_valid for b in both):
        raise ValueError("The edges of this part would cross each other; tape shoulder points and creases once more.")
    room = shapely.union_all(both)
    x0, y0, x1, y1 = room.buffer(14.0).bounds
    wide = room.buffer(13.999)      # what lies on the very edge is left out, whatever the last bit says
    shapely.prepare(wide)
    nx, ny = (2 * int((x1 - x0) / SAMPLE_MM / 2) + 1, int((y1 - y0) / SAMPLE_MM) + 1)
    grid = np.stack(np.meshgrid(np.linspace(-x1, x1, nx), np.linspace(y0, y1, ny)), axis=-1).reshape(-1, 2)
    pv = grid[shapely.contains_xy(wide, grid[:, 0], grid[:, 1])]
    weight = np.sqrt(np.linalg.det(trunk.metric(pv))) * np.where(shapely.contains_xy(room, *pv.T), 1.0, 0.25)
    flat = flatten(trunk.metric, pv, weight)
    low = flat.to_flat(lower_line(trunk, np.zeros(1)))[0, 1]
    turn = m["chest_girth"]

    def onto(line: np.ndarray, mirror: bool = False) -> np.ndarray:
        us = (flat.to_flat(line) - (0.0, low)) / (turn, 1.0)
        return us * (-1, 1) if mirror else us

    plus, minus = ("left", "right") if part == "chest" else ("right", "left")
    edges = [Line("lower", np.concatenate([onto(own[minus]["lower"][:-1], True), onto(own[plus]["lower"][::-1])]))]
    for name in ("side", "armhole", "shoulder", "neck"):
        edges.append(Line(f"{name}_{plus}", onto(own[plus][name][::-1])))
    for name in ("neck", "shoulder", "armhole", "side"):
        edges.append(Line(f"{name}_{minus}", onto(own[minus][name], True)))
    marks = {WORDS[part][0]: onto(np.array([[0.0, v_top]]))[0], "armpit level": onto(np.zeros((1, 2)))[0]}
    for s, sign in ((plus, False), (minus, True)):
        at = sides[s]
        for n, spot in (
            ("shoulder point", at.acromion),
            ("crease", at.crease),
            ("side", at.side),
            ("lower side", own[s]["side"][-1]),
        ):
            marks[f"{n} {s}"] = onto(spot[None], sign)[0]
    row = np.linspace(-sides[minus].crease[0], sides[plus].crease[0], 61)
    lines = (Line("armpits", onto(np.column_stack([row, 0 * row]))),)
    everything = np.concatenate([e.us for e in edges])
    levels = [
        ("lower edge", float(everything[:, 1].min())),
        ("armpits", float(marks["armpit level"][1])),
        (WORDS[part][0], float(marks[WORDS[part][0]][1])),
        ("shoulders", float(everything[:, 1].max())),
    ]
    x, y, xyz = _table(trunk, flat, pv, low, everything * (turn, 1.0), room)
    return Panel(
        (part, items),
        tuple(Level(n, s, turn) for n, s in _rising(levels)),
        turn,
        x,
        y,
        xyz,
        tuple(edges),
        lines,
        {k: (float(u), float(s)) for k, (u, s) in marks.items()},
    )


def _rising(levels: list[tuple[str, float]]) -> list[tuple[str, float]]:
    """Levels in rising order; one that all but meets the one before it is left out."""
    levels = sorted(levels, key=lambda x: x[1])
    return [
        lv
        for k, lv in enumerate(levels)
        if k in (0, len(levels) - 1) or (lv[1] - levels[k - 1][1] > 1.0 and levels[-1][1] - lv[1] > 1.0)
    ]


def _table(
    trunk: Trunk, flat: Flattening, pv: np.ndarray, low: float, outline: np.ndarray, room: shapely.Geometry
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Places in space over the sheet; past the part's own skin (and 10 mm more) straight on from its rim."""
    half = float(np.abs(outline[:, 0]).max()) + PAST_MM
    x = np.linspace(-half, half, 2 * int(half / TABLE_MM) + 1)
    y0, y1 = outline[:, 1].min() - PAST_MM, outline[:, 1].max() + PAST_MM
    y = np.linspace(y0, y1, int((y1 - y0) / TABLE_MM) + 1)
    nodes = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    rim = np.asarray(shapely.segmentize(room.buffer(10.0), 3.0).exterior.coords)[:-1]
    form = shapely.Polygon(flat.to_flat(rim) - (0.0, low))
    away = ~shapely.contains_xy(form, nodes[:, 0], nodes[:, 1])
    spots = nodes.copy()
    near = shapely.line_interpolate_point(
        form.exterior, shapely.line_locate_point(form.exterior, shapely.points(nodes[away]))
    )
    spots[away] = shapely.get_coordinates(near)
    start = pv[cKDTree(flat.to_flat(pv) - (0.0, low)).query(spots)[1]]
    own = flat.from_flat(spots + np.array([0.0, low]), start)
    space = trunk.embed(own)
    h = 0.05
    d = np.stack(
        [(trunk.embed(own[away] + e) - trunk.embed(own[away] - e)) / (2 * h) for e in np.diag([h, h])], axis=2
    )
    jac = d @ np.linalg.inv(flat.jacobian(own[away]))
    space[away] += np.einsum("nik,nk->ni", jac, nodes[away] - spots[away])
    space = space.reshape(len(x), len(y), 3)
    return x, y, (space + space[::-1] * (-1.0, 1.0, 1.0)) / 2  # the trunk is even; so is its table, to the last bit
