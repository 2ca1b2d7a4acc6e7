"""The kinds of filler: what each is called, in which ways it can be drawn, and by which function."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from importlib.metadata import entry_points

import numpy as np

from composer.art.drawing import Drawing
from composer.filler import (
    band,
    cloud,
    feathers,
    filigree,
    leaves,
    lightning,
    rays,
    rocks,
    rope,
    scatter,
    smoke,
    stipple,
    waves,
    wind,
)
from composer.filler.ground import Ground, Wish
from composer.plan.model import Hand

Draw = Callable[[Ground, Hand, Wish, np.random.Generator], Drawing | None]


HANDLES = ("stream", "path", "centre", "edge")
"""What an artist may pull of a filler on the sheet, and what its kind then has to do:

'stream': a line that the background runs along. The ground's flow follows it, and `ground.spine` is the line itself:
a stroke, a row or the largest form is to lie on it.
'path': the line of what runs from place to place. `ground.spine` is the way, `ground.ends` its two ends; the ground
is widened along it (`composer.filler.shaped.PATH_MM` to either side).
'centre': `ground.spine` is the one point that all runs from.
'edge': the outline of the ground. Every kind that keeps to `ground.free` follows it.

A kind offers only what it follows; `tests/filler/test_handles.py` measures that.
"""


@dataclass(frozen=True)
class Way:
    """One way of drawing a kind: `name` for recipes, `title` for people. `handles`: what can be pulled of it (see
    HANDLES), where that differs from its kind. `sketch`: the first pass of what `draw` makes of the same ground, hand,
    wish and numbers, several times as quick, to show until the drawing is there; None where it does not need one."""

    name: str
    title: str
    draw: Draw
    handles: tuple[str, ...] | None = None
    sketch: Draw | None = None


@dataclass(frozen=True)
class Kind:
    """A kind of filler. `drifts`: it is carried by the air, so it lies lower than the flow of the
    limb and runs on behind pieces. `least_mm`: the narrowest gap (widest circle) that it suits. `handles`: what the
    artist can pull of it on the sheet (see HANDLES)."""

    name: str
    title: str
    ways: tuple[Way, ...]
    drifts: bool
    least_mm: float
    handles: tuple[str, ...] = ("edge",)

    def handles_of(self, way: str) -> tuple[str, ...]:
        """What can be pulled of that way; of one that is gone, nothing."""
        return next((self.handles if w.handles is None else w.handles for w in self.ways if w.name == way), ())

    def way(self, name: str) -> Way:
        """The way of that name. Raises ValueError with the sentence to show."""
        for w in self.ways:
            if w.name == name:
                return w
        raise ValueError(f"'{self.title}' cannot be drawn as '{name}'; choose {', '.join(w.name for w in self.ways)}.")


def _styled(module: object, style: str, what: str = "draw") -> Draw:
    def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
        return getattr(module, what)(ground, hand, wish, rng, style)

    return draw


def _fuller(propose: Draw, size: float, density: float) -> Draw:
    def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
        other = replace(wish, size=wish.size * size, density=float(np.clip(wish.density + density, 0, 1)))
        return propose(ground, hand, other, rng)

    return draw


STREAM = ("stream", "edge")
KINDS: dict[str, Kind] = {k.name: k for k in (
    Kind("cloud", "Clouds", tuple(Way(n, s.title, _styled(cloud, n), sketch=_styled(cloud, n, "sketch"))
                                  for n, s in cloud.STYLES.items()), True, 9.0, STREAM),
    Kind("wind", "Wind", tuple(Way(n, t, _styled(wind, n)) for n, t in wind.STYLES.items()), True, 7.0,
         STREAM),
    Kind("waves", "Waves", tuple(Way(n, s.title, _styled(waves, n)) for n, s in waves.STYLES.items()), True, 11.0,
         STREAM),
    Kind("smoke", "Smoke", tuple(Way(n, s.title, _styled(smoke, n)) for n, s in smoke.STYLES.items()), True, 11.0,
         STREAM),
    Kind("stipple", "Mist in dots", tuple(Way(n, t, _styled(stipple, n)) for n, t in stipple.STYLES.items()), True,
         7.0),
    Kind("rays", "Rays", tuple(Way(n, t, _styled(rays, n), ("edge",) if n == "horizon" else None)
                               for n, t in rays.STYLES.items()), False, 9.0, ("centre", "edge")),
    Kind("leaves", "Leaves", tuple(Way(n, s.title, _styled(leaves, n)) for n, s in leaves.STYLES.items()), False, 11.0,
         STREAM),
    Kind("feathers", "Feathers", tuple(Way(n, s.title, _styled(feathers, n)) for n, s in feathers.STYLES.items()),
         False, 12.0, STREAM),
    Kind("rocks", "Rocks", tuple(Way(n, s.title, _styled(rocks, n)) for n, s in rocks.STYLES.items()), False, 12.0),
    Kind("band", "Band of tiles", tuple(Way(n, s.title, _styled(band, n)) for n, s in band.STYLES.items()), False,
         17.0),
    Kind("rope", "Rope and chain", tuple(Way(n, s.title, _styled(rope, n)) for n, s in rope.STYLES.items()), False,
         18.0, ("path",)),
    Kind("scatter", "Small things", tuple(Way(n, s.title, _styled(scatter, n)) for n, s in scatter.STYLES.items()),
         False, 7.0),
    Kind("filigree", "Scrollwork", (
        Way("free", "Scrollwork, free", filigree.propose, sketch=filigree.sketch),
        Way("open", "Scrollwork, larger and open", _fuller(filigree.propose, 1.25, -0.15),
            sketch=_fuller(filigree.sketch, 1.25, -0.15)),
        Way("mirrored", "Scrollwork, mirrored", filigree.mirrored, ("edge",), filigree.sketch_mirrored)),
         False, 12.0, ("path", "edge")),
    Kind("lightning", "Lightning", (
        Way("bolt", "Lightning, one bolt", lightning.propose, sketch=lightning.sketch),
        Way("forked", "Lightning, forked", _fuller(lightning.propose, 1.0, 0.3),
            sketch=_fuller(lightning.sketch, 1.0, 0.3)),
        Way("heavy", "Lightning, heavy", _fuller(lightning.propose, 1.3, -0.2),
            sketch=_fuller(lightning.sketch, 1.3, -0.2))), False, 8.0, ("path",)),
)}
"""Every kind by name."""


GROUP = "sleevewright.fillers"
"""The entry-point group through which other packages bring kinds: name = "module:KIND"."""


@cache
def brought() -> dict[str, Kind]:
    """Kinds that other installed packages bring, by name; read when first asked for. One that can't
    be loaded, or that takes a name of the house, is left out."""
    out: dict[str, Kind] = {}
    for entry in sorted(entry_points(group=GROUP), key=lambda e: (e.name, e.value)):
        try:
            found = entry.load()
        except Exception:  # another package's fault must not stop the desk
            continue
        if isinstance(found, Kind) and found.ways and found.name not in KINDS:
            out.setdefault(found.name, found)
    return out


def every_kind() -> dict[str, Kind]:
    """Every kind by name, the house's own first."""
    return {**KINDS, **brought()}


def kind(name: str) -> Kind:
    """The kind of that name. Raises ValueError with the sentence to show."""
    if name in KINDS:
        return KINDS[name]
    known = every_kind()
    if name not in known:
        raise ValueError(f"There is no filler called '{name}'; choose {', '.join(known)}.")
    return known[name]
