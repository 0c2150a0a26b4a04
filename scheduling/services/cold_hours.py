"""The hours in which houses are too cold for coats, as a plan keeps them.

They are kept with the plan since its air is that of its own coats: a page that shows all houses
could not work it out anew.
"""

from collections.abc import Mapping
from itertools import groupby
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finishing.rules.cold import LEAST_C
from scheduling.services.house_air import HouseAir
from scheduling.services.timeline import Timeline


def cold_hours(airs: Mapping[str, HouseAir], timeline: Timeline) -> dict[str, Any]:
    """Return as JSON the hour that is counted from (ISO, UTC), and by house the runs of hours below
    LEAST_C: the first of each, counted from there, and how many there are."""
    return {
        "from": timeline.origin.isoformat(),
        "houses": {
            house: runs
            for house, air in airs.items()
            if (runs := _runs(air.temperature_c < LEAST_C))
        },
    }


def _runs(cold: NDArray[np.bool_]) -> list[list[int]]:
    """Return the first hour and the length of each run of hours that are cold."""
    runs = []
    for is_cold, hours in groupby(range(len(cold)), key=lambda hour: bool(cold[hour])):
        first, *others = hours
        if is_cold:
            runs.append([first, 1 + len(others)])
    return runs
