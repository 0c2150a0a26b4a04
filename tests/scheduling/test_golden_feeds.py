"""Golden calendars of every kind, and what a text of any size or content comes to in one."""

import os
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import icalendar
import pytest
from ical.calendar_stream import IcsCalendarStream

from scheduling.ics import feed_bytes
from tests.scheduling.sample_feed import entry
from tests.scheduling.sample_feeds import FEEDS, builder_feed, person_feed
from tests.scheduling.test_ics import ROOT


@pytest.mark.parametrize("hash_seed", ["1", "4242"])
@pytest.mark.parametrize("name", FEEDS)
def test_bytes_are_those_of_the_golden_file_in_any_process(name: str, hash_seed: str) -> None:
    environment = {**os.environ, "PYTHONHASHSEED": hash_seed}
    command = [sys.executable, "-m", "tests.scheduling.sample_feeds", name]
    run = subprocess.run(command, capture_output=True, check=True, cwd=ROOT, env=environment)
    assert run.stdout == (ROOT / "fixtures" / "feeds" / f"{name}.ics").read_bytes()


@pytest.mark.parametrize("name", FEEDS)
def test_two_parsers_read_what_went_in(name: str) -> None:
    feed = FEEDS[name]()
    data = feed_bytes(feed)
    (other,) = IcsCalendarStream.from_ics(data.decode()).calendars
    theirs = {str(event.uid): event for event in other.events}
    ours = {str(e["uid"]): e for e in icalendar.Calendar.from_ical(data).events}
    assert len(theirs) == len(ours) == len(feed.entries)
    for put in feed.entries:
        uid, title = str(put.uid), put.title.replace("\r\n", "\n")
        assert theirs[uid].summary == str(ours[uid]["summary"]) == title
        assert (theirs[uid].dtstart, ours[uid].start) == (put.starts, put.starts)
        assert (theirs[uid].dtend, ours[uid].end) == (put.ends, put.ends)


def test_the_way_over_a_clock_change_is_as_long_as_it_is() -> None:
    """New York, 8 March 2026: 24 hours from Saturday 16:00 end on Sunday at 17:00."""
    (_, drying, _) = icalendar.Calendar.from_ical(feed_bytes(builder_feed())).events
    start, end = drying.start, drying.end
    assert isinstance(start, datetime)
    assert isinstance(end, datetime)
    assert (start.hour, end.hour) == (16, 17)
    assert end.astimezone(UTC) - start.astimezone(UTC) == timedelta(hours=24)


def test_no_reminder_is_in_what_takes_no_time() -> None:
    day = entry(
        9, date(2026, 3, 2), date(2026, 3, 3), title="A day", alarm_before=timedelta(hours=1)
    )
    feed = replace(person_feed(), entries=(*person_feed().entries, day))
    assert feed_bytes(feed).count(b"BEGIN:VALARM") == 1


@pytest.mark.parametrize("text", ["ü" * 2_500_000, "a" * 5_000_000, "\\;,\n" * 1_250_000])
def test_a_text_of_5_mb_is_folded(text: str) -> None:
    """RFC 5545, 3.1: no line is longer than 75 octets, and none cuts a character in two."""
    first, *others = builder_feed().entries
    data = feed_bytes(replace(builder_feed(), entries=(replace(first, description=text), *others)))
    lines = data.split(b"\r\n")
    assert len(data) > 5_000_000
    assert max(map(len, lines)) <= 75
    for line in lines[:: len(lines) // 500]:
        line.decode("utf-8")
    unfolded = data.decode().replace("\r\n ", "")
    escaped = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    assert "DESCRIPTION:" + escaped.replace("\n", "\\n") in unfolded
