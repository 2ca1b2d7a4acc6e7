"""A client's own figures for the zones: kept with the part, only where they differ from the table.

`Part.extra["zones"]` is {zone: {scale: 0..10}} (see `composer.body.zones`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from composer.body.surface import build_surface
from composer.body.zones import ZoneError, Zones, zones_of
from composer.plan.errors import StepError
from composer.plan.model import Part, Plan

KEY = "zones"


def zones_on(plan: Plan, part: str) -> Zones:
    """The zones of a part with this client's figures. Raises KeyError or ValueError with a sentence."""
    p = plan.part(part)
    return zones_of(p.name, build_surface(p.name, p.measures), p.extra.get(KEY))


def with_zones(part: Part, changes: Any) -> Part:
    """The part with figures set: `changes` is {zone: {scale: figure}}, None for a figure or a whole
    zone taking it back to the table. Raises StepError with a sentence."""
    if not isinstance(changes, Mapping):
        raise StepError("Figures of zones must be given by zone and scale.")
    now: dict[str, dict[str, float]] = {z: dict(s) for z, s in part.extra.get(KEY, {}).items()}
    for zone, scales in changes.items():
        if scales is not None and not isinstance(scales, Mapping):
            raise StepError("Figures of zones must be given by zone and scale.")
        merged = {} if scales is None else {**now.get(zone, {}), **scales}
        now[str(zone)] = {n: v for n, v in merged.items() if v is not None}
    try:
        zones_of(part.name, build_surface(part.name, part.measures), now)
    except ZoneError as err:
        raise StepError(str(err)) from err
    now = {z: s for z, s in now.items() if s}
    kept = {k: v for k, v in part.extra.items() if k != KEY}
    return replace(part, extra={**kept, KEY: now} if now else kept)
