"""ANSUR II as a normal per sex: the population that missing measures are estimated from.

US Army anthropometric survey, 2012, in the public domain: 4,082 men and 1,986 women, all adult
and fit to serve, measured by one team to fixed definitions. Limits: no children, few people over
50, weight held within service limits, so very thin, very heavy and very muscular bodies lie
outside what it knows. The numbers are in `composer.body.ansur_table` (mm, kg), made from the raw
tables by tests/outside/make_ansur_table.py.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from composer.body import ansur_table
from composer.body.normal import Normal

SEXES = ("female", "male")
NAMES = ansur_table.NAMES


@lru_cache(maxsize=2)
def population(sex: str) -> Normal:
    """All surveyed measures of one sex, mm (weight in kg). Raises KeyError for any other word."""
    n = len(NAMES)
    r = np.eye(n)
    r[np.tril_indices(n, -1)] = ansur_table.CORRELATION[sex]
    r = r + np.tril(r, -1).T
    sd = np.array(ansur_table.SD[sex])
    return Normal(NAMES, np.array(ansur_table.MEAN[sex]), r * np.outer(sd, sd))
