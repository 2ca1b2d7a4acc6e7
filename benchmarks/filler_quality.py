"""How good every kind of filler is, beside three plain fills, on twelve gap shapes and five whole sleeves.

    python benchmarks/filler_quality.py [--seeds 1] [--kinds filigree cloud ...] [--no-sleeves | --no-shapes] [--few]

Reckon with ten minutes of processor time; with --few (four of the shapes, two of the sleeves) with three. The sleeves
take half of it: the widest places of each as its theme fills
them, and then the widest gap of each filled with every kind in turn.

The plain fills (random strokes, hatch, Poisson-disc scatter) stand in the same run on the same
grounds. `standing` (composer.filler.quality) must put every kind above all three; the last column
of the first table says on how many of the grounds it does, and a kind that fails is named at the end.
Times are CPU times of drawing alone and their ratio to drawing the hatch.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
from benchmarks.fillers import sleeve
from benchmarks.gap_shapes import shapes
from benchmarks.plain_fills import PLAIN
from composer.art.drawing import Drawing
from composer.compose.gaps import survey
from composer.filler.fabric_plan import THEMES
from composer.filler.ground import Ground, Wish
from composer.filler.kinds import KINDS, Way
from composer.filler.proposals import TRIES, generator, jobs_for
from composer.filler.quality import STANDS, Quality, quality, shares, standing
from composer.filler.testkit import broken
from composer.plan.model import Hand, Settings

SLEEVES = ((20, 1), (14, 2), (9, 3), (24, 4), (17, 5))
"""Pieces and seed of each whole sleeve."""
PLACES = 3
"""So many fillers of each sleeve are measured, those over the widest skin first."""
FEW = ("wide_pocket", "crescent", "channel", "big_field")
"""The gap shapes of a short run."""
HAND = Hand()


@dataclass(frozen=True)
class Run:
    """One drawing that was measured."""

    kind: str
    ground: str
    q: Quality
    took_s: float


def drawn(kind: str, way: Way, ground: Ground, seed: int) -> tuple[Drawing | None, float]:
    """The first drawing that keeps every hard rule within the tries that the desk allows itself."""
    start = time.process_time()
    for tried in range(TRIES):
        made = way.draw(ground, HAND, Wish(), generator(seed, kind, way.name, tried))
        if made is not None and not broken(KINDS[kind], made, ground):
            return made, time.process_time() - start
    return None, time.process_time() - start


def plain_runs(name: str, ground: Ground, seed: int) -> Iterator[Run]:
    """The plain fills of a ground."""
    for plain, fill in PLAIN.items():
        start = time.process_time()
        made = fill(ground, HAND, np.random.default_rng(seed))
        took = time.process_time() - start
        q = quality(made, ground, HAND)
        if q is not None:
            yield Run(plain, name, q, took)


def kind_runs(name: str, ground: Ground, seed: int, kinds: list[str], missed: list[str]) -> Iterator[Run]:
    """Every way of every kind on a ground; what could not be drawn goes into `missed`."""
    for k in kinds:
        for way in KINDS[k].ways:
            made, took = drawn(k, way, ground, seed)
            q = quality(made, ground, HAND) if made is not None else None
            if q is None:
                missed.append(f"{k}/{way.name} on {name}")
            else:
                yield Run(k, name, q, took)


def sleeve_runs(sleeves: Sequence[tuple[int, int]], seed: int, missed: list[str]) -> Iterator[tuple[str, Run]]:
    """Five whole sleeves tied in, a theme each: every filler on its own ground, with the plain fills
    beside it on the same ground. Gives the theme's title with each run."""
    from composer.filler.fabric import plan_jobs
    from composer.filler.fabric_plan import theme

    for (pieces, at), name in zip(sleeves, list(THEMES) * 2, strict=False):
        scene = sleeve(pieces, at)
        found = survey(scene)
        jobs = plan_jobs(scene, found, found.gaps, theme(name), HAND, Wish(), seed, Settings(), [])
        print(f"sleeve {at} laid out", file=sys.stderr)
        jobs.sort(key=lambda j: -j[0].site.ground.free.area)
        for i, (job, _, _) in enumerate(jobs[:PLACES]):
            label = f"sleeve {at}, place {i + 1}"
            start, made = time.process_time(), None
            for tried in range(TRIES):
                one = KINDS[job.kind].way(job.way).draw(job.site.ground, HAND, job.wish,
                                                        generator(seed, job.kind, job.way, tried))
                if one is not None and not broken(KINDS[job.kind], one, job.site.ground, HAND, job.wish):
                    made = one
                    break
            took = time.process_time() - start
            q = quality(made, job.site.ground, HAND) if made is not None else None
            if q is None:
                missed.append(f"{job.kind}/{job.way} on {label}")
                continue
            yield f"{at}: {THEMES[name].title}", Run(job.kind, label, q, took)
            for r in plain_runs(label, job.site.ground, seed):
                yield f"{at}: {THEMES[name].title}", r


