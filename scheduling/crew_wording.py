"""A crew's week and its days off in words."""

from collections.abc import Iterable
from datetime import datetime, time
from itertools import groupby
from zoneinfo import ZoneInfo

from django.utils.dates import WEEKDAYS_ABBR
from django.utils.translation import gettext

from scheduling.wording import moment

type Hours = tuple[int, time, time]
"""A weekday (0 Monday) with a start and an end."""


def week_in_words(hours: Iterable[Hours]) -> str:
    """Say a week's hours, days in a row with the same ones together."""
    by_day = {
        weekday: clock_spans((start, end) for _, start, end in spans)
        for weekday, spans in groupby(sorted(hours), key=lambda window: window[0])
    }
    alike: list[tuple[int, int, str]] = []
    for weekday, spans in by_day.items():
        if alike and alike[-1][1:] == (weekday - 1, spans):
            alike[-1] = (alike[-1][0], weekday, spans)
        else:
            alike.append((weekday, weekday, spans))
    return "; ".join(f"{_days(first, last)} {spans}" for first, last, spans in alike)


def clock_spans(spans: Iterable[tuple[time, time]]) -> str:
    """Say times of a day; ``rules.hours`` reads the same."""
    return ", ".join(f"{start:%H:%M}-{end:%H:%M}" for start, end in spans)


def _days(first: int, last: int) -> str:
    names = [str(WEEKDAYS_ABBR[first]), str(WEEKDAYS_ABBR[last])]
    return names[0] if first == last else "-".join(names)


def visit_on_day_off(house: str, starts_at: datetime, zone: ZoneInfo, member: str) -> str:
    """Say that crews have been told of a visit on a day off; member: who is away, "" for all."""
    values = {"house": house, "when": moment(starts_at, zone), "member": member}
    if member:
        return gettext("%(when)s at %(house)s, without %(member)s") % values
    return gettext("%(when)s at %(house)s, when nobody of the crew is there") % values


def visit_on_holiday(
    crew: str, house: str, holiday: str, starts_at: datetime, zone: ZoneInfo
) -> str:
    """Say that a crew has been told of a visit on a holiday."""
    values = {"crew": crew, "house": house, "holiday": holiday, "when": moment(starts_at, zone)}
    return gettext("%(holiday)s: %(crew)s at %(house)s, %(when)s") % values
