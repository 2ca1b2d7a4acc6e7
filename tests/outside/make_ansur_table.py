"""Make `composer/body/ansur_table.py` and the samples in tests/outside/data from the raw survey.

    python tests/outside/make_ansur_table.py FOLDER

FOLDER holds male.csv and female.csv of ANSUR II (US Army anthropometric survey, 2012, in the
public domain; 4,082 men, 1,986 women; mm, `weightkg` in 0.1 kg, latin-1). Written are means, SDs
and correlations of each sex (sample SD, n - 1), every sixth subject as ansur2_sample.csv, and
nothing else; heights are turned into distances per person before anything is averaged.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
TABLE, SAMPLE = ROOT / "composer/body/ansur_table.py", Path(__file__).parent / "data" / "ansur2_sample.csv"
Row = dict[str, str]


def _one(name: str, factor: float = 1.0) -> Callable[[Row], float]:
    return lambda r: float(r[name]) * factor


def _less(a: str, b: str) -> Callable[[Row], float]:
    return lambda r: float(r[a]) - float(r[b])


MEASURES: dict[str, Callable[[Row], float]] = {
    "stature": _one("stature"), "weight_kg": _one("weightkg", 0.1),
    "wrist": _one("wristcircumference"), "forearm_flexed": _one("forearmcircumferenceflexed"),
    "biceps_flexed": _one("bicepscircumferenceflexed"), "radiale_stylion": _one("radialestylionlength"),
    "elbow_axilla": lambda r: float(r["acromionradialelength"]) - _less("acromialheight", "axillaheight")(r),
    "axilla_acromion": _less("acromialheight", "axillaheight"),
    "ankle": _one("anklecircumference"), "calf": _one("calfcircumference"),
    "lower_thigh": _one("lowerthighcircumference"), "thigh": _one("thighcircumference"),
    "malleolus_knee": _less("kneeheightmidpatella", "lateralmalleolusheight"),
    "knee_crotch": _less("crotchheight", "kneeheightmidpatella"),
    "crotch_trochanter": _less("trochanterionheight", "crotchheight"),
    "chest": _one("chestcircumference"), "chest_breadth": _one("chestbreadth"), "chest_depth": _one("chestdepth"),
    "shoulder_circumference": _one("shouldercircumference"), "biacromial": _one("biacromialbreadth"),
    "bideltoid": _one("bideltoidbreadth"), "interscye": _one("interscyei"), "shoulder_length": _one("shoulderlength"),
    "waist_back": _one("waistbacklength"), "neck_base": _one("neckcircumferencebase"),
    "notch_axilla": _less("suprasternaleheight", "axillaheight"),
    "nape_axilla": _less("cervicaleheight", "axillaheight"), "axilla_rib": _less("axillaheight", "tenthribheight"),
}


def read(path: Path) -> np.ndarray:
    """All subjects of a raw table, (n, measures)."""
    with path.open(encoding="latin-1", newline="") as f:
        return np.array([[take(r) for take in MEASURES.values()] for r in csv.DictReader(f)])


def table(people: dict[str, np.ndarray]) -> str:
    """The module's text."""
    names = list(MEASURES)
    out = ['"""Means, SDs and correlations of ANSUR II (US Army, 2012, public domain), mm and kg, by sex.\n',
           "Written by tests/outside/make_ansur_table.py from the raw tables; don't edit by hand.",
           'Correlations are the lower triangle without the diagonal, row by row.\n"""\n',
           "# ruff: noqa: E501", f"NAMES = {tuple(names)!r}".replace("'", '"')]
    for what, make in (("COUNT", lambda x: str(len(x))),
                       ("MEAN", lambda x: _numbers(x.mean(axis=0), 2)),
                       ("SD", lambda x: _numbers(x.std(axis=0, ddof=1), 3)),
                       ("CORRELATION", lambda x: _numbers(np.corrcoef(x.T)[np.tril_indices(len(names), -1)], 4))):
        rows = "\n".join(f'    "{sex}": {make(x)},' for sex, x in people.items())
        out.append(f"{what} = {{\n{rows}\n}}")
    return "\n".join(out) + "\n"


def _numbers(values: np.ndarray, digits: int) -> str:
    said = [f"{v:.{digits}f}".rstrip("0").rstrip(".") for v in values]
    lines, line = [], "      "
    for s in said:
        if len(line) + len(s) > 116:
            lines.append(line)
            line = "      "
        line += f" {s},"
    return "(\n" + "\n".join([*lines, line]) + "\n    )"


def main(folder: str) -> None:
    people = {sex: read(Path(folder) / f"{sex}.csv") for sex in ("female", "male")}
    TABLE.write_text(table(people), "utf-8")
    with SAMPLE.open("w", newline="") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow(["sex", *MEASURES])
        for sex, x in people.items():
            out.writerows([sex, *(f"{v:g}" for v in row)] for row in x[::6])


if __name__ == "__main__":
    main(sys.argv[1])
