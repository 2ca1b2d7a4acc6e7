"""Random plans on a made-up arm, for tests and benchmarks of the composition."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from composer.art.brush import spline
from composer.art.drawing import Drawing, Layer
from composer.body.limb import Level, Limb
from composer.plan.model import Piece
from composer.plan.scene import Laid, Scene, lay

ARM = Limb((Level("wrist", 0, 170, 1.4), Level("forearm", 60, 190, 1.2), Level("fullest forearm", 190, 280),
            Level("elbow", 250, 265, 0.95), Level("upper arm", 370, 330, 0.9), Level("armpit", 430, 350, 0.88),
            Level("deltoid", 490, 400, 0.88)))
TUBE = Limb((Level("wrist", 0, 260), Level("deltoid", 400, 260)))
"""A cylinder, on which every length can be checked by hand."""


def drawing(*rings: np.ndarray) -> Drawing:
    """A drawing that is nothing but its silhouette."""
    return Drawing(tuple(np.asarray(r, float) for r in rings), (Layer("line", tuple(rings)),))


def blob(rng: np.random.Generator, size_mm: float, tall: float = 1.0) -> Drawing:
    """A star-shaped organic blob."""
    n = 9
    a = np.linspace(0, 2 * np.pi, n, endpoint=False) + rng.uniform(-0.2, 0.2, n)
    r = size_mm / 2 * (1 + rng.uniform(-0.35, 0.35, n))
    return drawing(spline(np.column_stack([r * np.cos(a), r * np.sin(a) * tall]), closed=True, step_mm=2.0))


def box(width_mm: float, height_mm: float) -> Drawing:
    """A rectangle about its own middle."""
    w, h = width_mm / 2, height_mm / 2
    return drawing(np.array([(-w, -h), (w, -h), (w, h), (-w, h)]))


def disc(radius_mm: float, n: int = 120) -> np.ndarray:
    """A circle as a ring."""
    a = np.linspace(0, 2 * np.pi, n, endpoint=False)
    return radius_mm * np.column_stack([np.cos(a), np.sin(a)])


def put(limb: Limb, name: str, art: Drawing, u: float, s_mm: float, turn_deg: float = 0.0, depth: int = 0,
        title: str = "") -> Laid:
    """A piece laid on the left arm."""
    return lay(limb, Piece(name, "left_arm", art.digest, title or name, u, s_mm, turn_deg, depth=depth), art)


def random_scene(rng: np.random.Generator, count: int, low_mm: float, high_mm: float, apart_mm: float = 4.0,
                 limb: Limb = ARM) -> Scene:
    """Blobs thrown on the limb, mostly clear of each other, with some overlaps where it is full."""
    laid: list[Laid] = []
    taken: list[tuple[float, float, float]] = []
    for i in range(count):
        size = rng.uniform(low_mm, high_mm)
        for _ in range(120):
            u, s = rng.uniform(0, 1), rng.uniform(0, limb.s_max)
            if all(np.hypot(((u - v + 0.5) % 1 - 0.5) * float(limb.girth((s + r) / 2)), s - r)
                   > (size + z) / 2 * 0.95 + apart_mm for v, r, z in taken):
                break
            size = max(size * 0.985, low_mm * 0.6)
        taken.append((u, s, size))
        laid.append(put(limb, f"p{i:02d}", blob(rng, size, rng.uniform(0.7, 1.5)), u, s, rng.uniform(-40, 40),
                        title=f"Estuary piece {i}"))
    return Scene(limb, -0.5, tuple(laid))


def moved(scene: Scene, name: str, art: Drawing, **change: object) -> Scene:
    """The scene with one piece laid elsewhere; `art` is its drawing."""
    return replace(scene, laid=tuple(lay(scene.limb, replace(x.piece, **change), art) if x.piece.id == name else x
                                     for x in scene.laid))
