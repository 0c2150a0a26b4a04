"""What a company's forecasts said, held against the air that came."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import numpy as np
import numpy.typing as npt

from finishing.models import AirDay, AirSource, Company, ForecastIssue, House
from finishing.queries.air_sources import CompanyAir
from finishing.rules.forecast_errors import LeadError, Pair, errors_by_lead

HOURS = 24
type Hours = npt.NDArray[np.float64]


@dataclass(frozen=True)
class ForecastRecord:
    """A forecast's errors by day of lead. against: what it was held against: the station of its
    houses, or else what it said itself of each hour when that came. days: issues that are kept."""

    source: AirSource
    against: AirSource
    days: int
    errors: Sequence[LeadError]


def a_year_before(now: datetime) -> date:
    """Return the day from which on forecasts are looked at."""
    return (now - timedelta(days=365)).date()


def forecast_records(*, company: Company, first: date, now: datetime) -> list[ForecastRecord]:
    """Return the records of all forecasts kept from a day on, in a fixed number of queries."""
    issues: defaultdict[int, list[ForecastIssue]] = defaultdict(list)
    rows = ForecastIssue.objects.filter(company=company, issued_on__gte=first)
    for row in rows.select_related("source"):
        issues[row.source_id].append(row)
    against = _against(company)
    sources = {pk: against.get(pk, rows[0].source) for pk, rows in issues.items()}
    came = _air_of(sources.values(), first, now)
    return [
        ForecastRecord(
            rows[0].source,
            sources[pk],
            len(rows),
            errors_by_lead(_pair(row, came[sources[pk].pk]) for row in rows),
        )
        for pk, rows in sorted(issues.items())
    ]


def _against(company: Company) -> Mapping[int, AirSource]:
    """Return by forecast the station of a house that it is for."""
    air = CompanyAir(company)
    found: dict[int, AirSource] = {}
    for house in House.objects.filter(company=company).select_related("air_source"):
        of_house = air.of(house)
        if of_house.forecast and of_house.station:
            found.setdefault(of_house.forecast.pk, of_house.station)
    return found


type Day = tuple[list[float | None], list[float | None]]


def _air_of(
    sources: Iterable[AirSource], first: date, now: datetime
) -> defaultdict[int, dict[date, Day]]:
    """Return the stored days of sources up to the hour that has just ended."""
    days: defaultdict[int, dict[date, Day]] = defaultdict(dict)
    rows = AirDay.objects.filter(source__in=list(sources), day__gte=first, day__lte=now.date())
    this_hour = now.astimezone(UTC)
    for row in rows:
        known = this_hour.hour if row.day == this_hour.date() else HOURS
        to_come = [None] * (HOURS - known)
        temperature = [*row.temperature_c[:known], *to_come]
        days[row.source_id][row.day] = (temperature, [*row.humidity[:known], *to_come])
    return days


def _pair(issue: ForecastIssue, came: Mapping[date, Day]) -> Pair:
    hours = [issue.first_hour + timedelta(hours=n) for n in range(len(issue.temperature_c))]

    def of_came(which: int) -> Hours:
        return _array(
            came[at.date()][which][at.hour] if at.date() in came else None
            for at in (hour.astimezone(UTC) for hour in hours)
        )

    return Pair(_array(issue.temperature_c), of_came(0), _array(issue.humidity), of_came(1))


def _array(values: Iterable[float | None]) -> Hours:
    return np.array([np.nan if value is None else value for value in values], dtype=float)
