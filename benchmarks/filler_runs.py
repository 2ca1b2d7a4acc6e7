"""What `filler_quality` measures, piece by piece: a kind on a ground, in processes of their own, kept as it comes.

A task is one kind in all its ways on one gap shape, or one kind in the widest gap of a whole sleeve, or the plain
fills on either, or one place of a sleeve that its theme has filled. Tasks are independent, so that a run can be
broken off and taken up again: what is in the file of kept results is not measured twice, as long as nothing that
draws or measures has changed since.
"""

from __future__ import annotations

import hashlib
import json
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.fillers import sleeve
from benchmarks.gap_shapes import shapes
from benchmarks.plain_fills import PLAIN
from composer.art.drawing import Drawing
from composer.compose.gaps import Survey, survey
from composer.filler.fabric import plan_jobs
from composer.filler.fabric_plan import THEMES, theme
from composer.filler.finish import finished, in_view, open_to
from composer.filler.ground import Ground, Wish
from composer.filler.handed import in_hand
from composer.filler.kinds import KINDS, Way
from composer.filler.one_turn import as_laid
from composer.filler.proposals import TRIES, Job, generator, jobs_for
from composer.filler.quality import Quality, quality
from composer.plan.model import Hand, Settings
from composer.plan.scene import Scene

ROOT = Path(__file__).resolve().parent.parent
SLEEVES = ((20, 1), (14, 2), (9, 3), (24, 4), (17, 5))
"""Pieces and seed of each whole sleeve."""
PLACES = 3
"""So many fillers of each tied-in sleeve are measured, those over the widest skin of each kind first."""
HAND = Hand()
SHAPE, TIED, WIDEST = "shape", "tied in", "widest gap"
"""Where a task draws: a gap shape, a place of a tied-in sleeve, the widest gap of a sleeve."""


@dataclass(frozen=True)
class Task:
    """`where`: SHAPE, TIED or WIDEST; `on`: the shape's name or the number of the sleeve (1 to 5); `kind`: '' for the
    plain fills; `place`: which of the tied-in places."""

    where: str
    on: str
    kind: str
    seed: int
    place: int = 0

    @property
    def ground(self) -> str:
        """The ground's name, alike for all that is drawn on it."""
        return self.on if self.where == SHAPE else f"sleeve {self.on}, " + (
            self.where if self.where == WIDEST else f"place {self.place + 1}")


@dataclass(frozen=True)
class Run:
    """One drawing that was measured, by the processor time (seconds) that drawing it took."""

    kind: str
    way: str
    where: str
    ground: str
    q: Quality
    took_s: float


@dataclass(frozen=True)
class Done:
    """What came of a task: runs, and what could not be drawn within the tries that the desk allows itself."""

    runs: tuple[Run, ...]
    missed: tuple[str, ...] = ()


def tasks(on_shapes: list[str], sleeves: list[int], kinds: list[str], seeds: int) -> list[Task]:
    """Every task, those on one ground together, the sleeves (which take longest) first."""
    out: list[Task] = []
    for n in map(str, sleeves):
        out += [Task(WIDEST, n, k, 1) for k in ("", *kinds)]
        out += [Task(TIED, n, "", 1, place) for place in range(PLACES)]
    for name in on_shapes:
        out += [Task(SHAPE, name, k, s) for s in range(1, seeds + 1) for k in ("", *kinds)]
    return out


@cache
def _sleeve(number: int) -> tuple[Scene, Survey]:
    scene = sleeve(*SLEEVES[number - 1])
    return scene, survey(scene)


@cache
def _shapes() -> dict[str, Ground]:
    return shapes()


@cache
def _tied(number: int) -> list[Job]:
    """The jobs of a tied-in sleeve: the one over the widest skin of each kind that its theme uses, then the second of
    each, and so on. Each sleeve has a theme of its own."""
    scene, found = _sleeve(number)
    name = list(THEMES)[(number - 1) % len(THEMES)]
    jobs = plan_jobs(scene, found, found.gaps, theme(name), HAND, Wish(), 1, Settings(), [])
    wide = sorted((job for job, _, _ in jobs), key=lambda j: -j.site.ground.free.area)
    rank = [sum(one.kind == job.kind for one in wide[:i]) for i, job in enumerate(wide)]
    return [wide[i] for i in np.argsort(rank, kind="stable")]


