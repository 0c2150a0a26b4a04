"""The page that holds forecasts against what came: errors by how far ahead they looked."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from api.web.charts import band_fill, pattern_markup
from api.web.column_charts import Column, Part, column_chart
from api.web.time_charts import Words
from finishing.models import Company
from finishing.rules.forecast_errors import LeadError
from scheduling.services.forecast_record import ForecastRecord, a_year_before, forecast_records
from scheduling.wording import figure


@dataclass(frozen=True)
class RecordPart:
    """A forecast's errors: charts are markup, rows those of the table."""

    name: str
    against: str
    days: int
    charts: Sequence[str]
    rows: Sequence[Sequence[str]]


@dataclass(frozen=True)
class ForecastsPage:
    patterns: str
    parts: Sequence[RecordPart]


def records_of(company: Company, now: datetime) -> list[ForecastRecord]:
    """Return the records of the last year."""
    return forecast_records(company=company, first=a_year_before(now), now=now)


def forecasts_page(company: Company, now: datetime) -> ForecastsPage:
    """Return the page of the last year's forecasts."""
    parts = [_part(number, one) for number, one in enumerate(records_of(company, now))]
    return ForecastsPage(pattern_markup(), parts)


def record_heading() -> list[str]:
    return [
        _("Day ahead"),
        _("Hours"),
        _("Off by, K"),
        _("Too warm by, K"),
        _("Off by, % humidity"),
        _("Too damp by, % humidity"),
    ]


def record_cells(one: LeadError) -> list[float]:
    """Return a row of the table: mean absolute error and mean error of each figure."""
    return [
        one.day,
        one.hours,
        _rounded(one.miss_c, 2),
        _rounded(one.bias_c, 2),
        _rounded(100 * one.miss_humidity, 1),
        _rounded(100 * one.bias_humidity, 1),
    ]


def _rounded(value: float, digits: int) -> float:
    return round(value, digits) or 0.0  # -0.0 is a figure that nobody can read


def _part(number: int, record: ForecastRecord) -> RecordPart:
    own = record.against == record.source
    against = _("what was forecast last for each hour") if own else record.against.name
    return RecordPart(
        name=record.source.name,
        against=against,
        days=record.days,
        charts=_charts(number, record.errors) if record.errors else [],
        rows=[[figure(value) for value in record_cells(one)] for one in record.errors],
    )


def _charts(number: int, errors: Sequence[LeadError]) -> list[str]:
    kelvin = [(str(one.day), one.miss_c) for one in errors]
    percent = [(str(one.day), 100 * one.miss_humidity) for one in errors]
    return [
        _chart(f"kelvin-{number}", _("Temperature off by, K, by days ahead"), kelvin),
        _chart(f"percent-{number}", _("Humidity off by, %, by days ahead"), percent),
    ]


def _chart(name: str, title: str, values: Sequence[tuple[str, float]]) -> str:
    parts = [Part("miss", _("mean absolute error"), band_fill("record"))]
    columns = [Column(label, {"miss": value}, figure(value)) for label, value in values]
    said = _("The table beside it has the figures.")
    return column_chart(Words(name, title, said), columns, parts)
