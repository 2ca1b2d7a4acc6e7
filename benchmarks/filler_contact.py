"""Contact sheet of a filler kind: twelve gap shapes by seeds, to be looked at.

`python benchmarks/filler_contact.py --kind filigree --out PNG [--way mirrored] [--seeds 2] [--only NAME ...]`

Without `--way` the kind's first way is drawn.
"""

from __future__ import annotations

import argparse
import dataclasses
import statistics
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
from benchmarks.gap_shapes import ground_svg, shapes, svg_path
from composer.art.drawing import Drawing, rings_to_geometry
from composer.filler.ground import Ground, Wish
from composer.filler.kinds import kind
from composer.plan.model import Hand

SHADES = {"light": "#dcd6cf", "mid": "#b3aaa2", "dark": "#7d746d", "black": "#151114", "line": "#151114"}


def drawing_svg(drawing: Drawing, ground: Ground) -> str:
    """Ink of a drawing, clipped to free skin as the view does."""
    keep = shapely.difference(ground.region, ground.front.buffer(ground.skin_break_mm))
    out = []
    for layer in drawing.layers:
        shown = rings_to_geometry(layer.rings).intersection(keep)
        out.append(f'<path d="{svg_path(shown)}" fill="{SHADES[layer.role]}" fill-rule="evenodd"/>')
    return "".join(out)


def hatch_ms(ground: Ground) -> float:
    """The stated baseline: milliseconds to fill the gap with a plain 6 mm hatch, clipped and merged."""
    start = time.perf_counter()
    x0, y0, x1, y1 = ground.free.bounds
    lines = [shapely.LineString([(x0, y), (x1, y)]) for y in np.arange(y0, y1, 6.0)]
    shapely.union_all([shapely.intersection(line, ground.free).buffer(0.5) for line in lines])
    return (time.perf_counter() - start) * 1000


def main() -> None:
    """Draw the sheet and print the times and measures."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--kind", default="filigree")
    ask.add_argument("--way", default="")
    ask.add_argument("--out", default="contact.png")
    ask.add_argument("--seeds", type=int, default=2)
    ask.add_argument("--first", type=int, default=1)
    ask.add_argument("--only", nargs="*", default=[])
    ask.add_argument("--zoom", type=float, default=3.0)
    ask.add_argument("--width", type=float, default=400.0)
    ask.add_argument("--symmetry", type=float, default=None)
    ask.add_argument("--measures", action="store_true")
    args = ask.parse_args()
    of = kind(args.kind)
    way = of.way(args.way) if args.way else of.ways[0]
    chosen = {k: g for k, g in shapes().items() if not args.only or k in args.only}
    cells, times, base = [], [], []
    for name, ground in chosen.items():
        if args.symmetry is not None:
            ground = dataclasses.replace(ground, symmetry_deg=args.symmetry)
        for seed in range(args.first, args.first + args.seeds):
            start = time.perf_counter()
            drawing = way.draw(ground, Hand(), Wish(), np.random.default_rng(seed))
            took = (time.perf_counter() - start) * 1000
            times.append(took)
            base.append(hatch_ms(ground))
            x0, y0, x1, y1 = ground.free.buffer(7).bounds
            label, marks = f"{name} {seed}: {took:.0f} ms", ""
            if drawing is None:
                print(label, "nothing proposed")
            if drawing is not None and args.measures:
                from composer.filler.check import findings, measures

                m = measures(drawing, ground)
                bad = findings(drawing, ground, Hand())
                label += "  " + " ".join(f"{k} {m[k]:.2f}" for k in ("reach", "void_cv", "widest_void_mm"))
                label += f" loose {m['loose_parts']} met {m['neighbours_met']} bad {len(bad)}"
                print(label, *sorted({f.rule for f in bad}))
                marks = "".join(f'<circle cx="{f.x:.2f}" cy="{-f.y:.2f}" r="1.2" fill="none" stroke="red" '
                                f'stroke-width=".3"/>' for f in bad)
            inner = ground_svg(ground, drawing_svg(drawing, ground) if drawing else "") + marks
            cells.append((x1 - x0, y1 - y0, x0, y1, inner, label))
    room = args.width
    x = y = row = 0.0
    body = []
    for w, h, x0, y1, inner, label in cells:
        if x + w > room and x > 0:
            x, y, row = 0.0, y + row + 6, 0.0
        body.append(f'<svg x="{x:.1f}" y="{y + 5:.1f}" width="{w:.1f}" height="{h:.1f}" '
                    f'viewBox="{x0:.2f} {-y1:.2f} {w:.2f} {h:.2f}">{inner}</svg>'
                    f'<text x="{x + 1:.1f}" y="{y + 4:.1f}" font-size="3">{label}</text>')
        x, row = x + w + 3, max(row, h)
    svg = (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {room:.1f} {y + row + 6:.1f}" '
           f'width="{room * args.zoom:.0f}">{"".join(body)}</svg>')
    subprocess.run(["rsvg-convert", "-b", "white", "-o", args.out], input=svg.encode(), check=True)
    print(f"{len(times)} drawings, median {statistics.median(times):.1f} ms, worst {max(times):.1f} ms; "
          f"{sum(times) / sum(base):.1f} times the baseline (6 mm hatch, clipped and merged, in the same run)")


if __name__ == "__main__":
    main()
