"""When a reading is worth a remark. All of it is common practice, no published source, and advice."""

from __future__ import annotations

STRETCH_WARN, STRETCH_STRONG = 0.05, 0.10
"""Stretch of the paper: from the first it wrinkles, from the second it needs slits or freehand."""

NEAR_MM = 60.0
"""How far round a piece its neighbours are looked for."""

OFF_END_MM = 0.5
"""From so much beyond a cuff it is said."""

HIDDEN_SHARE = 0.02
"""From so much of a piece under another it is said how much."""

COVER_LOW, COVER_HIGH = 0.35, 0.70
"""Share of the skin that main pieces of a sleeve take up: below it looks scattered, above it
there is hardly room for background."""

DARK_APART = 0.20
"""From this difference in black and dark between the lower and the upper part one looks heavier."""
