"""What the zones of any part have in common: their three scales by place, and a client's own figures."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from composer.body.zone_table import SCALES, Zone

Overrides = Mapping[str, Mapping[str, float]]


class ZoneError(ValueError):
    """A scale of a zone that can't be set so; the message is the sentence to show."""


class Zoned(ABC):
    """Skin whose every point lies in exactly one of `zones`; `at` says in which."""

    zones: tuple[Zone, ...]

    @abstractmethod
    def at(self, us: np.ndarray) -> np.ndarray:
        """Which zone each skin point (n, 2) of (u, s) lies in: indices (n,) into `zones`."""

    def scale(self, us: np.ndarray, name: str) -> np.ndarray:
        """A scale ('pain', 'movement', 'visibility') at skin points (n, 2): (n,), 0 to 10."""
        if name not in SCALES:
            raise ZoneError(f"'{name[:40]}' is no scale of a zone; known are {', '.join(SCALES)}.")
        return np.array([getattr(z, name) for z in self.zones], float)[self.at(us)]

    def over_bone(self, us: np.ndarray) -> np.ndarray:
        """Whether bone lies right under the skin at points (n, 2): (n,) of bool."""
        return np.array([z.over_bone for z in self.zones])[self.at(us)]

    def named(self, name: str) -> int:
        """Index of a zone. Raises ZoneError."""
        for i, z in enumerate(self.zones):
            if z.name == name:
                return i
        raise ZoneError(f"'{name[:40]}' is no zone here; known are {', '.join(z.name for z in self.zones)}.")


def with_figures(zones: Sequence[Zone], overrides: Overrides | None, part: str) -> tuple[Zone, ...]:
    """The zones with this client's own figures, {zone: {scale: 0..10}}. Raises ZoneError with a sentence."""
    out, names = list(zones), [z.name for z in zones]
    for name, scales in (overrides or {}).items():
        if name not in names:
            raise ZoneError(f"'{str(name)[:40]}' is no zone of the {part.replace('_', ' ')}; "
                            f"known are {', '.join(names)}.")
        i = names.index(name)
        out[i] = _edited(out[i], scales)
    return tuple(out)


def _edited(zone: Zone, scales: Mapping[str, float]) -> Zone:
    if not isinstance(scales, Mapping):
        raise ZoneError(f"The figures of {zone.label.lower()} must be given by scale: {', '.join(SCALES)}.")
    for name, value in scales.items():
        if name not in SCALES:
            raise ZoneError(f"'{str(name)[:40]}' is no scale of a zone; known are {', '.join(SCALES)}.")
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 10:
            raise ZoneError(f"{name.capitalize()} of {zone.label.lower()} is {value!r}; it runs from 0 to 10.")
    now = {n: float(scales.get(n, getattr(zone, n))) for n in SCALES}
    return replace(zone, pain=now["pain"], movement=now["movement"], visibility=now["visibility"],
                   edited=tuple(n for n in SCALES if n in scales))
