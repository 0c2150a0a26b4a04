"""The ensemble of a forecast as arrays."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from finishing.models import AirSource, ForecastEnsemble
from finishing.rules.members import Members

HOUR = timedelta(hours=1)


@dataclass(frozen=True)
class Ensemble:
    """The members of a forecast's ensemble from some hour on, and until when they know the air."""

    source: AirSource
    fetched_at: datetime
    until: datetime
    members: Members

    @property
    def count(self) -> int:
        return len(self.members.humidity)


def ensemble_of(
    source: AirSource, *, first_hour: datetime, hours: int, now: datetime
) -> Ensemble | None:
    """Return what the members of a source's ensemble say of the hours after now's; None where
    there is no ensemble or it ends before that.

    The members have so many hours from first_hour (a UTC hour) on. What they say of hours gone by
    is left out, as those are known, or are the same forecast of the past for everybody.
    """
    row = ForecastEnsemble.objects.filter(source=source).first()
    if row is None:
        return None
    until = row.first_hour + len(row.humidity[0]) * HOUR
    begin = max((row.first_hour - first_hour) // HOUR, (now - first_hour) // HOUR + 1, 0)
    end = min((until - first_hour) // HOUR, hours)
    if begin >= end:
        return None
    air = np.full((2, len(row.members), hours), np.nan)
    at = (first_hour - row.first_hour) // HOUR
    known = np.array([row.temperature_c, row.humidity])
    air[:, :, begin:end] = known[:, :, at + begin : at + end]
    return Ensemble(source, row.fetched_at, until, Members(*air))
