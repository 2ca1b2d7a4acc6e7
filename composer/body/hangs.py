"""How each tape measure hangs on what the survey measured.

A girth is a ratio of a surveyed girth, with a spread of its own. A length lies between two
levels, each of which is a place: a share of a surveyed distance, with a spread of its own; so two
lengths that share a level move against each other. Where the tape goes where the survey's went,
the ratio is 1 and the spread 0; every other ratio and spread is from memory, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.body.normal import Normal


@dataclass(frozen=True)
class Girth:
    """`ratio` times the surveyed girth `on`, give or take `spread` (SD, as a share of it)."""

    on: str
    ratio: float = 1.0
    spread: float = 0.0

    @property
    def from_memory(self) -> bool:
        return (self.ratio, self.spread) != (1.0, 0.0)


@dataclass(frozen=True)
class Place:
    """A level at `share` of the surveyed distance `on` (added to those before it), SD `spread_mm`."""

    share: tuple[tuple[str, float], ...]
    spread_mm: float = 0.0


GIRTHS: dict[str, Girth] = {
    "wrist": Girth("wrist"), "forearm": Girth("forearm_flexed", 0.96, 0.012),
    "elbow": Girth("forearm_flexed", 0.93, 0.025),
    "upper_arm": Girth("biceps_flexed", 0.935, 0.015), "armpit": Girth("biceps_flexed", 1.0, 0.035),
    "deltoid": Girth("biceps_flexed", 1.14, 0.05),
    "ankle": Girth("ankle"), "calf": Girth("calf"), "below_knee": Girth("calf", 0.92, 0.025),
    "knee": Girth("lower_thigh", 0.95, 0.02), "mid_thigh": Girth("thigh", 0.87, 0.03), "upper_thigh": Girth("thigh"),
    "hip": Girth("thigh", 1.07, 0.035),
}
"""A forearm or biceps hanging slack against the survey's flexed one: 0.96 and 0.935."""

PLACES: dict[str, Place] = {
    "wrist": Place(()), "fullest forearm": Place((("radiale_stylion", 0.74),), 9.0),
    "elbow": Place((("radiale_stylion", 1.0),), 3.0),
    "fullest upper arm": Place((("radiale_stylion", 1.0), ("elbow_axilla", 0.62)), 10.0),
    "armpit": Place((("radiale_stylion", 1.0), ("elbow_axilla", 1.0)), 4.0),
    "cap": Place((("radiale_stylion", 1.0), ("elbow_axilla", 1.0), ("axilla_acromion", 0.55)), 8.0),
    "ankle": Place((("malleolus_knee", 0.11),), 6.0), "fullest calf": Place((("malleolus_knee", 0.69),), 10.0),
    "below the knee": Place((("malleolus_knee", 0.87),), 5.0), "knee": Place((("malleolus_knee", 1.0),), 2.0),
    "mid thigh": Place((("malleolus_knee", 1.0), ("knee_crotch", 0.5)), 8.0),
    "upper thigh": Place((("malleolus_knee", 1.0), ("knee_crotch", 0.97)), 6.0),
    "hip": Place((("malleolus_knee", 1.0), ("knee_crotch", 1.0), ("crotch_trochanter", 1.1)), 8.0),
}

_HALF = 0.5      # of a breadth, to either side
_TRUNK = {"chest_girth": Girth("chest", 0.985, 0.015), "lower_girth": Girth("chest", 0.90, 0.05),
          "armpit_to_lower": Girth("axilla_rib", 0.75, 0.12)}
PANELS: dict[str, dict[str, Girth]] = {
    "chest": {
        **_TRUNK, "notch_to_armpit": Girth("notch_axilla", 1.12, 0.05), "fullness": Girth("chest_depth", 0.06, 0.03),
        "midline_to_crease": Girth("interscye", 0.87 * _HALF, 0.025),
        "notch_to_acromion": Girth("biacromial", 1.09 * _HALF, 0.015),
        "acromion_to_crease": Girth("axilla_acromion", 1.38, 0.12)},
    "upper_back": {
        **_TRUNK, "nape_to_armpit": Girth("nape_axilla", 1.08, 0.05),
        "spine_to_crease": Girth("interscye", 0.90 * _HALF, 0.02),
        "nape_to_acromion": Girth("biacromial", 1.07 * _HALF, 0.015),
        "acromion_to_crease": Girth("axilla_acromion", 1.42, 0.12)},
}
"""Chest and upper back: every measure a ratio of a surveyed one, from memory. A name stands for
both sides, which share the spread and differ by SIDE of the surveyed mean besides. The estimates are
one by one, so now and then they make no panel together (`composer.body.yoke` then says so)."""
SIDE = 0.008


def panel_joint(people: Normal, part: str, fields: tuple[str, ...]) -> Normal:
    """The same for a panel: one normal over stature, weight and its measures, mm and kg."""
    index = {n: i for i, n in enumerate(people.names)}
    names, hangs = ("stature", "weight_kg", *fields), PANELS[part]
    take, own = np.zeros((len(names), len(people.names))), np.zeros((len(names), len(hangs) + len(fields)))
    take[0, index["stature"]] = take[1, index["weight_kg"]] = 1.0
    for k, name in enumerate(fields):
        base = name.removesuffix("_left").removesuffix("_right")
        hang = hangs[base]
        mean = people.mean[index[hang.on]]
        take[2 + k, index[hang.on]] = hang.ratio
        own[2 + k, list(hangs).index(base)] = hang.spread * mean
        own[2 + k, len(hangs) + k] = SIDE * mean if base != name else 0.0
    return Normal(names, take @ people.mean, take @ people.cov @ take.T + own @ own.T)


def joint(people: Normal, girths: tuple[str, ...], levels: tuple[str, ...], lengths: tuple[str, ...]) -> Normal:
    """One normal over stature, weight and all tape measures of a limb, mm and kg.

    `girths` and `lengths` are names of fields, `levels` those that the lengths run between, from
    the far end up. Every tape measure is linear in the survey and in spreads of its own, so the
    joint distribution is normal and exact.
    """
    index = {n: i for i, n in enumerate(people.names)}
    names = ("stature", "weight_kg", *girths, *lengths)
    take = np.zeros((len(names), len(people.names)))
    own = np.zeros((len(names), len(girths) + len(levels)))
    for row, name in enumerate(names[:2]):
        take[row, index[name]] = 1.0
    for k, name in enumerate(girths):
        hang = GIRTHS[name]
        take[2 + k, index[hang.on]] = hang.ratio
        own[2 + k, k] = hang.spread * people.mean[index[hang.on]]
    for k in range(len(lengths)):
        row = 2 + len(girths) + k
        for level, sign in ((levels[k], -1.0), (levels[k + 1], 1.0)):
            for on, share in PLACES[level].share:
                take[row, index[on]] += sign * share
            own[row, len(girths) + levels.index(level)] += sign * PLACES[level].spread_mm
    return Normal(names, take @ people.mean, take @ people.cov @ take.T + own @ own.T)
