"""Calendar bytes, read back by two libraries that know nothing of each other."""

import os
import re
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest
from ical.calendar_stream import IcsCalendarStream

from scheduling.ics import feed_bytes
from tests.scheduling.sample_feed import PUBLISHED, entry, sample_feed

ROOT = Path(__file__).resolve().parents[2]
GOLDEN = ROOT / "fixtures" / "feeds" / "crew_week.ics"
DUBLIN = ZoneInfo("Europe/Dublin")


def parsed(data: bytes) -> icalendar.Calendar:
    calendar = icalendar.Calendar.from_ical(data)
    assert isinstance(calendar, icalendar.Calendar)
    return calendar


def events(data: bytes) -> list[Any]:
    return list(parsed(data).events)


@pytest.mark.parametrize("hash_seed", ["1", "4242"])
def test_bytes_are_those_of_the_golden_file_in_any_process(hash_seed: str) -> None:
    environment = {**os.environ, "PYTHONHASHSEED": hash_seed}
    command = [sys.executable, "-m", "tests.scheduling.sample_feed"]
    run = subprocess.run(command, capture_output=True, check=True, cwd=ROOT, env=environment)
    assert run.stdout == GOLDEN.read_bytes()


def test_an_independent_parser_reads_the_same_events() -> None:
    """The library ``ical`` (a parser of its own on pydantic) against what went in."""
    (calendar,) = IcsCalendarStream.from_ics(feed_bytes(sample_feed()).decode()).calendars
    read = {str(event.uid): event for event in calendar.events}
    for put in sample_feed().entries:
        event = read[str(put.uid)]
        assert event.summary == put.title
        assert (event.description or "") == put.description
        assert (event.location or "") == put.location
        assert event.sequence == put.sequence
        assert event.dtstart == put.starts
        assert event.dtend == put.ends
        assert str(event.status).endswith("CANCELLED" if put.cancelled else "CONFIRMED")


def test_the_library_icalendar_reads_local_times_on_both_sides_of_a_clock_change() -> None:
    friday, monday, *_ = events(feed_bytes(sample_feed()))
    assert friday.start == datetime(2026, 3, 27, 8, tzinfo=DUBLIN)
    assert monday.start == datetime(2026, 3, 30, 8, tzinfo=DUBLIN)
    assert str(monday["dtstart"].params["TZID"]) == "Europe/Dublin"


def test_every_event_has_its_identity_and_stamps() -> None:
    for event, put in zip(events(feed_bytes(sample_feed())), sample_feed().entries, strict=True):
        assert str(event["uid"]) == str(put.uid)
        assert event["sequence"] == put.sequence
        assert event["dtstamp"].dt == event["last-modified"].dt == put.modified_at
        assert event["created"].dt == PUBLISHED
        assert str(event["class"]) == "PRIVATE"


def test_what_a_crew_feed_leaves_out() -> None:
    """RFC 5545 3.8.4.3 asks a METHOD:PUBLISH for organizers; SOURCE would tell the address."""
    calendar = parsed(feed_bytes(sample_feed()))
    assert not {"UID", "METHOD", "SOURCE"} & set(calendar)
    assert calendar["version"] == "2.0"
    assert str(calendar["prodid"]).startswith("-//Coatweave//")


def test_refresh_is_a_duration_that_says_so() -> None:
    """RFC 7986 5.7: VALUE=DURATION is required."""
    lines = feed_bytes(sample_feed()).split(b"\r\n")
    assert b"REFRESH-INTERVAL;VALUE=DURATION:PT1H" in lines
    assert b"X-PUBLISHED-TTL:PT1H" in lines


def test_a_cancelled_visit_takes_no_time() -> None:
    cancelled = events(feed_bytes(sample_feed()))[2]
    assert str(cancelled["status"]) == "CANCELLED"
    assert str(cancelled["transp"]) == "TRANSPARENT"


def test_a_day_is_a_date_with_an_exclusive_end() -> None:
    day = events(feed_bytes(sample_feed()))[3]
    assert (day.start, day.end) == (date(2026, 4, 3), date(2026, 4, 4))
    assert b"DTSTART;VALUE=DATE:20260403" in feed_bytes(sample_feed())


def test_lines_end_in_crlf_and_none_is_longer_than_75_octets() -> None:
    """RFC 5545 3.1. Folding never cuts a character in two."""
    data = feed_bytes(sample_feed())
    lines = data.split(b"\r\n")
    assert data.endswith(b"END:VCALENDAR\r\n")
    assert max(map(len, lines)) <= 75
    assert all(b"\n" not in line and line.decode("utf-8") is not None for line in lines)


@pytest.mark.parametrize(
    "name", ["BEGIN:VEVENT", "a\r\nEND:VCALENDAR\r\n", "x\nBEGIN:VEVENT\n,;\\"]
)
def test_a_name_cannot_break_out_of_its_line(name: str) -> None:
    """RFC 5545 3.3.11: backslash, semicolon, comma and line break are escaped in TEXT."""
    feed = replace(sample_feed(), name=name, description=name)
    data = feed_bytes(feed)
    escaped = re.sub(r"([\\;,])", r"\\\1", name.replace("\r\n", "\n")).replace("\n", "\\n")
    for key in ("NAME", "X-WR-CALNAME", "X-WR-CALDESC"):
        assert f"{key}:{escaped}" in data.decode().split("\r\n")
    assert len(parsed(data).events) == len(feed.entries)
    (other,) = IcsCalendarStream.from_ics(data.decode()).calendars
    assert len(other.events) == len(feed.entries)


def test_an_hour_that_comes_twice_is_told_in_utc() -> None:
    """Dublin, 25 October 2026: 01:30 comes at 00:30 UTC and again at 01:30 UTC. In local time
    libical 3.0.16 and node-ical 0.26 take it for the second."""
    starts = [datetime(2026, 10, 25, hour, 30, tzinfo=UTC) for hour in (0, 1, 2)]
    hour = timedelta(hours=1)
    feed = replace(sample_feed(), entries=tuple(entry(s.hour, s, s + hour) for s in starts))
    lines = feed_bytes(feed).decode().split("\r\n")
    assert [line for line in lines if line.startswith(("DTSTART:20261025", "DTSTART;"))] == [
        "DTSTART:20261025T003000Z",
        "DTSTART:20261025T013000Z",
        "DTSTART;TZID=Europe/Dublin:20261025T023000",
    ]


@pytest.mark.parametrize("hours", [1, 3])
def test_start_and_end_are_told_by_the_same_clock(hours: int) -> None:
    """recurring-ical-events 3.8 takes the length off the clock, an hour too much from 01:30 in
    Dublin to 01:15 UTC."""
    end = datetime(2026, 10, 25, 1, 15, tzinfo=UTC)
    start = end - timedelta(hours=hours)
    feed = replace(sample_feed(), entries=(entry(1, start, end),))
    lines = feed_bytes(feed).decode().split("\r\n")
    assert f"DTSTART:{start:%Y%m%dT%H%M%SZ}" in lines
    assert "DTEND:20261025T011500Z" in lines


def test_order_of_entries_does_not_matter() -> None:
    feed = sample_feed()
    assert feed_bytes(replace(feed, entries=feed.entries[::-1])) == feed_bytes(feed)


def test_a_feed_in_utc_needs_no_time_zone() -> None:
    data = feed_bytes(replace(sample_feed(), zone="UTC"))
    assert b"VTIMEZONE" not in data
    assert b"TZID" not in data
    assert b"DTSTART:20260327T080000Z" in data
