"""What any kind of filler has to pass: for the tests of the house's kinds and of kinds in other packages.

    from composer.filler.testkit import faults
    assert faults("sleet", grounds) == []

`grounds` are those the kind is to be tried on (`plain_grounds` when none are given).
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import ROLES, Drawing
from composer.filler import finish
from composer.filler.check import Finding
from composer.filler.finish import finished
from composer.filler.ground import Ground, Wish
from composer.filler.handed import in_hand
from composer.filler.kinds import Kind, kind
from composer.filler.proposals import TRIES
from composer.plan.model import Hand

MIRROR_SHARE = 0.02
"""Share of the ink that may lack its mirror image in a symmetric filler."""


def plain_grounds() -> dict[str, Ground]:
    """Three grounds, mm: a pocket with a piece on either side, a strip that climbs past a piece,
    and a field with a piece in the middle."""
    def level(xy: np.ndarray) -> np.ndarray:
        return np.zeros(len(xy))

    def climbing(xy: np.ndarray) -> np.ndarray:
        return 0.4 + 0.004 * np.asarray(xy, float)[:, 0]

    pocket, strip = box(-34, -24, 34, 24), LineString([(-55, -18), (0, 0), (55, 20)]).buffer(14)
    sides = shapely.union_all([box(-64, -40, -36.05, 40), box(36.05, -40, 64, 40)])
    post = Point(4, 24).buffer(8)
    stone = Point(0, 0).buffer(14, quad_segs=24)
    field = box(-60, -44, 60, 44)
    return {"pocket": _ground(pocket, sides, level), "strip": _ground(strip, post, climbing),
            "field": _ground(field, stone, level)}


def _ground(free: BaseGeometry, front: BaseGeometry, flow: object) -> Ground:
    clear = shapely.difference(free, shapely.buffer(front, 2.03, quad_segs=24))
    return Ground(clear, shapely.buffer(free, 18.0), front, 2.0, 2.0, flow)  # type: ignore[arg-type]


def drawn(of: Kind, way: str, ground: Ground, seed: int, hand: Hand | None = None,
          wish: Wish | None = None) -> Drawing | None:
    """What a kind draws on a ground with a seed, as it will be stored."""
    hand, wish = hand or Hand(), wish or Wish()
    made = in_hand(of.way(way).draw, of.name, ground, hand, wish, np.random.default_rng(seed))
    return finished(made, of, ground, hand, wish)[0] if made is not None else None


def broken(of: Kind, drawing: Drawing, ground: Ground, hand: Hand | None = None,
           wish: Wish | None = None) -> list[Finding]:
    """Hard rules that a drawing breaks once it is cut to what is seen (see `finish.broken`)."""
    return finish.broken(drawing, of, ground, hand or Hand(), wish or Wish())


def faults(name: str, grounds: Mapping[str, Ground] | None = None, seed: int = 1, mirrors: str | None = None,
           ways: tuple[str, ...] | None = None) -> list[str]:
    """What is wrong with a kind, in sentences; empty when it passes.

    On every ground wide enough for it, each way must give within TRIES seeds a drawing that keeps
    every hard rule, with classed ends, known layers and notes of plain JSON; the same seed must
    give the same bytes, here and in another process; `mirrors` names a way that claims to be
    symmetric when the ground asks for it.
    """
    of, out = kind(name), []
    grounds = plain_grounds() if grounds is None else grounds
    for way in ways or tuple(w.name for w in of.ways):
        for label, ground in grounds.items():
            wide = 2 * shapely.maximum_inscribed_circle(ground.free, tolerance=0.5).length
            if wide < of.least_mm:
                continue
            best = None
            for s in range(seed, seed + TRIES):
                made = drawn(of, way, ground, s)
                if made is not None:
                    out += [f"{name}/{way} on {label}, seed {s}: {t}" for t in _form(made)]
                    bad = broken(of, made, ground)
                    best = bad if best is None or len(bad) < len(best) else best
                    if not bad:
                        break
            if best is None:
                out.append(f"{name}/{way} on {label}: nothing was drawn with {TRIES} seeds.")
            elif best:
                out.append(f"{name}/{way} on {label}: {best[0].sentence} (at {best[0].x:.1f}, {best[0].y:.1f})")
        out += _same(of, way, *next(iter(grounds.items())), seed)
    if mirrors is not None:
        out += _mirrored(of, mirrors, grounds, seed)
    return out


def _form(made: Drawing) -> list[str]:
    out = [f"the layer '{la.role}' is none of {', '.join(ROLES)}." for la in made.layers if la.role not in ROLES]
    out += [f"an end at ({e.x:.1f}, {e.y:.1f}) is '{e.how}'." for e in made.ends
            if e.how not in ("tip", "ball", "tucked")]
    try:
        json.dumps(made.notes, allow_nan=False)
    except (TypeError, ValueError):
        out.append("its notes are no plain JSON.")
    return out


def _same(of: Kind, way: str, label: str, ground: Ground, seed: int) -> list[str]:
    first, again = drawn(of, way, ground, seed), drawn(of, way, ground, seed)
    one, two = (d.digest if d is not None else "none" for d in (first, again))
    if one != two:
        return [f"{of.name}/{way} on {label}: the same seed gave two different drawings."]
    here, there = digest_of(of.name, way, seed), _elsewhere(of.name, way, seed)
    return [] if here == there else [f"{of.name}/{way}: another process drew something else with the same seed."]


def digest_of(name: str, way: str, seed: int) -> str:
    """The digest of a kind's drawing on the plain strip."""
    made = drawn(kind(name), way, plain_grounds()["strip"], seed)
    return made.digest if made is not None else "none"


def _elsewhere(name: str, way: str, seed: int) -> str:
    code = f"from composer.filler.testkit import digest_of; print(digest_of({name!r}, {way!r}, {seed}))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    return done.stdout.strip() if done.returncode == 0 else done.stderr.strip()


def _mirrored(of: Kind, way: str, grounds: Mapping[str, Ground], seed: int) -> list[str]:
    out = []
    for label, ground in grounds.items():
        asked = replace(ground, symmetry_deg=90.0)
        made = drawn(of, way, asked, seed)
        if made is None:
            continue
        ink = made.ink("line", "black")
        other = shapely.transform(ink, lambda c: c * (-1.0, 1.0))
        off = shapely.symmetric_difference(ink, other).area / max(2 * ink.area, 1e-9)
        if off > MIRROR_SHARE:
            out.append(f"{of.name}/{way} on {label}: {off:.0%} of the ink has no mirror image.")
    return out


__all__ = ["broken", "digest_of", "drawn", "faults", "plain_grounds"]
