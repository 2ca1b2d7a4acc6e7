"""The four sides of a part, as they are drawn side by side."""

from __future__ import annotations

from collections.abc import Sequence

from composer.views.camera import NAMES, view_u
from composer.views.surface import Surface
from composer.views.turned import Turned, turned
from composer.views.worn import Worn


def four(surface: Surface, art: Sequence[Worn]) -> tuple[tuple[str, Turned], ...]:
    """Front, outer, back and inner side of a limb with its art: (name, view). Raises ValueError for
    a bent limb."""
    return tuple((name, turned(surface, art, view_u(surface.part, name))) for name in NAMES)