def do(task: Task) -> Done:
    """Draw and measure."""
    if task.where == TIED:
        jobs = _tied(int(task.on))
        if task.place >= len(jobs):
            return Done((), (f"{task.ground}: the theme fills no such place",))
        job = jobs[task.place]
        done = _kind(task, job.site.ground, job.kind, (KINDS[job.kind].way(job.way),), job.wish)
        return Done((*_plain(task, job.site.ground), *done.runs), done.missed)
    if task.where == SHAPE:
        ground = _shapes()[task.on]
        return _kind(task, ground, task.kind, KINDS[task.kind].ways) if task.kind else Done(_plain(task, ground))
    number = int(task.on)
    scene, found = _sleeve(number)
    widest = max(found.gaps, key=lambda g: g.widest_mm)
    (job,) = jobs_for(scene, found, {"gap": [list(widest.centre)]}, task.kind or next(iter(KINDS)), HAND, Wish(),
                      task.seed, 1, Settings())
    if not task.kind:
        return Done(_plain(task, job.site.ground))
    ways = KINDS[task.kind].ways
    return _kind(task, job.site.ground, task.kind, (ways[(number - 1) % len(ways)],))


def _plain(task: Task, ground: Ground) -> tuple[Run, ...]:
    out = []
    for name, fill in PLAIN.items():
        start = time.process_time()
        made = fill(ground, HAND, np.random.default_rng(task.seed))
        took = time.process_time() - start
        q = quality(made, ground, HAND)
        if q is not None:
            out.append(Run(name, "", task.where, task.ground, q, took))
    return tuple(out)


def _kind(task: Task, ground: Ground, kind: str, ways: tuple[Way, ...], wish: Wish | None = None) -> Done:
    out, missed = [], []
    for way in ways:
        made, took = drawn(kind, way, ground, task.seed, wish)
        q = None
        if made is not None:
            seen_on = in_view(open_to(as_laid(ground, made), KINDS[kind], wish or Wish()))
            q = quality(made, ground, HAND, seen_on)
        if q is None:
            missed.append(f"{kind}/{way.name} on {task.ground}")
        else:
            out.append(Run(kind, way.name, task.where, task.ground, q, took))
    return Done(tuple(out), tuple(missed))


def drawn(kind: str, way: Way, ground: Ground, seed: int, wish: Wish | None = None) -> tuple[Drawing | None, float]:
    """The first drawing that keeps every hard rule within the tries that the desk allows itself, and the processor
    time that it took."""
    wish, start = wish or Wish(), time.process_time()
    for tried in range(TRIES):
        made = in_hand(way.draw, kind, ground, HAND, wish, generator(seed, kind, way.name, tried))
        if made is not None:
            made, bad = finished(made, KINDS[kind], ground, HAND, wish)
            if not bad:
                return made, time.process_time() - start
    return None, time.process_time() - start


def as_they_come(todo: list[Task], workers: int, keep: Path | None) -> Iterator[Done]:
    """What comes of the tasks, told on the error stream as it comes. With a file of kept results what is there is
    taken from it, and the rest is added line by line."""
    stamp = source_stamp()
    kept = read_kept(keep, stamp) if keep is not None else {}
    left = [t for t in todo if t not in kept]
    yield from (kept[t] for t in todo if t in kept)
    if kept:
        print(f"{len(todo) - len(left)} of {len(todo)} results are kept in {keep}", file=sys.stderr)
    start = time.perf_counter()
    for i, (task, done) in enumerate(_done(left, workers), 1):
        if keep is not None:
            with keep.open("a", encoding="utf-8") as file:
                file.write(json.dumps({"source": stamp, "task": asdict(task), "done": asdict(done)}) + "\n")
        used, spent = time.perf_counter() - start, sum(r.took_s for r in done.runs)
        print(f"{i:4} of {len(left)} after {used:4.0f} s, about {used / i * (len(left) - i):4.0f} s to go: "
              f"{task.kind or 'plain fills' if task.where != TIED else 'its theme'} on {task.ground}, "
              f"drawn in {spent:.1f} s", file=sys.stderr)
        yield done


def _done(left: list[Task], workers: int) -> Iterator[tuple[Task, Done]]:
    if workers < 2:
        yield from ((t, do(t)) for t in left)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from zip(left, pool.map(do, left), strict=True)


def source_stamp() -> str:
    """A digest of all that draws and measures."""
    files = sorted([*(ROOT / "composer").rglob("*.py"), *(ROOT / "benchmarks").glob("*.py")])
    used = [f for f in files if f.parts[len(ROOT.parts) + 1] in ("filler", "compose", "plan", "body", "art")
            or f.name in ("filler_runs.py", "fillers.py", "gap_shapes.py", "plain_fills.py")]
    return hashlib.sha256(b"".join(f.read_bytes() for f in used)).hexdigest()[:16]


def read_kept(keep: Path, stamp: str) -> dict[Task, Done]:
    """Kept results that were measured with the source as it is; none where there is no file."""
    out: dict[Task, Done] = {}
    for line in keep.read_text("utf-8").splitlines() if keep.exists() else []:
        try:
            row: dict[str, Any] = json.loads(line)
        except ValueError:      # broken off while it was written
            continue
        if row["source"] == stamp:
            runs = tuple(Run(**{**r, "q": Quality(**r["q"])}) for r in row["done"]["runs"])
            out[Task(**row["task"])] = Done(runs, tuple(row["done"]["missed"]))
    return out