def every_kind_runs(sleeves: Sequence[tuple[int, int]], seed: int, kinds: list[str],
                    missed: list[str]) -> Iterator[tuple[str, Run]]:
    """Every kind in the widest gap of each of the five sleeves, its ways taken in turn, with the plain fills beside
    it on the same gap."""
    for i, (pieces, at) in enumerate(sleeves):
        scene = sleeve(pieces, at)
        found = survey(scene)
        widest = max(found.gaps, key=lambda g: g.widest_mm)
        label, title = f"sleeve {at}, widest gap", f"{at}: every kind"
        for k in kinds:
            way = KINDS[k].ways[i % len(KINDS[k].ways)]
            (job,) = jobs_for(scene, found, {"gap": [list(widest.centre)]}, k, HAND, Wish(), seed, 1, Settings())
            ground = job.site.ground
            if k == kinds[0]:
                for r in plain_runs(label, ground, seed):
                    yield title, r
            made, took = drawn(k, way, ground, seed)
            q = quality(made, ground, HAND) if made is not None else None
            if q is None:
                missed.append(f"{k}/{way.name} on {label}")
            else:
                yield title, Run(k, label, q, took)
        print(f"sleeve {at} filled with every kind", file=sys.stderr)


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
    best = max(r[0] for r in rows if r[2] in PLAIN)
    failed = []
    for mean, least, n, above, count, traits, took in sorted(rows, reverse=True):
        note = "" if n in PLAIN else f"   {above} of {count}"
        print(f"{n:22}{mean:8.2f}{least:8.2f}" + "".join(f"{v:8.2f}" for v in traits.values())
              + f"{1000 * took:8.0f}{took / hatch_s:8.1f}{note}")
        if n not in PLAIN and mean <= best:
            failed.append(n)
    return failed


def main() -> int:
    """Print the tables; 1 when a kind does not stand above the plain fills."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--seeds", type=int, default=1)
    ask.add_argument("--kinds", nargs="*", default=list(KINDS))
    ask.add_argument("--no-sleeves", action="store_true")
    ask.add_argument("--no-shapes", action="store_true")
    ask.add_argument("--few", action="store_true", help="four of the gap shapes and two of the sleeves")
    args = ask.parse_args()
    chosen = {n: g for n, g in shapes().items() if not args.few or n in FEW}
    sleeves = SLEEVES[:2] if args.few else SLEEVES
    runs: list[Run] = []
    missed: list[str] = []
    for name, ground in () if args.no_shapes else chosen.items():
        for seed in range(1, args.seeds + 1):
            runs += plain_runs(name, ground, seed)
            runs += kind_runs(name, ground, seed, args.kinds, missed)
        print(f"{name} measured", file=sys.stderr)
    names = [*args.kinds, *PLAIN]
    names = [n for n in names if any(r.kind == n for r in runs)]
    print(WORDS)
    failed: list[str] = []
    if runs:
        print(f"\n{len(chosen)} gap shapes, {args.seeds} seed(s), every way of each kind; means.\n")
        table(runs, names)
        failed += ranks(runs, names)
    if not args.no_sleeves:
        tied: dict[str, list[Run]] = {}
        for title, r in chain(sleeve_runs(sleeves, 1, missed), every_kind_runs(sleeves, 1, args.kinds, missed)):
            tied.setdefault(title, []).append(r)
        whole = [r for rs in tied.values() for r in rs]
        here = [n for n in [*KINDS, *PLAIN] if any(r.kind == n for r in whole)]
        pieces = ", ".join(f"{p} pieces" for p, _ in sleeves)
        print(f"\n{len(sleeves)} whole sleeves ({pieces}), tied in, and every kind in turn.\n")
        table(whole, here)
        failed += ranks(whole, here)
        for title, rs in tied.items():
            mine = [standing(r.q) for r in rs if r.kind not in PLAIN]
            base = {p: np.mean([standing(r.q) for r in rs if r.kind == p]) for p in PLAIN}
            print(f"sleeve {title}: {len(mine)} fillers, standing {np.mean(mine):.2f} (least {min(mine):.2f}); "
                  + ", ".join(f"{p} {v:.2f}" for p, v in base.items()))
    print(f"\nNot drawn within {TRIES} seeds: {', '.join(missed) if missed else 'none'}")
    print("Every kind stands above all three plain fills." if not failed
          else f"NOT above all three plain fills: {', '.join(sorted(set(failed)))}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
