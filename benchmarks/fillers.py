"""How long candidates take: three clouds for every gap of a 20-piece sleeve, and a whole tie-in.

    python benchmarks/fillers.py [PICTURE.svg]

Bar: three candidates for every gap in under 1 s on two cores. Printed: serial in this process, then
on two warm workers, as medians of three runs and as ratios to the survey of the same sleeve.
With a name, the tied-in sleeve is also drawn as SVG.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import shapely

from composer.art.drawing import Drawing, rings_to_geometry
from composer.art.shelf import house_files, read_house
from composer.body.limb import Level, Limb
from composer.body.sheet import Sheet, unroll
from composer.compose.gaps import Survey, survey
from composer.filler.fabric import tie_in
from composer.filler.fabric_plan import THEMES
from composer.filler.ground import Wish
from composer.filler.proposals import Job, jobs_for, make
from composer.filler.seen import visible_laid
from composer.plan.model import Hand, Piece, Settings
from composer.plan.scene import Laid, Scene, lay

SHOWN = {"light": "#d3c3b6", "mid": "#a08f86", "dark": "#5c5656", "black": "#151216", "line": "#151216"}


def arm() -> Limb:
    """An arm of common size."""
    return Limb((Level("wrist", 0, 168), Level("forearm", 165, 272), Level("elbow", 245, 262),
                 Level("mid upper", 360, 312), Level("armpit", 440, 335), Level("deltoid", 530, 350)))


def sleeve(count: int, seed: int = 1) -> Scene:
    """An arm with so many of the house's motifs on it, none on another."""
    rng, limb = np.random.default_rng(seed), arm()
    sheet, motifs = unroll(limb), [read_house(p) for p in house_files()]
    laid: list[Laid] = []
    taken: list[shapely.Geometry] = []
    for attempt in range(4000):
        if len(laid) == count:
            break
        motif, art = motifs[int(rng.integers(len(motifs)))]
        size = float(rng.uniform(50, 105)) * (0.97 ** (attempt / 40))
        piece = Piece(f"p{len(laid)}", "left_arm", art.digest, motif.title, round(float(rng.uniform(-0.5, 0.5)), 3),
                      round(float(rng.uniform(25, 505)), 1), float(rng.uniform(-35, 35)),
                      size / max(motif.width_mm, motif.height_mm), bool(rng.integers(2)), len(laid))
        one = lay(limb, piece, art)
        s = one.rings[0][:, 1]
        copies = [rings_to_geometry((sheet.to_flat(one.rings[0] + np.array([k, 0.0])),)) for k in (-1, 0, 1)]
        if s.min() > 2 and s.max() < 528 and not any(shapely.dwithin(c, t, 6.0) for c in copies for t in taken):
            laid.append(one)
            taken += copies
    return Scene(limb, -0.5, tuple(laid))


def timed(run: Callable[[], object], times: int = 3) -> float:
    """Median of the wall-clock seconds of several runs."""
    took = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        took.append(time.perf_counter() - start)
    return statistics.median(took)


def burn(count: int) -> int:
    """Plain work, to see how many cores there really are."""
    return sum(i * i for i in range(count))


def all_jobs(scene: Scene, found: Survey) -> list[Job]:
    """Three clouds for every gap."""
    st = Settings()
    return [j for g in found.gaps
            for j in jobs_for(scene, found, {"gap": [list(g.centre)]}, "cloud", st.hand, Wish(), 1, 3, st)]


def sheet_svg(scene: Scene, drawn: list[tuple[Laid, Drawing]]) -> str:
    """The unrolled sheet with what is seen of every piece, back to front, as SVG."""
    sheet = unroll(scene.limb, scene.seam_u)
    border = sheet.border()
    (x0, y0), (x1, y1) = border.min(axis=0) - 5, border.max(axis=0) + 5
    body = "".join(_shown(sheet, laid, art) for laid, art in drawn)
    return (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{x0:.1f} {-y1:.1f} {x1 - x0:.1f} {y1 - y0:.1f}">'
            f'<clipPath id="sheet"><path d="{_d([border])}"/></clipPath><g clip-path="url(#sheet)" fill-rule="evenodd">'
            f'<path d="{_d([border])}" fill="#f3dfcc"/>{body}</g></svg>')


def _shown(sheet: Sheet, laid: Laid, art: Drawing) -> str:
    if not art.silhouette:
        return ""
    u = np.concatenate([laid.patch.to_skin(r)[:, 0] for r in art.silhouette])
    out = []
    for k in range(int(np.ceil(sheet.seam_u - u.max())), int(np.floor(sheet.seam_u + 1 - u.min())) + 1):
        for role, rings in [("paper", art.silhouette), *((la.role, la.rings) for la in art.layers)]:
            flat = [sheet.to_flat(laid.patch.to_skin(r) + np.array([k, 0.0])) for r in rings]
            out.append(f'<path d="{_d(flat)}" fill="{SHOWN.get(role, "#fbf3e6")}"/>')
    return "".join(out)


def _d(rings: list[np.ndarray]) -> str:
    return "".join("M" + " ".join(f"{x:.2f},{-y:.2f}" for x, y in r) + "Z" for r in rings)


def main() -> None:
    """Print the figures; draw the sleeve when a name is given."""
    scene = sleeve(20)
    base = timed(lambda: survey(scene))
    found = survey(scene)
    print(f"{len(scene.laid)} pieces, {len(found.gaps)} gaps; survey {base * 1000:.0f} ms; "
          f"load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    prepare = timed(lambda: all_jobs(scene, found))
    jobs = all_jobs(scene, found)
    made: list[object] = []
    cpu = time.process_time()
    serial = timed(lambda: made.append([make(j) for j in jobs]), 1)
    cpu = time.process_time() - cpu
    kept = sum(m is not None for m in made[0])  # type: ignore[attr-defined]
    with ProcessPoolExecutor(2) as pool:
        list(pool.map(abs, range(8)))
        alone = timed(lambda: burn(4_000_000))
        both = timed(lambda: list(pool.map(burn, [4_000_000] * 2)))
        print(f"two workers do plain work {2 * alone / both:.2f} times as fast as one (2 where two cores are free)")
        pair = timed(lambda: list(pool.map(make, jobs, chunksize=3)))
        whole = {t: timed(lambda t=t: tie_in(scene, found, t, Hand(), Wish(), 1, pool=pool), 1) for t in THEMES}
    print(f"{len(jobs)} candidates ({kept} kept the rules): laying the grounds {prepare:.2f} s, serial {serial:.2f} s "
          f"({serial / base:.1f} surveys; {cpu:.2f} s of one core), "
          f"two warm workers {pair:.2f} s ({pair / base:.1f} surveys; bar 1 s)")
    print("tie-in on two warm workers: " + ", ".join(f"{t} {s:.2f} s" for t, s in whole.items()))
    if len(sys.argv) > 1:
        result = tie_in(scene, found, "storm", Hand(), Wish(), 1)
        fillers = [lay(scene.limb, Piece(f"f{i}", "left_arm", p.drawing.digest, p.title, p.u, p.s_mm, depth=p.depth,
                                         recipe=p.recipe), p.drawing) for i, p in enumerate(result)]
        both = Scene(scene.limb, scene.seam_u, (*fillers, *scene.laid))
        seen = visible_laid(both, Settings())
        Path(sys.argv[1]).write_text(sheet_svg(both, [(x, seen[x.piece.id]) for x in both.laid]), "utf-8")


if __name__ == "__main__":
    main()
