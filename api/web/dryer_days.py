"""Dryers that stand in a house: how many when, as bars, and dryer-days by the day."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from django.utils.translation import gettext as _

from api.web.figure_charts import Bar, bar_chart
from api.web.time_charts import Period, Words
from scheduling.services.standing_dryers import DryerStay
from scheduling.wording import figure, moment

A_DAY = timedelta(days=1)


def dryer_heading(stays: Sequence[DryerStay], period: Period) -> str:
    """Say how many dryer-days there are in a period."""
    total = figure(dryer_days(stays, period.first, period.last))
    return _("Dryers standing: %(days)s dryer-days") % {"days": total}


def dryer_chart(stays: Sequence[DryerStay], period: Period) -> str:
    """Return the chart of the dryers that stand in a house, as markup."""
    said = " ".join(_said(stay, period) for stay in stays)
    words = Words("house-dryers", dryer_heading(stays, period), said)
    return bar_chart(words, period, standing_bars(stays, period))


def standing_bars(stays: Sequence[DryerStay], period: Period) -> list[Bar]:
    """Return how many dryers stand from one change to the next, where any do."""
    ends = [_within(stay, period.first, period.last) for stay in stays]
    changes = sorted({period.first, period.last, *(at for pair in ends for at in pair)})
    bars = []
    for first, last in pairwise(changes):
        count = sum(
            stay.count
            for stay, (begins, over) in zip(stays, ends, strict=True)
            if begins <= first and last <= over
        )
        if count:
            bars.append((first, last, float(count)))
    return bars


def dryer_days(stays: Sequence[DryerStay], first: datetime, last: datetime) -> float:
    """Return how many dryers stand for how many days of 24 hours in a stretch of time."""
    return sum(
        stay.count * max(over - begins, timedelta()) / A_DAY
        for stay in stays
        for begins, over in [_within(stay, first, last)]
    )


def _within(stay: DryerStay, first: datetime, last: datetime) -> tuple[datetime, datetime]:
    begins, over = max(stay.set_at or first, first), min(stay.collect_at or last, last)
    return min(begins, last), max(over, first)


def _said(stay: DryerStay, period: Period) -> str:
    values = {
        "count": stay.count,
        "name": stay.name,
        "first": moment(stay.set_at or period.first, period.zone),
        "last": moment(stay.collect_at or period.last, period.zone),
    }
    return _("%(count)s %(name)s: %(first)s to %(last)s.") % values
