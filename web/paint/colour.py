"""Colours mixed as ink thins on skin."""

from __future__ import annotations

import re

from composer.plan.model import Settings

_HEX = re.compile(r"#[0-9a-fA-F]{6}")


def skin_of(settings: Settings) -> str:
    """The client's skin tone as '#rrggbb'; the usual one when a plan file says something else."""
    return settings.skin if _HEX.fullmatch(str(settings.skin)) else Settings().skin


def mixed(ink: str, skin: str, share: float) -> str:
    """`share` of the ink over the skin, both '#rrggbb'. Raises ValueError for anything else."""
    if not all(_HEX.fullmatch(c) for c in (ink, skin)):
        raise ValueError(f"A colour is written #rrggbb, not {ink!r} or {skin!r}.")
    a, b = (tuple(int(c[i:i + 2], 16) for i in (1, 3, 5)) for c in (ink, skin))
    return "#" + "".join(f"{round(x * share + y * (1 - share)):02x}" for x, y in zip(a, b, strict=True))
