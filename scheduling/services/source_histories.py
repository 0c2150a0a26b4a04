"""Histories of the air at a source, drawn from its record around what is forecast."""

from datetime import UTC, datetime, time, timedelta

import numpy as np

from finishing.models import AirSource
from finishing.queries.air import hourly_air, known_span
from finishing.rules.climate import Air
from finishing.rules.histories import (
    Record,
    TooLittleRecordError,
    draw_histories,
    forecast_skill,
)
from scheduling.services.house_air import outdoor_air
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline

_A_DAY, _HOUR = timedelta(days=1), timedelta(hours=1)


class TooLittleAirError(Exception):
    """An air source has too few days on record to draw from; ``days`` says how many."""

    def __init__(self, source: AirSource, days: int) -> None:
        super().__init__(f"{source}: {days} whole days of the season on record")
        self.source, self.days = source, days


def source_histories(
    source: AirSource,
    timeline: Timeline,
    *,
    now: datetime,
    first: datetime,
    until: int,
    count: int,
    seed: int,
) -> Air:
    """Return histories of the air at a source from a UTC midnight on; raise TooLittleAirError.

    What is on record before now is the same in all; after it, the record is a forecast, and past
    its end the air is assumed. Drawn are the whole days before now.
    """
    outdoor = outdoor_air(source, timeline)
    if outdoor is None:
        raise TooLittleAirError(source, 0)
    start = (first - timeline.origin) // _HOUR
    days = -(-(until // TICKS_PER_HOUR - start) // 24)
    span = slice(start, start + days * 24)
    forecast, known = Air(outdoor[0][span], outdoor[1][span]), outdoor[2][span]
    ahead = np.arange(len(known)) > (now - first) // _HOUR
    there, beyond = (
        np.cumsum(hours, dtype=np.float64) for hours in (known & ahead, ~known & ahead)
    )
    skill = forecast_skill(there, beyond)
    try:
        return draw_histories(
            _record(source, now),
            forecast,
            first_day=first.date(),
            skill=skill,
            histories=count,
            seed=seed,
        )
    except TooLittleRecordError as error:
        raise TooLittleAirError(source, error.days) from None


def _record(source: AirSource, now: datetime) -> Record:
    """Return what is on record of the whole UTC days before now."""
    span = known_span(source)
    today = now.astimezone(UTC).date()
    first = min(span[0].date(), today - _A_DAY) if span else today - _A_DAY
    days = (today - first).days
    air = hourly_air(source, first_hour=datetime.combine(first, time.min, UTC), hours=days * 24)
    return Record(first, *(values.reshape(days, 24) for values in air))
