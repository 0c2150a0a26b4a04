"""VTIMEZONEs against the IANA zone data of the package ``tzdata``, as ``zoneinfo`` reads it.

The VTIMEZONE is evaluated by ``dateutil.tz.tzical``, which knows nothing of zone files.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from dateutil.tz import tzical  # type: ignore[import-untyped]

from scheduling.ics import feed_bytes
from scheduling.timezones import observances, pinned_zone, yearly_observances
from tests.scheduling.sample_feed import entry, sample_feed

HOUR = timedelta(hours=1)
YEARS = (2025, 2027)

DUBLIN_FORMS = ("IST-1GMT0,M10.5.0,M3.5.0/1", "GMT0IST,M3.5.0/1,M10.5.0")
"""The main and the backward-compatible ("rearguard") form of tzdata: winter or summer time is
the deviation from standard time."""


def vtimezone(zone: str) -> str:
    start = datetime(2026, 3, 1, 9, tzinfo=UTC)
    data = feed_bytes(replace(sample_feed(), zone=zone, entries=(entry(1, start, start + HOUR),)))
    text = data.decode().replace("\r\n ", "")
    begin, end = text.index("BEGIN:VTIMEZONE"), text.index("END:VTIMEZONE")
    return f"BEGIN:VCALENDAR\r\n{text[begin:end]}END:VTIMEZONE\r\nEND:VCALENDAR\r\n"


@pytest.mark.parametrize(
    "zone",
    [
        "Europe/Dublin",
        "America/New_York",
        "Australia/Sydney",
        "Australia/Lord_Howe",  # half an hour
        "America/Nuuk",  # changes on the evening before its Sunday
        "Asia/Gaza",  # moves with Ramadan: no yearly rule
        "America/Vancouver",  # gave up winter time in 2026
        "Asia/Tokyo",
        "Etc/GMT+5",
    ],
)
def test_every_hour_of_three_years_has_its_offset(zone: str) -> None:
    read, known = tzical(StringIO(vtimezone(zone))).get(), pinned_zone(zone)
    hour = datetime(2026, 1, 1, 0, 30, tzinfo=UTC)
    while hour.year <= YEARS[1]:
        assert hour.astimezone(read).utcoffset() == hour.astimezone(known).utcoffset(), hour
        hour += HOUR


@pytest.mark.parametrize(
    ("zone", "before", "offsets"),
    [
        # Directive 2000/84/EC: last Sundays of March and October, 01:00 UTC.
        ("Europe/Dublin", datetime(2026, 3, 29, 0, 59, 59, tzinfo=UTC), (0, 1)),
        ("Europe/Dublin", datetime(2026, 10, 25, 0, 59, 59, tzinfo=UTC), (1, 0)),
        # 15 U.S.C. 260a: second Sunday of March, first of November, 02:00 local.
        ("America/New_York", datetime(2026, 3, 8, 6, 59, 59, tzinfo=UTC), (-5, -4)),
        ("America/New_York", datetime(2026, 11, 1, 5, 59, 59, tzinfo=UTC), (-4, -5)),
        # Standard Time Act 1987 (NSW): first Sundays of April and October, 02:00 standard time.
        ("Australia/Sydney", datetime(2026, 4, 4, 15, 59, 59, tzinfo=UTC), (11, 10)),
        ("Australia/Sydney", datetime(2026, 10, 3, 15, 59, 59, tzinfo=UTC), (10, 11)),
    ],
)
def test_clocks_change_at_the_second_of_the_law(
    zone: str, before: datetime, offsets: tuple[int, int]
) -> None:
    read = tzical(StringIO(vtimezone(zone))).get()
    after = before + timedelta(seconds=1)
    seen = tuple(moment.astimezone(read).utcoffset() for moment in (before, after))
    assert seen == tuple(timedelta(hours=hours) for hours in offsets)


@pytest.mark.parametrize("zone", ["Europe/Dublin", "America/New_York", "Australia/Sydney"])
def test_plain_zones_are_two_yearly_rules(zone: str) -> None:
    text = vtimezone(zone)
    assert text.count("RRULE") == 2
    assert text.count("BEGIN:DAYLIGHT") == text.count("BEGIN:STANDARD") == 1


def test_a_zone_without_clock_changes_is_one_standard_time() -> None:
    text = vtimezone("Asia/Tokyo")
    assert text.count("BEGIN:STANDARD") == 1
    assert "DAYLIGHT" not in text
    assert "RRULE" not in text


def test_both_forms_of_the_irish_rule_say_the_same() -> None:
    one, other = (yearly_observances(footer, 2026) for footer in DUBLIN_FORMS)
    assert one == other
    assert [o.name for o in one if o.is_daylight] == ["IST"]
    assert one == observances("Europe/Dublin", 2026, 2027)


def test_zones_come_from_the_package_whatever_the_machine_has() -> None:
    """British Columbia keeps summer time from 2026 on (tzdata 2026); older data does not know."""
    winter = datetime(2027, 1, 15, 12, tzinfo=UTC)
    assert winter.astimezone(pinned_zone("America/Vancouver")).utcoffset() == -7 * HOUR
