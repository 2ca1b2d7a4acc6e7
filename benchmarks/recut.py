"""How long it takes to cut again what lies behind a main piece that was moved.

    python benchmarks/recut.py

Bar: under 150 ms for a move. The demo's sleeve, tied in; five pieces are moved one after the other. Printed: processor
and wall time of what is seen of all pieces after each move, the same cut anew from nothing in the same run (the
baseline), their ratio, and the largest difference between the two in mm2.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

MOVES = (("demo5", 0.02, 4.0), ("demo3", 0.01, 3.0), ("demo7", -0.015, 5.0), ("demo10", 0.02, 0.0),
         ("demo1", 0.01, 6.0))
MEMORIES = ("_shown", "_seen_of", "_fronts", "_known")


def main() -> None:
    import shapely

    from composer.demo import demo_plan
    from composer.filler import seen
    from composer.plan.over_joins import scene_with_neighbours
    from composer.plan.steps import apply

    plan, gallery = demo_plan()
    seen.visible_laid(scene_with_neighbours(plan, "left_arm", gallery), plan.settings)
    rows = []
    print(f"load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    for piece_id, du, ds in MOVES:
        p = plan.piece(piece_id)
        plan = apply(plan, {"do": "change", "pieces": [{"id": piece_id, "u": p.u + du, "s_mm": p.s_mm + ds}]})
        scene = scene_with_neighbours(plan, "left_arm", gallery)
        wall, cpu = time.perf_counter(), time.process_time()
        again = seen.visible_laid(scene, plan.settings)
        wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
        kept = {name: getattr(seen, name) for name in MEMORIES}
        for name, memory in kept.items():
            setattr(seen, name, type(memory)(memory.room, memory._weigh, memory._least))
        start = time.process_time()
        anew = seen.visible_laid(scene, plan.settings)
        full = time.process_time() - start
        for name, memory in kept.items():
            setattr(seen, name, memory)
        apart = max(shapely.symmetric_difference(a.area, b.area).area for k in anew
                    for a, b in zip(again[k].layers, anew[k].layers, strict=True) if a is not b)
        rows.append((cpu, wall, full))
        print(f"{p.title:32s} {cpu * 1000:6.0f} ms processor, {wall * 1000:6.0f} ms wall; anew {full * 1000:6.0f} ms "
              f"processor, {full / cpu:4.1f} times as much; apart by {apart:.1e} mm2")
    cpu, wall, full = (statistics.median(r[k] for r in rows) for k in range(3))
    print(f"medians: {cpu * 1000:.0f} ms processor, {wall * 1000:.0f} ms wall (bar 150 ms); anew {full * 1000:.0f} ms")


if __name__ == "__main__":
    main()
