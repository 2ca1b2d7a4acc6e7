"""How good every kind of filler is, beside three plain fills, on twelve gap shapes and five whole sleeves.

    python benchmarks/filler_quality.py [--kinds filigree cloud ...] [--shapes NAME ...] [--sleeves 1 2 ...]
                                        [--seeds 1] [--few] [--keep RESULTS] [--workers 2]

`--shapes` or `--sleeves` without anything after it leaves these out; `--few` is four of the shapes and two of the
sleeves. What is measured is told as it comes, and with `--keep` written to a file, from which another run takes what
is there already, as long as the source has not changed; so a long run can be had in parts. Of a sleeve three
places are measured as its theme fills them (the widest of each kind first), and its widest gap filled with every kind
in turn.

The plain fills (random strokes, hatch, Poisson-disc scatter) stand in the same run on the same
grounds. `standing` (composer.filler.quality) must put every kind above all three, on shapes and on sleeves; the last
column of the second table says on how many of the grounds it does, and a kind that fails is named at the end.
Times are processor times of drawing alone and their ratio to drawing the hatch.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
from benchmarks.filler_runs import SHAPE, SLEEVES, TIED, WIDEST, Run, as_they_come, tasks
from benchmarks.gap_shapes import shapes
from benchmarks.plain_fills import PLAIN
from composer.filler.kinds import KINDS
from composer.filler.proposals import TRIES
from composer.filler.quality import STANDS, Quality, shares, standing

FEW = ("wide_pocket", "crescent", "channel", "big_field"), (1, 2)
"""The gap shapes and sleeves of a short run."""

COLUMNS: dict[str, Callable[[Quality], float]] = {
    "filled": lambda q: q.reach, "void CV": lambda q: q.void_cv, "loose": lambda q: q.loose,
    "slots": lambda q: q.slots, "joints": lambda q: q.joints, "tangent": lambda q: q.smooth,
    "crossed": lambda q: q.crossed, "tip": lambda q: q.ends["tip"], "ball": lambda q: q.ends["ball"],
    "tucked": lambda q: q.ends["tucked"], "bare": lambda q: q.ends["bare"], "stubs": lambda q: q.stubs,
    "sizes": lambda q: q.widths, "tones": lambda q: q.tones, "flow": lambda q: q.flow_deg,
    "finest": lambda q: q.feature_mm, "gap": lambda q: q.gap_mm, "symm": lambda q: q.symmetry_off,
    "selfX": lambda q: q.crossings_of_rings}
WORDS = ("filled: share of the skin within 5 mm of ink; loose parts and narrow slots in 10 cm2; tangent, crossed: "
         "share of joints; tip ball tucked bare stubs: ends a drawing; sizes: widest by finest strokes; tones: spread; "
         "flow: mean degrees off; finest ink, gap kept (mm); symm: share of ink without mirror image; selfX: rings "
         "that cross themselves")


def table(runs: list[Run], names: list[str]) -> None:
    """Means of every measure, a row a kind."""
    print(f"{'':22}" + "".join(f"{c:>8}" for c in COLUMNS))
    for n in names:
        mine = [r.q for r in runs if r.kind == n]
        cells = []
        for f in COLUMNS.values():
            v = np.array([f(q) for q in mine], float)
            v = v[np.isfinite(v)]
            cells.append(f"{v.mean():8.2f}" if len(v) else f"{'-':>8}")
        print(f"{n:22}" + "".join(cells))


def ranks(runs: list[Run], names: list[str]) -> list[str]:
    """Print the standing of each kind and what it is made of; the kinds that fail."""
    plain = {g: max((standing(r.q) for r in runs if r.ground == g and r.kind in PLAIN), default=0.0)
             for g in {r.ground for r in runs}}
    hatch_s = float(np.median([r.took_s for r in runs if r.kind == "hatch"]))
    rows = []
    for n in names:
        mine = [r for r in runs if r.kind == n]
        s = [standing(r.q) for r in mine]
        above = sum(v > plain[r.ground] for v, r in zip(s, mine, strict=True))
        traits = {t: float(np.mean([shares(r.q)[t] for r in mine])) for t in STANDS}
        took = float(np.median([r.took_s for r in mine]))
        rows.append((float(np.mean(s)), float(np.min(s)), n, above, len(mine), traits, took))
    print(f"\n{'standing':22}{'mean':>8}{'least':>8}" + "".join(f"{t:>8}" for t in STANDS)
          + f"{'ms':>8}{'hatches':>8}   above all three")
    failed = []
    for mean, least, n, above, count, traits, took in sorted(rows, reverse=True):
        on = {r.ground for r in runs if r.kind == n}
        best = max(mean_standing(r for r in runs if r.kind == p and r.ground in on) for p in PLAIN)
        note = "" if n in PLAIN else f"   {above} of {count}; {mean - best:+.2f} over the best of them"
        print(f"{n:22}{mean:8.2f}{least:8.2f}" + "".join(f"{v:8.2f}" for v in traits.values())
              + f"{1000 * took:8.0f}{took / hatch_s:8.1f}{note}")
        if n not in PLAIN and mean <= best:
            failed.append(n)
    return failed


def mean_standing(runs: Iterable[Run]) -> float:
    """The mean standing of some drawings."""
    return float(np.mean([standing(r.q) for r in runs]))


def sleeve_lines(runs: list[Run]) -> None:
    """Print how each tied-in sleeve stands as a whole."""
    for sleeve in sorted({r.ground.split(",")[0] for r in runs}):
        mine = [r for r in runs if r.ground.split(",")[0] == sleeve]
        own = [r for r in mine if r.kind not in PLAIN]
        if own:
            print(f"{sleeve}: {', '.join(f'{r.kind}/{r.way}' for r in own)}; standing {mean_standing(own):.2f}; "
                  + ", ".join(f"{p} {mean_standing(r for r in mine if r.kind == p):.2f}" for p in PLAIN))


def part(title: str, runs: list[Run], kinds: list[str]) -> list[str]:
    """Print both tables of a part; the kinds that fail in it."""
    if not runs:
        return []
    names = [n for n in (*kinds, *PLAIN) if any(r.kind == n for r in runs)]
    print(f"\n{title}: {len(runs)} drawings on {len({r.ground for r in runs})} grounds; means.\n")
    table(runs, names)
    return [f"{n} ({title})" for n in ranks(runs, names)]


def main() -> int:
    """Print the tables; 1 when a kind does not stand above the plain fills."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--seeds", type=int, default=1)
    ask.add_argument("--kinds", nargs="*", default=list(KINDS), choices=list(KINDS), metavar="KIND")
    ask.add_argument("--shapes", nargs="*", default=None, choices=list(shapes()), metavar="SHAPE")
    ask.add_argument("--sleeves", nargs="*", type=int, default=None, choices=range(1, len(SLEEVES) + 1), metavar="N")
    ask.add_argument("--few", action="store_true")
    ask.add_argument("--keep", type=Path, default=None)
    ask.add_argument("--workers", type=int, default=2)
    args = ask.parse_args()
    few, all_of = args.few, (tuple(shapes()), tuple(range(1, len(SLEEVES) + 1)))
    on, sleeves = (list(FEW[i] if few else all_of[i]) if given is None else given
                   for i, given in enumerate((args.shapes, args.sleeves)))
    results = list(as_they_come(tasks(on, sleeves, args.kinds, args.seeds), args.workers, args.keep))
    runs, missed = [r for d in results for r in d.runs], [m for d in results for m in d.missed]
    print(WORDS)
    failed = [f for where, title in ((SHAPE, "gap shapes"), (WIDEST, "the widest gap of each sleeve"),
                                     (TIED, "whole sleeves, tied in"))
              for f in part(title, [r for r in runs if r.where == where], list(KINDS))]
    sleeve_lines([r for r in runs if r.where == TIED])
    print(f"\nNot drawn within {TRIES} seeds: {', '.join(missed) if missed else 'none'}")
    print("Every kind stands above all three plain fills." if not failed
          else f"NOT above all three plain fills: {', '.join(failed)}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
