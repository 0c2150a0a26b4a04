"""Climates of houses, each worked out once in a run of tests.

Most tests plan the same house in the same steady air, each of them several times; stepping it
through 800 hours was half of the time of a plan.
"""

import pickle

from finishing.rules.house_climate import Climate, climate_of
from finishing.rules.house_inputs import Site

MOST = 300
"""Of some 100 kB each."""

_kept: dict[bytes, Climate] = {}


def kept_climate(site: Site) -> Climate:
    """Stands for ``climate_of`` where services ask for it; nobody may write to what it returns."""
    key = pickle.dumps(site)
    if key not in _kept:
        if len(_kept) == MOST:
            del _kept[next(iter(_kept))]
        _kept[key] = climate_of(site)
        for hourly in (*_kept[key].hourly, _kept[key].progress, _kept[key].dry_hours):
            hourly.flags.writeable = False
    return _kept[key]
