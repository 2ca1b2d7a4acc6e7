"""How long a stencil takes: a 250 mm piece on the arm, with slits and split, printed; and nesting.

Run by hand: `python benchmarks/stencils.py`. Process time (the machine may be shared); the baseline in the same
run is the union of the piece's line work, which any stencil must at least look at. Nothing is kept from before:
each round moves the piece by a hair.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
import composer  # noqa: F401, I001  (before numpy: it asks for one thread, as in the desk; else threads that wait count)
import shapely

from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.demo import bare_demo
from composer.plan.steps import apply
from composer.sheets.slits import Limits, prepare
from composer.sheets.stencil import stencil
from composer.sheets.stencil_pages import Print, Ready, stencil_pages, stencil_pdf

ROUNDS = 5


def timed(work: Callable[[int], object]) -> float:
    """Median process time of a round, s."""
    took = []
    for k in range(ROUNDS):
        began = time.process_time()
        work(k)
        took.append(time.process_time() - began)
    return statistics.median(took)


def main() -> None:
    plan, gallery = bare_demo()
    lines = next(la for la in gallery[plan.piece("demo1").art].layers if la.role == "line")
    rings = [shapely.Polygon(r) for r in lines.rings]
    base = timed(lambda k: shapely.union_all([shapely.make_valid(r) for r in rings]))
    print(f"baseline: union of the lighthouse's line work {base * 1000:.0f} ms")
    for name, motif, scale, s in (("lighthouse, forearm", "demo1", 1.4, 150.0), ("heron, elbow", "demo2", 1.65, 330.0),
                                  ("octopus, elbow", "demo4", 1.6, 300.0)):
        for way in ("whole", "slits", "split"):
            sizes, told = [], []

            def work(k: int, motif=motif, scale=scale, s=s, way=way, sizes=sizes, told=told) -> None:
                piece = replace(plan.piece(motif), scale=scale, u=0.1, s_mm=s + 0.01 * k + hash(way) % 7 * 0.001)
                st = stencil(replace(plan, pieces=(piece,)), [motif], gallery)
                cut = prepare(st, Limits(), way)
                sizes.append(max(st.size_mm))
                told.append(f"{cut.way}, {len(cut.cells)} cells, left {100 * abs(cut.stretch):.1f}%")

            took = timed(work)
            print(f"{name}, {sizes[0]:.0f} mm, {way:6s} {took:5.2f} s, {took / base:5.1f} x baseline ({told[0]})")
    for part in ("chest", "upper_back"):
        plan = apply(plan, {"do": "measure", "part": part, "measures": PANEL_TYPICAL_MM[part]})
    for name, motif, part, scale in (("heron, chest", "demo2", "chest", 1.66),
                                     ("octopus, chest", "demo4", "chest", 1.65),
                                     ("octopus, back", "demo4", "upper_back", 1.65)):
        for way in ("whole", "auto", "slits", "split"):
            said: list[str] = []

            def lay(k: int, motif=motif, part=part, scale=scale, way=way, said=said) -> None:
                up = 165 + 0.01 * k + hash(way) % 7 * 0.001
                piece = replace(plan.piece(motif), part=part, scale=scale, u=0.09, s_mm=up, turn_deg=0.0)
                st = stencil(replace(plan, pieces=(piece,)), [motif], gallery)
                cut = prepare(st, Limits.of({}), way)
                said.append(f"{max(st.size_mm):.0f} mm: {cut.way}, {len(cut.cells)} cells, {cut.error_mm:.1f} mm")

            took = timed(lay)
            print(f"{name}, {way:6s} {took:5.2f} s, {took / base:5.1f} x baseline ({said[0]})")
    plan = replace(plan, parts=tuple(p for p in plan.parts if p.name not in PANEL_TYPICAL_MM))
    ready = []
    for p in plan.pieces:
        st = stencil(plan, [p.id], gallery)
        ready.append(Ready(st, prepare(st)))
    pages = timed(lambda k: stencil_pages(ready, Print("A4")))
    whole = timed(lambda k: stencil_pdf(ready, Print("A4")))
    n = len(stencil_pages(ready))
    print(f"{len(ready)} stencils nested on {n} pages of A4: {pages:.2f} s, as PDF {whole:.2f} s")


if __name__ == "__main__":
    main()
