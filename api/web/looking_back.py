"""The page that looks back: days lost and coats found wet, as charts and tables."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import isinf

from django.http import Http404
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from api.row_ids import own_rows
from api.web.charts import band_fill, pattern_markup
from api.web.column_charts import Column, Part, column_chart
from api.web.time_charts import Words
from finishing.models import Company, House
from finishing.rules.lost_days import Cause
from finishing.rules.predicted_waits import MarginClass
from scheduling.services.looking_back import (
    HouseMonth,
    LookedBack,
    first_of_months,
    look_back,
)
from scheduling.wording import figure

SPANS = (3, 6, 12)
USUAL_SPAN = 6
CREW_DAY_MINUTES = 480
"""Ways are told in days of eight hours beside days lost."""
TRAVEL = "travel"


@dataclass(frozen=True)
class Asked:
    """What is looked at: so many months, of one house or of all there are to choose from."""

    months: int
    house: House | None
    houses: Sequence[House]

    @property
    def query(self) -> str:
        """The same as a query of an address."""
        house = f"&house={self.house.public_id}" if self.house else ""
        return f"?months={self.months}{house}"


@dataclass(frozen=True)
class LookingBackPage:
    """Charts are markup. lost: the rows of the table of days, waits: of looks at coats."""

    asked: Asked
    spans: Sequence[int]
    patterns: str
    lost_chart: str
    lost: Sequence[Sequence[str]]
    waits_chart: str
    waits: Sequence[Sequence[str]]


def asked_for(company: Company, query: Mapping[str, str]) -> Asked:
    """Return what a query asks for. Http404 for a house that the company has not: the figures of
    all houses would be taken for those of the one that was meant."""
    houses = list(own_rows(company, House).order_by("name", "pk"))
    months = next((n for n in SPANS if str(n) == query.get("months")), USUAL_SPAN)
    named = query.get("house")
    house = next((h for h in houses if str(h.public_id) == named), None)
    if named and house is None:
        raise Http404("There is no such house.")
    return Asked(months, house, houses)


def looked_back(company: Company, asked: Asked, now: datetime) -> LookedBack:
    """Return the figures of the months that are asked for, this one the last."""
    first = first_of_months(company, asked.months, now)
    return look_back(company=company, first=first, now=now, house=asked.house)


def looking_back_page(company: Company, asked: Asked, now: datetime) -> LookingBackPage:
    """Return the page of what is asked for."""
    found = looked_back(company, asked, now)
    looks = sum(one.looks for one in found.waits)
    return LookingBackPage(
        asked,
        SPANS,
        pattern_markup(),
        _lost_chart(found.months) if any(map(_has_lost, found.months)) else "",
        [_lost_row(row) for row in found.months],
        _waits_chart(found.waits) if looks else "",
        [_wait_row(one) for one in found.waits] if looks else [],
    )


def lost_heading() -> list[str]:
    return [
        _("House"),
        _("Month"),
        _("Days worked"),
        _("Lost to others"),
        _("Lost to drying"),
        _("Crew elsewhere"),
        _("Travel, hours"),
        _("Coats looked at"),
        _("Found not dry"),
    ]


def lost_cells(row: HouseMonth) -> list[str | float]:
    """Return a row of the table as a file has it."""
    return [
        row.house.name,
        f"{row.month:%Y-%m}",
        row.worked,
        *(row.lost[cause] for cause in Cause),
        round(row.travel_minutes / 60, 2),
        row.looks,
        row.wet,
    ]


def waits_heading() -> list[str]:
    return [
        _("After the predicted hour"),
        _("Coats looked at"),
        _("Found not dry"),
        _("Share not dry, %"),
    ]


def wait_cells(one: MarginClass) -> list[str | float]:
    share = "" if one.wet_share is None else round(100 * one.wet_share, 1)
    return [_margin(one), one.looks, one.wet, share]


def _has_lost(row: HouseMonth) -> bool:
    """Return whether there is anything of it to draw."""
    return row.travel_minutes > 0 or any(row.lost[cause] for cause in Cause)


def _lost_row(row: HouseMonth) -> list[str]:
    named = [row.house.name, date_format(row.month, "M Y")]
    return [*named, *(figure(float(value)) for value in lost_cells(row)[2:])]


def _wait_row(one: MarginClass) -> list[str]:
    share = "" if one.wet_share is None else figure(100 * one.wet_share)
    return [_margin(one), figure(one.looks), figure(one.wet), share]


def _margin(one: MarginClass) -> str:
    if isinf(one.low):
        return _("before it")
    if isinf(one.high):
        return _("over %(low)s h") % {"low": figure(one.low)}
    return _("%(low)s to %(high)s h") % {"low": figure(one.low), "high": figure(one.high)}


def _lost_chart(months: Sequence[HouseMonth]) -> str:
    """Return the days of all houses by month."""
    parts = [
        Part(Cause.DRYING, _("drying"), band_fill("record")),
        Part(Cause.OTHERS, _("waiting for others"), band_fill("reading")),
        Part(TRAVEL, _("travel, in crew-days of 8 hours"), band_fill("logger")),
        Part(Cause.ELSEWHERE, _("crew elsewhere"), "#fff"),
    ]
    by_month: dict[date, dict[str, float]] = {}
    for row in months:
        heights = by_month.setdefault(row.month, dict.fromkeys([*Cause, TRAVEL], 0.0))
        for cause in Cause:
            heights[cause] += row.lost[cause]
        heights[TRAVEL] += row.travel_minutes / CREW_DAY_MINUTES
    columns = [
        Column(date_format(month, "M"), heights, figure(sum(heights.values())))
        for month, heights in sorted(by_month.items())
    ]
    said = _("Days lost by month and cause; the table has them by house.")
    return column_chart(Words("lost", _("Days lost"), said), columns, parts)


def _waits_chart(waits: Sequence[MarginClass]) -> str:
    parts = [
        Part("dry", _("found dry, or gone over"), "#fff"),
        Part("wet", _("found not dry"), band_fill("reading")),
    ]
    columns = [
        Column(_margin(one), {"dry": one.looks - one.wet, "wet": one.wet}, figure(one.looks))
        for one in waits
    ]
    said = _("Coats by how long after the predicted hour somebody came; figures in the table.")
    words = Words("waits", _("Predicted waits and what was found"), said)
    return column_chart(words, columns, parts)
