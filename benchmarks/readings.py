"""All readings of fit of a plan of 40 pieces, and the board, against piece after piece with shapely.

Run by hand: `python benchmarks/readings.py`. The baseline is `composer.compose.readings.read_pieces` (size,
neighbours, stretch, ends: fewer readings, each by shapely on the outlines), in the same run. "Cold" knows
nothing of the pieces; "after a move" has read the plan once and one piece has moved; "again" has read it
unchanged. Gaps between the lines of a drawing are measured once for a drawing, however often and
wherever it is placed: that is timed apart, on the house's own motifs. Processor time. Bar: under 100 ms.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "compose")]
from skin_cases import random_scene  # noqa: E402

from composer.art.drawing import Drawing  # noqa: E402
from composer.body.measures import TYPICAL_MM, build_limb  # noqa: E402
from composer.compose import fit_facts, fit_lines, fit_near, fit_samples  # noqa: E402
from composer.compose.board import board  # noqa: E402
from composer.compose.fit_readings import fit_part  # noqa: E402
from composer.compose.gaps import survey  # noqa: E402
from composer.compose.readings import read_pieces  # noqa: E402
from composer.demo import house_shelf  # noqa: E402
from composer.plan.model import Piece  # noqa: E402
from composer.plan.scene import Scene, lay  # noqa: E402


def forget(lines: bool = False) -> None:
    """Empty what is kept."""
    known = [fit_lines._known] if lines else []
    for memo in (fit_facts._facts, fit_near._bodies, fit_near._pairs, fit_samples._samples, *known):
        memo.clear()


def timed(act: Callable[[], object], before: Callable[[], object] = lambda: None, times: int = 7) -> float:
    """Median processor time in ms."""
    out = []
    for _ in range(times):
        before()
        t = time.process_time()
        act()
        out.append(1e3 * (time.process_time() - t))
    return statistics.median(out)


def house_scene() -> tuple[Scene, dict[str, dict]]:
    """40 pieces of the house's 18 motifs, thrown on an arm."""
    limb, rng = build_limb("left_arm", dict(TYPICAL_MM)), np.random.default_rng(5)
    shelf = list(house_shelf().values())
    laid, sides = [], {}
    for i in range(40):
        motif, art = shelf[i % len(shelf)]
        scale = float(rng.uniform(35, 75)) / max(motif.width_mm, motif.height_mm)
        piece = Piece(f"p{i}", "left_arm", art.digest, motif.title, float(rng.uniform(-0.5, 0.5)),
                      float(rng.uniform(20, 470)), float(rng.uniform(-30, 30)), scale)
        laid.append(lay(limb, piece, art))
        sides[piece.id] = motif.side
    return Scene(limb, -0.5, tuple(laid)), sides


def main() -> None:
    limb = build_limb("left_arm", dict(TYPICAL_MM))
    blobs = random_scene(np.random.default_rng(1), 40, 30, 80, limb=limb)
    motifs, sides = house_scene()
    forget(lines=True)
    t = time.process_time()
    fit_part(motifs, sides)
    first = 1e3 * (time.process_time() - t)
    for name, scene, has in (("40 blobs", blobs, {}), ("40 of the house's motifs", motifs, sides)):
        p = scene.laid[7].piece
        art = scene.laid[7].flat.moved(np.eye(2, 3))
        step = [0]

        def move(scene: Scene = scene, has: dict = has, step: list = step) -> None:
            fit_part(scene, has)
            step[0] += 1

        def moved(scene: Scene = scene, p: Piece = p, art: Drawing = art, step: list = step) -> Scene:
            there = replace(p, u=p.u + 0.001 * step[0], turn_deg=0.0, scale=1.0, flip=False)
            return replace(scene, laid=(*scene.laid[:7], lay(scene.limb, there, art), *scene.laid[8:]))

        cold = timed(lambda s=scene, h=has: fit_part(s, h), forget)
        after = timed(lambda m=moved, h=has: fit_part(m(), h), move)
        again = timed(lambda s=scene, h=has: fit_part(s, h))
        one = timed(lambda s=scene, h=has: fit_part(s, h, only="p7" if s is motifs else "p07"))
        plain = timed(lambda s=scene: read_pieces(s), times=3)
        print(f"{name}: cold {cold:.0f} ms, after a move {after:.0f} ms, again {again:.0f} ms, one piece {one:.1f} ms"
              "   (bar: 100 ms)")
        print(f"  piece after piece with shapely, fewer readings: {plain:.0f} ms; ratio {plain / cold:.1f} cold, "
              f"{plain / after:.1f} after a move")
    print(f"first time ever, gaps between the lines of 18 drawings measured too: {first:.0f} ms, "
          f"{first / 18:.0f} ms a drawing (not within the bar; once for a drawing)")
    found = survey(motifs)
    print(f"board of 40 motifs: cold {timed(lambda: board(motifs, None, sides, found), forget):.0f} ms, "
          f"again {timed(lambda: board(motifs, None, sides, found)):.0f} ms")


if __name__ == "__main__":
    main()
