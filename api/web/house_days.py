"""A house's temperature, humidity and water by the hour as charts, and by the day in figures."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from api.web.air_periods import AIR_WORDS, HOUR, hours_between
from api.web.dryer_days import dryer_chart, dryer_days, dryer_heading
from api.web.figure_charts import Level, series_chart
from api.web.scales import local_midnights
from api.web.time_charts import Moments, Period, Words
from finishing.rules.cold import LEAST_C
from scheduling.services.air_layers import Hours
from scheduling.services.house_curves import HourlyAir
from scheduling.services.standing_dryers import DryerStay
from scheduling.wording import day, figure

NEAR_K = 5.0
"""The line at LEAST_C is drawn where the house comes so near to it."""


@dataclass(frozen=True)
class FigureChart:
    """A chart as markup with its heading."""

    heading: str
    chart: str


@dataclass(frozen=True)
class DayFigures:
    """A local day: the least and the most of each figure, the water left in coats at its end,
    dryer-days ("" in a house without dryers), what the air rests on."""

    day: str
    temperature_c: str
    humidity_percent: str
    in_coats_kg: str
    dryer_days: str
    air: str


def figure_charts(
    air: HourlyAir, period: Period, dryers: Sequence[DryerStay] = ()
) -> list[FigureChart]:
    """Return the charts of a house's air, of its water and of its dryers where there are any."""
    charts = [_temperature(air, period), _humidity(air, period)]
    water = water_moments(air, period)
    if max((kg for _, kg in water), default=0.0) > 0:
        heading = _("Water left in the coats (kg)")
        charts.append(_chart("water", heading, water, period, "", ends=(0.0, 1.0)))
    if dryers:
        charts.append(FigureChart(dryer_heading(dryers, period), dryer_chart(dryers, period)))
    return charts


def day_figures(
    air: HourlyAir, period: Period, dryers: Sequence[DryerStay] = ()
) -> list[DayFigures]:
    """Return the figures of each whole local day of a period, as the charts draw them."""
    midnights = list(local_midnights(period.first, period.last, period.zone))
    return [_day(air, dryers, first, last, period.zone) for first, last in pairwise(midnights)]


def hour_moments(air: HourlyAir, values: Hours, period: Period) -> Moments:
    """Return what holds for each hour, at its middle."""
    hours = hours_between(air, period.first, period.last)
    return [(air.first + (hour + 0.5) * HOUR, float(values[hour])) for hour in hours]


def water_moments(air: HourlyAir, period: Period) -> Moments:
    """Return the water left in the coats, at the end of each hour."""
    hours = hours_between(air, period.first, period.last)
    return [(air.first + (hour + 1) * HOUR, float(air.in_coats_kg[hour])) for hour in hours]


def _temperature(air: HourlyAir, period: Period) -> FigureChart:
    moments = hour_moments(air, air.temperature_c, period)
    values = [value for _, value in moments]
    near = min(values) < LEAST_C + NEAR_K
    least = Level(LEAST_C, _("10 °C: no coat below")) if near else None
    ends = min(values) - 1, max(values) + 1
    heading = _("Temperature inside (°C)")
    return _chart("temperature", heading, moments, period, " °C", ends=ends, least=least)


def _humidity(air: HourlyAir, period: Period) -> FigureChart:
    moments = hour_moments(air, 100 * air.humidity, period)
    return _chart("humidity", _("Humidity inside (%)"), moments, period, "%", ends=(0.0, 100.0))


def _chart(
    name: str,
    heading: str,
    moments: Moments,
    period: Period,
    unit: str,
    *,
    ends: tuple[float, float] | None = None,
    least: Level | None = None,
) -> FigureChart:
    values = [value for _, value in moments]
    description = _("From %(low)s to %(high)s; by the day in the table of figures.") % {
        "low": figure(min(values)),
        "high": figure(max(values)),
    }
    words = Words(f"house-{name}", heading, description)
    return FigureChart(
        heading, series_chart(words, period, moments, unit=unit, ends=ends, least=least)
    )


def _day(
    air: HourlyAir, dryers: Sequence[DryerStay], first: datetime, last: datetime, zone: ZoneInfo
) -> DayFigures:
    hours = hours_between(air, first, last)
    named = day(first.astimezone(zone).date())
    of_day = slice(hours.start, hours.stop)
    if len(hours) != 24:
        named = _("%(day)s (%(n)s hours)") % {"day": named, "n": len(hours)}
    return DayFigures(
        day=named,
        temperature_c=_range(air.temperature_c[of_day]),
        humidity_percent=_range(100 * air.humidity[of_day]),
        in_coats_kg=figure(float(air.in_coats_kg[hours.stop - 1])),
        dryer_days=figure(dryer_days(dryers, first, last)) if dryers else "",
        air=", ".join(_air(air.kinds[of_day])),
    )


def _range(values: Hours) -> str:
    low, high = figure(float(values.min())), figure(float(values.max()))
    return low if low == high else _("%(low)s to %(high)s") % {"low": low, "high": high}


def _air(kinds: Sequence[str]) -> Iterator[str]:
    return (str(AIR_WORDS.get(kind, kind)) for kind in dict.fromkeys(kinds))
