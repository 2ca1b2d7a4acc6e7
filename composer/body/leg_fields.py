"""What is taped on a leg, from the ankle to the hip; the arm is in `composer.body.fields`.

Plausible ranges come from ANSUR II (US Army anthropometric survey, 2012, open data; 4,082 men and
1,986 women), 1st percentile of women to 99th of men or the wider of both sexes, computed from the
raw tables for this project. Girths below the knee, at the knee, at mid thigh and round the hip
are not in it: they hang on calf, lower-thigh and thigh girth by ratios from memory, and so do the
shares by which lengths are split; each field's `source` says so.
"""

from __future__ import annotations

from composer.body.fields import WIDER_GIRTH, WIDER_LENGTH, Field

ANSUR_LEG_MM = {
    "ankle girth": (185.0, 268.0),
    "calf girth": (312.7, 467.0),
    "lower-thigh girth": (329.0, 501.2),
    "thigh girth": (495.0, 774.0),
    "outer ankle bone to kneecap": (331.7, 479.0),
    "kneecap to crotch": (283.0, 415.0),
    "crotch to hip bone": (27.0, 102.2),
}
"""mm. The last three are differences of heights taken per person: kneecap (mid) less lateral
malleolus, crotch less kneecap, trochanter less crotch."""

_SURVEY = "ANSUR II (US Army, 2012), 1st percentile of women to 99th of men"
_MEMORY = "from memory, no published source"

LEG_LEVELS = ("ankle", "fullest calf", "below the knee", "knee", "mid thigh", "upper thigh", "hip")
LEG_GIRTHS = ("ankle", "calf", "below_knee", "knee", "mid_thigh", "upper_thigh", "hip")
LEG_LENGTHS = ("ankle_to_calf", "calf_to_below_knee", "below_knee_to_knee", "knee_to_mid_thigh",
               "mid_thigh_to_upper_thigh", "upper_thigh_to_hip")

LEG_ASPECTS = (0.86, 0.94, 0.98, 0.97, 0.94, 0.96, 1.0)
"""Width : depth of the section at each level, by eye (an ankle is deeper than wide: the heel
tendon stands out at the back). It shapes views only: placing needs the girths alone."""


def _girth(i: int, label: str, where: str, key: str, ratio: tuple[float, float] = (1.0, 1.0),
           standard: str = "") -> Field:
    lo, hi = ANSUR_LEG_MM[key][0] * ratio[0], ANSUR_LEG_MM[key][1] * ratio[1]
    source = f"{key}, {_SURVEY}"
    if ratio != (1.0, 1.0):
        source = f"{ratio[0]:g} to {ratio[1]:g} (ratio {_MEMORY}) of {source}"
    return Field(LEG_GIRTHS[i], label, "girth", LEG_LEVELS[i], where, round(lo * WIDER_GIRTH[0]),
                 round(hi * WIDER_GIRTH[1]), round(lo), round(hi), source, standard)


def _length(i: int, label: str, where: str, key: str, share: tuple[float, float]) -> Field:
    lo, hi = ANSUR_LEG_MM[key][0] * share[0], ANSUR_LEG_MM[key][1] * share[1]
    return Field(LEG_LENGTHS[i], label, "length", LEG_LEVELS[i + 1], where, round(lo * WIDER_LENGTH[0]),
                 round(hi * WIDER_LENGTH[1]), round(lo), round(hi),
                 f"{share[0]:g} to {share[1]:g} (share {_MEMORY}) of {key}, {_SURVEY}", "", LEG_LEVELS[i])


LEG_FIELDS: tuple[Field, ...] = (
    _girth(0, "Ankle", "Round the leg where it is thinnest, just above the ankle bones, weight on both feet.",
           "ankle girth", standard="after ISO 8559-1, minimum leg girth (name from memory)"),
    _girth(1, "Calf", "Round the calf where it is fullest, weight on both feet, muscle relaxed.", "calf girth",
           standard="after ISO 8559-1, calf girth"),
    _girth(2, "Below the knee", "Round the leg just below the kneecap, over the bump of the shin bone.", "calf girth",
           (0.84, 1.02), "near the lower knee girth of ISO 8559-1 (name from memory)"),
    _girth(3, "Knee", "Round the knee over the middle of the kneecap and through the hollow, leg straight.",
           "lower-thigh girth", (0.88, 1.02), "after ISO 8559-1, knee girth"),
    _girth(4, "Mid thigh", "Round the thigh midway from the kneecap to the crotch, muscle relaxed.", "thigh girth",
           (0.78, 0.96), "after ISO 8559-1, mid-thigh girth"),
    _girth(5, "Upper thigh", "Round the top of the thigh just below the buttock fold, tape level and close under the "
           "crotch.", "thigh girth", standard="after ISO 8559-1, thigh girth"),
    _girth(6, "Hip", "Round the very top of the leg, over the hip bone on the outer side, the tape drawn up through "
           "the groin.", "thigh girth", (0.98, 1.20)),
    _length(0, "Ankle to calf", "Along the skin on the outer side, from the ankle tape up to the fullest calf.",
            "outer ankle bone to kneecap", (0.48, 0.68)),
    _length(1, "Calf to below the knee", "Along the skin on the outer side, from the fullest calf up to the tape below "
            "the kneecap.", "outer ankle bone to kneecap", (0.12, 0.26)),
    _length(2, "Below the knee to knee", "Along the skin on the outer side, from the tape below the kneecap up to the "
            "middle of the kneecap.", "outer ankle bone to kneecap", (0.09, 0.18)),
    _length(3, "Knee to mid thigh", "Along the skin on the outer side, from the middle of the kneecap up to mid thigh.",
            "kneecap to crotch", (0.40, 0.60)),
    _length(4, "Mid thigh to upper thigh", "Along the skin on the outer side, from mid thigh up to the level of the "
            "tape under the crotch.", "kneecap to crotch", (0.36, 0.60)),
    _length(5, "Upper thigh to hip", "Along the skin on the outer side, from the level of the tape under the crotch up "
            "to the hip bone, the hard knob that moves when the leg is turned.", "crotch to hip bone", (1.0, 1.3)),
)

LEG_TYPICAL_MM: dict[str, float] = {
    "ankle": 224, "calf": 384, "below_knee": 352, "knee": 384, "mid_thigh": 535, "upper_thigh": 618, "hip": 660,
    "ankle_to_calf": 232, "calf_to_below_knee": 76, "below_knee_to_knee": 54, "knee_to_mid_thigh": 174,
    "mid_thigh_to_upper_thigh": 164, "upper_thigh_to_hip": 70,
}
"""A leg to start from or to fill an example with; invented, near the middle of the survey."""
