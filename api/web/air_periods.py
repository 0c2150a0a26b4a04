"""What stretch of time charts of a house show, and what its air rests on in it."""

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from api.web.scales import day_begins
from api.web.time_charts import AirStretch, Period, joined
from scheduling.services.house_curves import HourlyAir

HOUR, A_DAY = timedelta(hours=1), timedelta(days=1)
LONGEST = timedelta(weeks=6)
"""What would dry for longer runs out of its chart; its figures stand in the table."""

AIR_WORDS: dict[str, Promise] = {
    "reading": _("read"),
    "logger": _("logged"),
    "record": _("record"),
    "forecast": _("forecast"),
    "assumed": _("assumed"),
}
"""What an hour of air rests on, in a word."""


def period_of(
    air: HourlyAir, moments: Iterable[datetime], *, now: datetime, zone: ZoneInfo
) -> Period:
    """Return whole local days around moments (at least one), no longer than LONGEST and only
    where the air is known or assumed."""
    wanted = sorted(moments)
    end = air.first + len(air.kinds) * HOUR
    first = max(day_begins(_day(wanted[0], zone), zone), air.first)
    last = day_begins(_day(min(wanted[-1], first + LONGEST), zone) + A_DAY, zone)
    return Period(
        first=first,
        last=min(last, end),
        now=now,
        now_words=gettext("now"),
        zone=zone,
        day_words=lambda day: date_format(day, "j M"),
        air=joined(list(_stretches(air, first, min(last, end)))),
    )


def hours_between(air: HourlyAir, first: datetime, last: datetime) -> range:
    """Return the places of the hours of air that begin from ``first`` to before ``last``."""
    begin, end = (-((air.first - instant) // HOUR) for instant in (first, last))
    return range(max(begin, 0), min(end, len(air.kinds)))


def _stretches(air: HourlyAir, first: datetime, last: datetime) -> Iterator[AirStretch]:
    for hour in hours_between(air, first, last):
        begins = (air.first + hour * HOUR).astimezone(UTC)
        kind = air.kinds[hour]
        yield AirStretch(begins, begins + HOUR, kind, str(AIR_WORDS.get(kind, kind)))


def _day(instant: datetime, zone: ZoneInfo) -> date:
    return instant.astimezone(zone).date()
