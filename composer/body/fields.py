"""What is taped on an arm: each measure, where the tape goes, and what is plausible.

Plausible ranges come from ANSUR II (US Army anthropometric survey, 2012, open data; 4,082 men
and 1,986 women, all adult and fit to serve), 1st percentile of women to 99th of men, computed
from the raw tables for this project. Elbow, armpit, shoulder and relaxed upper-arm girths are
not in it: they hang on forearm and biceps girth by ratios from memory, and so do the shares by
which lengths are split; each field's `source` says so. Outside the usual band a value is
unusual; beyond the band widened by WIDER_* (adolescents, very muscular or heavy arms) it is refused.
"""

from __future__ import annotations

from dataclasses import dataclass

ANSUR_MM = {
    "wrist girth": (138.0, 198.0),
    "flexed forearm girth": (225.0, 365.0),
    "flexed biceps girth": (244.0, 448.0),
    "radiale to stylion": (209.8, 308.0),
    "elbow to armpit": (174.0, 265.2),
    "armpit to acromion": (71.0, 141.2),
}
"""1st percentile of women and 99th of men, mm. The last two are differences taken per person:
acromion-radiale length less (acromial height - axilla height), and that difference itself."""

WIDER_GIRTH = (0.55, 1.5)
WIDER_LENGTH = (0.5, 1.6)

_SURVEY = "ANSUR II (US Army, 2012), 1st percentile of women to 99th of men"
_MEMORY = "ratio from memory, no published source"


@dataclass(frozen=True)
class Field:
    """One measure. `kind` is 'girth' or 'length'; a length runs from `from_level` up to `level`.

    `low_mm`..`high_mm` is what is accepted at all, `usual_low_mm`..`usual_high_mm` what passes
    without remark; `source` says where both come from. `standard` names the ISO definition that
    the place of the tape follows, where we are sure of it.
    """

    name: str
    label: str
    kind: str
    level: str
    where: str
    low_mm: float
    high_mm: float
    usual_low_mm: float
    usual_high_mm: float
    source: str
    standard: str = ""
    from_level: str = ""


LEVELS = ("wrist", "fullest forearm", "elbow", "fullest upper arm", "armpit", "cap")
"""Levels of an arm from the far end up, as they stand on the sheet."""

GIRTHS = ("wrist", "forearm", "elbow", "upper_arm", "armpit", "deltoid")
LENGTHS = ("wrist_to_forearm", "forearm_to_elbow", "elbow_to_upper_arm", "upper_arm_to_armpit", "armpit_to_deltoid")

ASPECTS = (1.40, 1.20, 1.12, 0.96, 0.90, 0.88)
"""Width : depth of the section at each level; the ends as tried in facts/geometry.md, the rest
between them by eye. It shapes views only: placing needs the girths alone."""


def _girth(i: int, label: str, where: str, key: str, ratio: tuple[float, float] = (1.0, 1.0),
           standard: str = "") -> Field:
    lo, hi = ANSUR_MM[key][0] * ratio[0], ANSUR_MM[key][1] * ratio[1]
    source = f"{key}, {_SURVEY}"
    if ratio != (1.0, 1.0):
        source = f"{ratio[0]:g} to {ratio[1]:g} ({_MEMORY}) of {source}"
    return Field(GIRTHS[i], label, "girth", LEVELS[i], where, round(lo * WIDER_GIRTH[0]), round(hi * WIDER_GIRTH[1]),
                 round(lo), round(hi), source, standard)


def _length(i: int, label: str, where: str, key: str, share: tuple[float, float]) -> Field:
    lo, hi = ANSUR_MM[key][0] * share[0], ANSUR_MM[key][1] * share[1]
    return Field(LENGTHS[i], label, "length", LEVELS[i + 1], where, round(lo * WIDER_LENGTH[0]),
                 round(hi * WIDER_LENGTH[1]), round(lo), round(hi),
                 f"{share[0]:g} to {share[1]:g} ({_MEMORY}) of {key}, {_SURVEY}", "", LEVELS[i])


FIELDS: tuple[Field, ...] = (
    _girth(0, "Wrist", "Round the wrist over the bony knob on the little-finger side, hand relaxed.",
           "wrist girth", standard="after ISO 8559-1, wrist girth"),
    _girth(1, "Forearm", "Round the forearm where it is fullest, arm hanging and hand open.", "flexed forearm girth"),
    _girth(2, "Elbow", "Round the elbow over its point and through the crease, arm hanging straight.",
           "flexed forearm girth", (0.88, 1.05)),
    _girth(3, "Upper arm", "Round the upper arm where it is fullest, about midway from shoulder bone to elbow point, "
           "muscle relaxed.", "flexed biceps girth", (0.90, 1.0),
           "near the upper-arm girth of ISO 8559-1, which is taken midway between shoulder point and elbow point"),
    _girth(4, "Armpit", "Round the upper arm as high under the armpit as the tape goes, held level.",
           "flexed biceps girth", (0.95, 1.12)),
    _girth(5, "Shoulder", "Round the top of the arm over the fullest part of the shoulder muscle, "
           "the tape drawn up through the armpit.", "flexed biceps girth", (1.0, 1.3)),
    _length(0, "Wrist to forearm", "Along the skin on the outer side, from the wrist tape up to the fullest forearm.",
            "radiale to stylion", (0.60, 0.82)),
    _length(1, "Forearm to elbow", "Along the skin on the outer side, from the fullest forearm up to the elbow tape.",
            "radiale to stylion", (0.18, 0.40)),
    _length(2, "Elbow to upper arm", "Along the skin on the outer side, from the elbow tape up to the fullest "
            "upper arm.", "elbow to armpit", (0.45, 0.75)),
    _length(3, "Upper arm to armpit", "Along the skin on the outer side, from the fullest upper arm up to the level of "
            "the armpit tape.", "elbow to armpit", (0.25, 0.55)),
    _length(4, "Armpit to shoulder", "Along the skin on the outer side, from the level of the armpit tape up to the "
            "fullest part of the shoulder muscle.", "armpit to acromion", (0.35, 0.75)),
)

BY_NAME = {f.name: f for f in FIELDS}

TYPICAL_MM: dict[str, float] = {
    "wrist": 172, "forearm": 280, "elbow": 268, "upper_arm": 330, "armpit": 350, "deltoid": 400,
    "wrist_to_forearm": 190, "forearm_to_elbow": 60, "elbow_to_upper_arm": 120, "upper_arm_to_armpit": 60,
    "armpit_to_deltoid": 60,
}
"""An arm to start from or to fill an example with; invented, near the middle of the survey."""
