"""Five best places of a motif on an arm with 20 pieces, against trying everything with shapely.

Run by hand: `python benchmarks/best_place.py [every]`. The baseline (tests/outside/brute_place.py) lays every
try and tests it with shapely against the outlines near it; both use the same tries, the same rules and
the same score. Trying all of the usual tries takes some ten minutes, so the ratio is taken on fewer tries
(all of them tried by both, results held against each other), and the usual number of tries is timed for the
search alone; from the baseline's time for one try follows what it would take, which is marked as reckoned.
Processor time, since the machine may be busy. Bars: under 1 s, at least 10 times faster, equal places.
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "compose"), str(ROOT / "tests" / "outside")]
from brute_place import brute_force, judge_of, near  # noqa: E402
from skin_cases import blob, random_scene  # noqa: E402

from composer.body.measures import TYPICAL_MM, build_limb  # noqa: E402
from composer.compose.best_place import best_places  # noqa: E402
from composer.compose.best_place_check import Pose  # noqa: E402
from composer.compose.best_place_room import make_room  # noqa: E402
from composer.compose.gaps import survey  # noqa: E402
from composer.demo import bare_demo, house_shelf  # noqa: E402
from composer.demo_yoke import lay_chest  # noqa: E402
from composer.plan.over_joins import scene_with_neighbours  # noqa: E402


def main(step_mm: float = 15.0) -> None:
    limb = build_limb("left_arm", dict(TYPICAL_MM))
    rng = np.random.default_rng(20)
    scene = random_scene(rng, 20, 30, 75, limb=limb)
    found = survey(scene)
    print("the whole search, 20 pieces, five proposals with readings and words:")
    shelf = house_shelf()
    for name, size in (("moth", None), ("oyster", None), ("crab", (40.0, 110.0)), ("tern", (40.0, 110.0))):
        motif, art = shelf[name]
        rows = []
        for _ in range(4):
            then, used = time.perf_counter(), time.process_time()
            places = best_places(scene, found, art, motif.side, size)
            rows.append((time.perf_counter() - then, time.process_time() - used))
        judge, _, lattice = judge_of(scene, art, motif.side, size or (motif.side["min_mm"], motif.side["max_mm"]))
        wall, cpu = (1e3 * statistics.median(r[k] for r in rows[1:]) for k in (0, 1))
        print(f"  {name:8s} {len(judge.pairs.form) * lattice.columns:8d} tries  first {1e3 * rows[0][1]:4.0f} ms, then "
              f"{cpu:4.0f} ms processor ({wall:4.0f} ms wall), {len(places)} places   (bar: 1000 ms)")
    on_the_chest()
    art, side = blob(rng, 60, 1.3), {"facing": "left", "upright_deg": 0}
    few = {"step_mm": step_mm, "sizes": 3, "turns": (0.0, -25.0, 25.0)}
    best_places(scene, None, art, side, (30.0, 70.0), part="left_arm", **few)
    cpu = time.process_time()
    mine = best_places(scene, None, art, side, (30.0, 70.0), part="left_arm", **few)
    quick = time.process_time() - cpu
    cpu = time.process_time()
    every, tries = brute_force(scene, art, side, (30.0, 70.0), 5, **few)
    slow = time.process_time() - cpu
    same = len(mine) == len(every) and all(
        abs(a.score - s) < 1e-9 and near(Pose(a.u, a.s_mm, a.turn_deg, a.scale, a.flip), p)
        for a, (s, p) in zip(mine, every, strict=True))
    print(f"{tries} tries by both: search {1e3 * quick:.0f} ms, everything with shapely {slow:.1f} s processor: "
          f"{slow / quick:.0f} times   (bar: 10 or more)")
    print(f"the same places with the same scores: {'yes' if same else 'NO'}")
    print(f"one try of the baseline {1e3 * slow / tries:.2f} ms; 300,000 would take {slow / tries * 3e5 / 60:.0f} min "
          "(reckoned)")
    rows = []
    for x in scene.laid:
        cpu = time.process_time()
        make_room(scene, x.piece.id)
        rows.append(time.process_time() - cpu)
    print(f"make room: median {1e3 * statistics.median(rows):.0f} ms, worst of 20 {1e3 * max(rows):.0f} ms processor")


def on_the_chest() -> None:
    """Five proposals on the demo's chest, and room for each of its pieces."""
    shelf = house_shelf()
    plan, gallery = bare_demo()
    plan = lay_chest(plan, gallery, shelf)
    scene = scene_with_neighbours(plan, "chest", gallery)
    print(f"the demo's chest, {len(scene.laid)} pieces on it or reaching in:")
    for name in ("moth", "oyster", "crab", "tern"):
        motif, art = shelf[name]
        rows = []
        for _ in range(4):
            used = time.process_time()
            places = best_places(scene, None, art, motif.side, part="chest")
            rows.append(time.process_time() - used)
        print(f"  {name:8s} first {1e3 * rows[0]:4.0f} ms, then {1e3 * statistics.median(rows[1:]):4.0f} ms processor, "
              f"{len(places)} places")
    rows = []
    for piece in plan.on("chest"):
        used = time.process_time()
        make_room(scene, piece.id)
        rows.append(time.process_time() - used)
    print(f"  make room: median {1e3 * statistics.median(rows):.0f} ms, worst of {len(rows)} {1e3 * max(rows):.0f} ms")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 15.0)
