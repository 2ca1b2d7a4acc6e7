"""How long candidates take: three for every gap of a 20-piece sleeve, and a whole tie-in.

    python benchmarks/fillers.py [PICTURE.svg] [--kinds cloud lightning filigree] [--no-themes]

Bar: three candidates for every gap in under 1 s on two cores; what is shown first are sketches. Printed for each kind:
the grounds laid, sketches and finished drawings, each serial in this process and on two warm workers, which draw on a
ground as soon as it is laid, as ratios to the survey of the same sleeve (sketches are medians of three runs), and the
share of sketches that another drawing took the place of. Serial times are processor time as well, since another's load
on the machine makes wall times longer; the line before them says how much plain work two workers did together. With a
name, the tied-in sleeve is also drawn as SVG.
"""

from __future__ import annotations

import argparse
import os
import statistics
import time
from collections.abc import Callable, Iterator
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
from composer.filler.proposals import Job, Made, jobs_for, make, sketch
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


def jobs_as_laid(scene: Scene, found: Survey, kind: str) -> Iterator[Job]:
    """Three candidates for every gap, as soon as its ground is laid."""
    st = Settings()
    for g in found.gaps:
        yield from jobs_for(scene, found, {"gap": [list(g.centre)]}, kind, st.hand, Wish(), 1, 3, st)


def all_jobs(scene: Scene, found: Survey, kind: str) -> list[Job]:
    """Three candidates for every gap."""
    return list(jobs_as_laid(scene, found, kind))


def cpu(run: Callable[[], object], times: int = 1) -> float:
    """Median of the processor seconds of several runs in this process."""
    took = []
    for _ in range(times):
        start = time.process_time()
        run()
        took.append(time.process_time() - start)
    return statistics.median(took)


def candidates(scene: Scene, found: Survey, kind: str, base_s: float, warm: list[Job]) -> None:
    """Print the figures of one kind. `warm`: jobs of another sleeve, by which workers get warm without knowing any
    ground."""
    def fresh(draw: Callable[[Job], Made | None], of: Survey) -> list[Made | None]:
        return [draw(j) for j in jobs_as_laid(scene, of, kind)]

    def on_two(draw: Callable[[Job], Made | None]) -> float:
        with ProcessPoolExecutor(2) as pool:
            list(pool.map(draw, warm))
            return timed(lambda: list(pool.map(draw, jobs_as_laid(scene, found, kind), chunksize=3)), 1)

    laying = cpu(lambda: all_jobs(scene, found, kind), 3)
    many = len(all_jobs(scene, found, kind))
    print(f"{kind}: {many} candidates; grounds laid in {laying:.2f} s of processor time, which is in all that follows")
    kept: list[list[Made | None]] = []
    for words, draw, times in (("sketches", sketch, 3), ("finished", make, 1)):
        new = iter([survey(scene) for _ in range(times + 1)])     # with a flow of its own, so no ground is known yet
        one = timed(lambda d=draw, n=new: fresh(d, next(n)), times)
        used = cpu(lambda d=draw, n=new: kept.append(fresh(d, next(n))))
        two = statistics.median(on_two(draw) for _ in range(times))
        bar = " (bar 1 s)" if draw is sketch else ""
        print(f"  {words}: serial {one:.2f} s, {used:.2f} s of one core ({used / base_s:.1f} surveys); "
              f"two warm workers {two:.2f} s ({two / base_s:.1f} surveys){bar}")
    pairs = list(zip(*kept, strict=True))
    none = sum(s is not None and m is None for s, m in pairs)
    other = sum(s is not None and m is not None and (s.tried != m.tried or bool(m.drawing.notes.get("anew")))
                for s, m in pairs)
    print(f"  {other} of {many} sketches gave way to another drawing ({other / many:.1%}), {none} to none")


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
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("picture", nargs="?")
    ask.add_argument("--kinds", nargs="+", default=["cloud", "lightning", "filigree"])
    ask.add_argument("--no-themes", action="store_true")
    want = ask.parse_args()
    scene = sleeve(20)
    base = cpu(lambda: survey(scene), 3)
    found = survey(scene)
    print(f"{len(scene.laid)} pieces, {len(found.gaps)} gaps; survey {base * 1000:.0f} ms of processor time; "
          f"load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    with ProcessPoolExecutor(2) as pool:
        list(pool.map(abs, range(8)))
        alone = timed(lambda: burn(4_000_000))
        both = timed(lambda: list(pool.map(burn, [4_000_000] * 2)))
        print(f"two workers do plain work {2 * alone / both:.2f} times as fast as one (2 where two cores are free); "
              f"one takes {alone:.2f} s")
        other = sleeve(9, 4)
        for kind in want.kinds:
            candidates(scene, found, kind, base, all_jobs(other, survey(other), kind)[:12])
        if not want.no_themes:
            whole = {t: timed(lambda t=t: tie_in(scene, found, t, Hand(), Wish(), 1, pool=pool), 1) for t in THEMES}
            print("tie-in on two warm workers: " + ", ".join(f"{t} {s:.2f} s" for t, s in whole.items()))
    if want.picture:
        result = tie_in(scene, found, "storm", Hand(), Wish(), 1)
        fillers = [lay(scene.limb, Piece(f"f{i}", "left_arm", p.drawing.digest, p.title, p.u, p.s_mm, depth=p.depth,
                                         recipe=p.recipe), p.drawing) for i, p in enumerate(result)]
        everything = Scene(scene.limb, scene.seam_u, (*fillers, *scene.laid))
        seen = visible_laid(everything, Settings())
        Path(want.picture).write_text(sheet_svg(everything, [(x, seen[x.piece.id]) for x in everything.laid]), "utf-8")


if __name__ == "__main__":
    main()
