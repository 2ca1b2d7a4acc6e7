"""What is taped on chest and upper back: each measure, where the tape goes, and what is plausible.

Ranges are 1st percentile of women to 99th of men in ANSUR II (US Army, 2012, open data), from the
raw tables; heights there are differences taken per person. What the tape runs longer than
a height difference or a caliper breadth, and what is not in the survey, comes from memory and says so.
"""

from __future__ import annotations

from composer.body.fields import Field

SIDES = ("left", "right")
PANELS = ("chest", "upper_back")

_SURVEY = "ANSUR II (US Army, 2012), 1st percentile of women to 99th of men"
_MEMORY = "from memory, no published source"
WIDER = (0.6, 1.45)

ANSUR_MM = {
    "chest circumference": (784.0, 1276.0),
    "suprasternale height less axilla height": (60.9, 142.0),
    "cervicale height less axilla height": (122.9, 222.0),
    "axilla height less tenth rib height": (142.9, 255.0),
    "acromial height less axilla height": (71.0, 141.2),
    "half the biacromial breadth": (161.0, 231.5),
    "half the interscye distance": (153.5, 257.5),
}


def _field(
    name: str,
    label: str,
    kind: str,
    level: str,
    where: str,
    key: str,
    share: tuple[float, float],
    standard: str = "",
    from_level: str = "",
) -> Field:
    lo, hi = ANSUR_MM[key][0] * share[0], ANSUR_MM[key][1] * share[1]
    source = f"{key}, {_SURVEY}"
    if share != (1.0, 1.0):
        source = f"{share[0]:g} to {share[1]:g} ({_MEMORY}) of {source}"
    return Field(
        name,
        label,
        kind,
        level,
        where,
        round(lo * WIDER[0]),
        round(hi * WIDER[1]),
        round(lo),
        round(hi),
        source,
        standard,
        from_level,
    )


def _both(
    name: str, label: str, level: str, where: str, key: str, share: tuple[float, float], from_level: str
) -> tuple[Field, ...]:
    return tuple(
        _field(
            f"{name}_{side}",
            f"{label}, {side}",
            "length",
            level,
            f"{where} On the client's {side} side.",
            key,
            share,
            "",
            from_level,
        )
        for side in SIDES
    )


_TRUNK = (
    _field(
        "chest_girth",
        "Chest",
        "girth",
        "armpits",
        "Round the trunk as high under the armpits as the tape goes, held "
        "level, arms hanging, at the end of a quiet breath.",
        "chest circumference",
        (0.95, 1.02),
        "near the chest girth of ISO 8559-1 and ISO 7250-1, which is taken at the fullest level",
    ),
    _field(
        "lower_girth",
        "Lower edge",
        "girth",
        "lower edge",
        "Round the trunk, level, where the plan is to end below.",
        "chest circumference",
        (0.78, 1.02),
    ),
    _field(
        "armpit_to_lower",
        "Armpits to lower edge",
        "length",
        "lower edge",
        "Straight down, from the level of the armpits to where the plan is to end.",
        "axilla height less tenth rib height",
        (0.5, 1.1),
        "",
        "armpits",
    ),
)

TRUNK = tuple(f.name for f in _TRUNK)
"""Measures that chest and back share, since the tape goes round both."""

CHEST_FIELDS: tuple[Field, ...] = (
    *_TRUNK,
    _field(
        "notch_to_armpit",
        "Notch to armpit level",
        "length",
        "armpits",
        "Down the breastbone, from the notch between the collarbones to the level of the armpits.",
        "suprasternale height less axilla height",
        (1.0, 1.25),
        "",
        "notch",
    ),
    Field(
        "fullness",
        "Fullness",
        "length",
        "chest",
        "Lay a ruler level across the fullest part of the chest: how far the breastbone lies behind it.",
        1,
        90,
        4,
        50,
        f"4 to 50 mm ({_MEMORY})",
    ),
    *_both(
        "midline_to_crease",
        "Midline to front crease",
        "armpits",
        "Along the skin at the level of the armpits, from the "
        "breastbone to where the front fold of the armpit begins.",
        "half the interscye distance",
        (0.78, 1.0),
        "midline",
    ),
    *_both(
        "notch_to_acromion",
        "Notch to shoulder point",
        "shoulders",
        "Taut along the collarbone, from the notch to the bony point at the end of the shoulder (acromion).",
        "half the biacromial breadth",
        (1.0, 1.2),
        "notch",
    ),
    *_both(
        "acromion_to_crease",
        "Shoulder point to front crease",
        "armpits",
        "Taut over the front of the shoulder, from the bony point down to where the front fold of the armpit begins.",
        "acromial height less axilla height",
        (1.15, 1.75),
        "shoulders",
    ),
)

BACK_FIELDS: tuple[Field, ...] = (
    *_TRUNK,
    _field(
        "nape_to_armpit",
        "Nape to armpit level",
        "length",
        "armpits",
        "Down the spine, from the bony point of the nape (cervicale) to the level of the armpits.",
        "cervicale height less axilla height",
        (1.0, 1.2),
        "",
        "nape",
    ),
    *_both(
        "spine_to_crease",
        "Spine to back crease",
        "armpits",
        "Along the skin at the level of the armpits, from the spine to where the back fold of the armpit begins.",
        "half the interscye distance",
        (0.85, 1.05),
        "spine",
    ),
    *_both(
        "nape_to_acromion",
        "Nape to shoulder point",
        "shoulders",
        "Taut over the top of the shoulder, from the bony point of "
        "the nape to the bony point at the end of the shoulder.",
        "half the biacromial breadth",
        (1.0, 1.2),
        "nape",
    ),
    *_both(
        "acromion_to_crease",
        "Shoulder point to back crease",
        "armpits",
        "Taut over the back of the shoulder, from the bony point down to where the back fold of the armpit begins.",
        "acromial height less axilla height",
        (1.15, 1.8),
        "shoulders",
    ),
)

PANEL_FIELDS = {"chest": CHEST_FIELDS, "upper_back": BACK_FIELDS}

PANEL_TYPICAL_MM: dict[str, dict[str, float]] = {
    "chest": {
        "chest_girth": 1000,
        "lower_girth": 930,
        "armpit_to_lower": 130,
        "notch_to_armpit": 115,
        "fullness": 12,
        **{f"midline_to_crease_{s}": 172 for s in SIDES},
        **{f"notch_to_acromion_{s}": 212 for s in SIDES},
        **{f"acromion_to_crease_{s}": 158 for s in SIDES},
    },
    "upper_back": {
        "chest_girth": 1000,
        "lower_girth": 930,
        "armpit_to_lower": 130,
        "nape_to_armpit": 185,
        **{f"spine_to_crease_{s}": 185 for s in SIDES},
        **{f"nape_to_acromion_{s}": 205 for s in SIDES},
        **{f"acromion_to_crease_{s}": 165 for s in SIDES},
    },
}
"""A trunk to start from; invented, near the middle of the survey, and fit for the typical arm."""
