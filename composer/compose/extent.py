"""The skin that a sleeve takes up, from its edges: outline, area, how far it has faded at a spot.

Edges run all round the limb. A wavy edge swings about its level, a fading one gives out over its
depth inside the level. The rest of the tool can be kept to it by `within`, which follows straight and
wavy edges, and takes of a fading one the level where it ends.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from composer.body.kept_skin import OpenLimb
from composer.body.limb import Level, Limb
from composer.body.metric import area, ring_area
from composer.compose.neighbours import on_skin
from composer.plan.extents import EdgeLine, Extent
from composer.plan.scene import Scene

WAVE_MM = 75.0
"""About how long a wave is; a whole number of them goes round."""

_COLUMNS = 240


def edge_at(limb: Limb, edge: EdgeLine, u: np.ndarray) -> np.ndarray:
    """Where an edge lies, s mm, at each u (n,), within the limb."""
    s = np.full(np.shape(u), edge.s_mm(limb))
    if edge.form == "wavy":
        waves = max(2, round(float(limb.girth(edge.s_mm(limb))) / WAVE_MM))
        s = s + edge.depth_mm / 2 * np.sin(2 * np.pi * waves * np.asarray(u, float))
    return np.clip(s, limb.s_min, limb.s_max)


def region(limb: Limb, extent: Extent) -> np.ndarray:
    """The sleeve's skin on the limb as one ring (n, 2) of (u, s), u from 0 to 1 round it, counter-clockwise."""
    extent = extent.on_limb
    u = np.linspace(0.0, 1.0, _COLUMNS + 1)
    return np.concatenate([np.column_stack([u, edge_at(limb, extent.far, u)]),
                           np.column_stack([u, edge_at(limb, extent.near, u)])[::-1]])


def area_mm2(limb: Limb, extent: Extent) -> float:
    """Skin area between the edges, mm2; what fades counts whole."""
    return ring_area(limb, region(limb, extent))


def ink_weight(limb: Limb, extent: Extent, us: np.ndarray) -> np.ndarray:
    """How much of the sleeve there is at skin points (n, 2): 1 within, 0 beyond, falling as a raised cosine
    over the depth of a fading edge."""
    us, extent = np.asarray(us, float), extent.on_limb
    out = np.ones(len(us))
    for edge, sign in ((extent.far, 1.0), (extent.near, -1.0)):
        out *= falling(edge, sign * (us[:, 1] - edge_at(limb, edge, us[:, 0])))
    return out


def falling(edge: EdgeLine, inside_mm: np.ndarray) -> np.ndarray:
    """How much there is so far inside an edge (n,): 0 beyond it, a raised cosine over the depth of a fading one."""
    t = np.clip(inside_mm / edge.depth_mm, 0, 1) if edge.form == "fading" else (inside_mm >= 0).astype(float)
    return np.asarray((1 - np.cos(np.pi * t)) / 2)


def faded_area_mm2(limb: Limb, extent: Extent) -> float:
    """Skin area, mm2, with what fades counted by how much of it there is (2 mm by 1/120 turn)."""
    s = np.arange(limb.s_min + 1.0, limb.s_max, 2.0)
    u = (np.arange(120) + 0.5) / 120
    us = np.column_stack([np.tile(u, len(s)), np.repeat(s, len(u))])
    return float((ink_weight(limb, extent, us) * limb.girth(us[:, 1])).sum() * 2.0 / 120)


def reach(limb: Limb, extent: Extent) -> tuple[float, float]:
    """Lowest and highest s, mm, that the sleeve gets to anywhere round."""
    ring = region(limb, extent)
    return float(ring[:, 1].min()), float(ring[:, 1].max())


def inner_span(limb: Limb, extent: Extent) -> tuple[float, float]:
    """From and to which s, mm, the sleeve is there all round."""
    u, extent = np.linspace(0.0, 1.0, _COLUMNS + 1), extent.on_limb
    return float(edge_at(limb, extent.far, u).max()), float(edge_at(limb, extent.near, u).min())


def wave_of(limb: Limb, edge: EdgeLine) -> tuple[tuple[float, float], ...]:
    """A wavy edge as a line of (u, s) from u -0.5 to 0.5; () for one that runs along a level."""
    if edge.form != "wavy":
        return ()
    u = np.linspace(-0.5, 0.5, _COLUMNS + 1)
    return tuple(map(tuple, np.column_stack([u, edge_at(limb, edge, u)]).tolist()))


def cut_limb(limb: Limb, low: float, high: float) -> Limb:
    """The limb between two levels, its girth kept: levels every 8 mm, landmarks where they are."""
    if low <= limb.s_min and high >= limb.s_max:
        return limb
    kept = {round(lv.s_mm, 6): lv for lv in limb.levels if low + 1 < lv.s_mm < high - 1}
    marks = np.array(sorted(kept))
    for s in np.linspace(low, high, max(2, int(np.ceil((high - low) / 8.0)) + 1)):
        ends = s in (low, high)
        if ends or not len(marks) or np.abs(marks - s).min() > 1.0:
            near = next((lv for lv in limb.levels if abs(lv.s_mm - s) <= 1.0), None)
            name = near.name if near else ("lower edge" if s == low else "upper edge" if s == high else "between")
            kept[round(float(s), 6)] = Level(name, float(s), float(limb.girth(s)), aspect_at(limb, float(s)),
                                             near is not None and near.landmark)
    return Limb(tuple(kept[k] for k in sorted(kept)))


def aspect_at(limb: Limb, s_mm: float) -> float:
    """Width : depth of the section at a level, read off the embedded skin."""
    across = limb.embed(np.array([[0.25, s_mm], [0.0, s_mm]]))
    return float(across[0, 0] / -across[1, 1])


def within(scene: Scene, extent: Extent) -> Scene:
    """The scene with its limb cut to the sleeve: gaps, ties and best places then keep to it.

    Pieces lie exactly as they did. Those that reach out of the sleeve stay in the scene.
    """
    whole, extent = scene.limb, extent.on_limb
    limb = cut_limb(whole, *reach(whole, extent))
    near, far = wave_of(whole, extent.near), wave_of(whole, extent.far)
    return replace(scene, limb=OpenLimb(limb.levels, near, far, runs_on=False) if near or far else limb)


def cover(scene: Scene, extent: Extent) -> float:
    """Share of the sleeve's skin that main pieces take up, overlaps counted once, 0..1."""
    limb = scene.limb
    sleeve = shapely.Polygon(region(limb, extent))
    shapes = [shapely.transform(shape, lambda p, k=k: p - np.array([k, 0.0]))
              for shape in (on_skin(x) for x in scene.laid if not x.piece.is_filler)
              for k in range(int(np.floor(shape.bounds[0])), int(np.floor(shape.bounds[2])) + 1)]
    return float(area(limb, shapely.intersection(shapely.union_all(shapes), sleeve)) / area_mm2(limb, extent))
