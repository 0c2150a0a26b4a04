"""How calendar files spell a time zone: its offsets and the rule by which they change.

Zone data comes from the ``tzdata`` package alone, never from the machine, so that the same feed
has the same bytes everywhere.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from zoneinfo import ZoneInfo

_WEEKDAYS = ("SU", "MO", "TU", "WE", "TH", "FR", "SA")
_DAY = timedelta(days=1)

_NAME = r"(?:<([^>]+)>|([A-Za-z]{3,}))"
_TIME = r"([+-]?\d{1,3}(?::\d{2}){0,2})"
_RULE = rf"M(\d{{1,2}})\.([1-5])\.([0-6])(?:/{_TIME})?"
_FOOTER = re.compile(rf"{_NAME}{_TIME}{_NAME}{_TIME}?,{_RULE},{_RULE}")


@dataclass(frozen=True, slots=True)
class YearlyRule:
    """The ``week``-th weekday of a month (5: the last), 0 Sunday, at a wall clock time."""

    month: int
    week: int
    weekday: int
    at: timedelta

    def onset(self, year: int) -> datetime:
        """Return the wall clock time of a year's change, in the offset before it."""
        if self.week == 5:
            first_of_next = date(year + self.month // 12, self.month % 12 + 1, 1)
            last = first_of_next - _DAY
            day = last - _DAY * ((last.isoweekday() - self.weekday) % 7)
        else:
            first = date(year, self.month, 1)
            day = first + _DAY * ((self.weekday - first.isoweekday()) % 7 + 7 * (self.week - 1))
        return datetime(day.year, day.month, day.day) + self.at  # noqa: DTZ001 - a wall clock

    @property
    def by_day(self) -> str:
        """The BYDAY of a recurrence rule."""
        return f"{-1 if self.week == 5 else self.week}{_WEEKDAYS[self.weekday]}"


@dataclass(frozen=True, slots=True)
class Observance:
    """From ``onset`` (wall clock in ``offset_from``) on, and yearly with ``rule``."""

    name: str
    offset_from: timedelta
    offset_to: timedelta
    onset: datetime
    rule: YearlyRule | None = None

    @property
    def is_daylight(self) -> bool:
        """Whether clocks are ahead. By offset: some zones call their winter time the deviation."""
        return self.offset_to > self.offset_from


@lru_cache(maxsize=64)
def pinned_zone(key: str) -> ZoneInfo:
    """Return a zone from the ``tzdata`` package, whatever the machine has."""
    with _zone_file(key).open("rb") as file:
        return ZoneInfo.from_file(file, key=key)


@lru_cache(maxsize=64)
def observances(key: str, first_year: int, last_year: int) -> tuple[Observance, ...]:
    """Return what a zone observes from one year to another, both included.

    Two yearly rules where the zone's own rule holds in all these years; else, as when a
    government changed it in between, every change by itself.
    """
    changes = tuple(_changes(pinned_zone(key), first_year, last_year))
    yearly = yearly_observances(_footer(key), first_year)
    if not changes:
        return (_unchanging(pinned_zone(key), first_year),)
    if {at for o in yearly for at in _instants(o, first_year, last_year)} == {
        (c.onset - c.offset_from, c.offset_to) for c in changes
    }:
        return yearly
    return (_unchanging(pinned_zone(key), first_year), *changes)


def _zone_file(key: str) -> Traversable:
    return files("tzdata.zoneinfo").joinpath(*key.split("/"))


def _footer(key: str) -> str:
    """Return the POSIX TZ string at the end of a zone file (RFC 9636, 3.3)."""
    return _zone_file(key).read_bytes().rsplit(b"\n", 2)[1].decode("ascii")


def yearly_observances(footer: str, first_year: int) -> tuple[Observance, ...]:
    """Read a footer such as ``EST5EDT,M3.2.0,M11.1.0``; empty if it has no plain yearly rules."""
    match = _FOOTER.fullmatch(footer)
    if not match:
        return ()
    part = match.groups()
    standard = -_time(part[2])
    other = -_time(part[5]) if part[5] else standard + timedelta(hours=1)
    start, end = _rule(*part[6:10]), _rule(*part[10:14])
    if any(not timedelta(0) <= rule.at < _DAY for rule in (start, end)):
        return ()
    both = (
        Observance(part[3] or part[4], standard, other, start.onset(first_year), start),
        Observance(part[0] or part[1], other, standard, end.onset(first_year), end),
    )
    return tuple(sorted(both, key=lambda observance: observance.onset))


def _time(text: str) -> timedelta:
    """Read ``[+-]h[hh][:mm[:ss]]``; in an offset, plus is west of Greenwich."""
    sign = -1 if text.startswith("-") else 1
    hours, minutes, seconds = [*map(int, text.lstrip("+-").split(":")), 0, 0][:3]
    return sign * timedelta(hours=hours, minutes=minutes, seconds=seconds)


def _rule(month: str, week: str, weekday: str, at: str | None) -> YearlyRule:
    return YearlyRule(int(month), int(week), int(weekday), _time(at or "2"))


def _instants(
    observance: Observance, first_year: int, last_year: int
) -> Iterator[tuple[datetime, timedelta]]:
    assert observance.rule
    for year in range(first_year, last_year + 1):
        yield observance.rule.onset(year) - observance.offset_from, observance.offset_to


def _changes(zone: ZoneInfo, first_year: int, last_year: int) -> Iterator[Observance]:
    """Find every change of offset in the zone's data, by day and then by bisection."""
    before = datetime(first_year, 1, 1, tzinfo=UTC)
    while before.year <= last_year:
        after = before + _DAY
        if _offset(zone, before) != _offset(zone, after):
            yield _change_between(zone, before, after)
        before = after


def _change_between(zone: ZoneInfo, before: datetime, after: datetime) -> Observance:
    old = _offset(zone, before)
    while after - before > timedelta(seconds=1):
        middle = before + (after - before) // 2
        before, after = (middle, after) if _offset(zone, middle) == old else (before, middle)
    instant = after.replace(microsecond=0, tzinfo=None)
    return Observance(_name(zone, after), old, _offset(zone, after), instant + old)


def _unchanging(zone: ZoneInfo, first_year: int) -> Observance:
    start = datetime(first_year, 1, 1, tzinfo=UTC)
    offset = _offset(zone, start)
    return Observance(_name(zone, start), offset, offset, start.replace(tzinfo=None))


def _offset(zone: ZoneInfo, instant: datetime) -> timedelta:
    offset = instant.astimezone(zone).utcoffset()
    assert offset is not None
    return offset


def _name(zone: ZoneInfo, instant: datetime) -> str:
    return instant.astimezone(zone).tzname() or ""
