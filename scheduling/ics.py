"""Plain entries -> the bytes of a calendar file (RFC 5545, RFC 7986).

Pure: the same feed gives the same bytes, in any process, on any machine, at any time.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from icalendar import (
    Alarm,
    Calendar,
    Event,
    Timezone,
    TimezoneDaylight,
    TimezoneStandard,
    vDuration,
    vText,
)

from scheduling.timezones import Observance, observances, pinned_zone

REFRESH_EVERY = timedelta(hours=1)
PRODID = "-//Coatweave//Crew weeks//EN"


@dataclass(frozen=True, slots=True)
class Entry:
    """One event. ``starts`` and ``ends``: both instants, or both days with an exclusive end.

    modified_at: the publication that last changed what the entry says; strictly rising.
    position: latitude and longitude in degrees. takes_time: whether whoever has the entry is busy
    then; a day never is. alarm_before: how long before the start a reminder comes, None for none.
    """

    uid: UUID
    sequence: int
    created_at: datetime
    modified_at: datetime
    starts: datetime | date
    ends: datetime | date
    title: str
    description: str = ""
    location: str = ""
    position: tuple[float, float] | None = None
    url: str = ""
    cancelled: bool = False
    takes_time: bool = True
    alarm_before: timedelta | None = None


@dataclass(frozen=True, slots=True)
class Feed:
    """A calendar. zone: the IANA zone in which its timed entries are written."""

    name: str
    description: str
    zone: str
    entries: tuple[Entry, ...]
    prodid: str = PRODID


def feed_bytes(feed: Feed) -> bytes:
    """Return a feed as a calendar file.

    It has no METHOD (PUBLISH asks for an ORGANIZER), no SOURCE (it would hold the secret
    address) and no UID of its own (some clients then take the whole file for one item).
    """
    calendar = _calendar(feed.prodid)
    for name in ("name", "x-wr-calname"):
        calendar.add(name, vText(feed.name))  # a bare str would go out unescaped
    calendar.add("x-wr-caldesc", vText(feed.description))
    calendar.add("refresh-interval", vDuration(REFRESH_EVERY, params={"VALUE": "DURATION"}))
    calendar.add("x-published-ttl", vDuration(REFRESH_EVERY))
    _add_entries(calendar, feed.entries, feed.zone)
    data: bytes = calendar.to_ical()
    return data


def entry_bytes(entry: Entry, zone: str, *, prodid: str = PRODID) -> bytes:
    """Return a file of one entry, for a message or for a collection on a server.

    It has neither a name, which some programs would make a new calendar of, nor a METHOD, which
    RFC 4791 (4.1) forbids in a collection. Its event is that of the feed, byte for byte.
    """
    calendar = _calendar(prodid)
    _add_entries(calendar, (entry,), zone)
    data: bytes = calendar.to_ical()
    return data


def _calendar(prodid: str) -> Calendar:
    calendar = Calendar()
    calendar.add("prodid", prodid)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    return calendar


def _add_entries(calendar: Calendar, entries: Sequence[Entry], zone: str) -> None:
    if any(isinstance(entry.starts, datetime) for entry in entries) and zone != "UTC":
        calendar.add_component(_timezone(entries, zone))
    for entry in sorted(entries, key=lambda e: (_instant(e.starts), e.uid)):
        calendar.add_component(_event(entry, pinned_zone(zone)))


def _event(entry: Entry, zone: ZoneInfo) -> Event:
    event = Event()
    event.add("uid", str(entry.uid))
    event.add("sequence", entry.sequence)
    event.add("dtstamp", entry.modified_at.astimezone(UTC))
    event.add("created", entry.created_at.astimezone(UTC))
    event.add("last-modified", entry.modified_at.astimezone(UTC))
    starts, ends = _moments(entry, zone)
    event.add("dtstart", starts)
    event.add("dtend", ends)
    event.add("summary", entry.title)
    event.add("status", "CANCELLED" if entry.cancelled else "CONFIRMED")
    takes_time = entry.takes_time and isinstance(entry.starts, datetime) and not entry.cancelled
    event.add("transp", "OPAQUE" if takes_time else "TRANSPARENT")
    event.add("class", "PRIVATE")
    for name in ("description", "location", "url"):
        if text := getattr(entry, name):
            event.add(name, text)
    if entry.position:
        event.add("geo", entry.position)
    if takes_time and entry.alarm_before is not None:
        event.add_component(_alarm(entry.title, entry.alarm_before))
    return event


def _alarm(title: str, before: timedelta) -> Alarm:
    """Return a reminder (RFC 5545, 3.6.6)."""
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", title)
    alarm.add("trigger", -before)
    return alarm


def _moments(entry: Entry, zone: ZoneInfo) -> Iterator[datetime | date]:
    """Yield start and end in local time; both in UTC if either is in an hour that comes twice.

    RFC 5545 (3.3.5) means the first of the two, and libical and node-ical take the second. Both,
    since some programs lose an hour between a start on one clock and an end on another.
    """
    moments = (entry.starts, entry.ends)
    both = [m.astimezone(zone) if isinstance(m, datetime) else m for m in moments]
    is_doubtful = any(isinstance(m, datetime) and _comes_twice(m) for m in both)
    for moment in both:
        yield moment.astimezone(UTC) if is_doubtful and isinstance(moment, datetime) else moment


def _comes_twice(local: datetime) -> bool:
    """Return whether the clock shows a time twice; one that it leaves out comes of no instant."""
    return local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()


def _timezone(entries: Sequence[Entry], zone: str) -> Timezone:
    years = [_instant(moment).year for e in entries for moment in (e.starts, e.ends)]
    component = Timezone()
    component.add("tzid", zone)
    for observance in observances(zone, min(years) - 1, max(years) + 1):
        component.add_component(_observance(observance))
    return component


def _observance(observance: Observance) -> TimezoneStandard | TimezoneDaylight:
    part = TimezoneDaylight() if observance.is_daylight else TimezoneStandard()
    part.add("tzname", observance.name)
    part.add("tzoffsetfrom", observance.offset_from)
    part.add("tzoffsetto", observance.offset_to)
    part.add("dtstart", observance.onset)
    if rule := observance.rule:
        part.add("rrule", {"freq": "YEARLY", "bymonth": rule.month, "byday": rule.by_day})
    return part


def _instant(moment: datetime | date) -> datetime:
    if isinstance(moment, datetime):
        return moment.astimezone(UTC)
    return datetime(moment.year, moment.month, moment.day, tzinfo=UTC)
