"""A builder's, a person's and a company's calendar without a database: the golden files' input.

``python -m tests.scheduling.sample_feeds NAME`` writes one to standard output.
"""

import sys
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from scheduling.ics import Feed, feed_bytes
from tests.scheduling.sample_feed import PUBLISHED, entry, sample_feed

DESCRIPTION = "Tape coat · Ground floor: Hall, Kitchen\n\nDo not touch the coats:\n- Ground floor"


def builder_feed() -> Feed:
    """A visit, the drying after it over the night in which clocks go forward, and a handover."""
    ends, dry = datetime(2026, 3, 7, 21, tzinfo=UTC), datetime(2026, 3, 8, 21, tzinfo=UTC)
    return Feed(
        name="Mill Cottage",
        description="Finishing work at Mill Cottage, Test Finishing",
        zone="America/New_York",
        entries=(
            entry(1, ends - timedelta(hours=4), ends, description=DESCRIPTION, takes_time=False),
            entry(2, ends, dry, takes_time=False,
                  title="Mill Cottage: coats drying, do not touch · Ground floor"),
            entry(3, date(2026, 3, 27), date(2026, 3, 28), title="Mill Cottage: handover",
                  description="Mill Cottage: due Fri 27 Mar\nGiven what the air may do, Mon 30 Mar "
                  "holds in 8 of 10.", sequence=1,
                  modified_at=datetime(2026, 3, 1, 17, 5, 1, tzinfo=UTC)),
        ),
    )  # fmt: skip


def person_feed() -> Feed:
    """With reminders, in a name and a place that try to break out."""
    name = "BEGIN:VEVENT\nÑandú; crew, \\ 4"
    day = datetime(2026, 10, 24, 7, tzinfo=UTC)
    return Feed(
        name=name,
        description=f"Planned work of {name}",
        zone="Europe/Dublin",
        entries=(
            entry(1, day, day + timedelta(hours=4), title=f"{name}: Mill Cottage",
                  location="1 Mill Lane\r\nEND:VEVENT", alarm_before=timedelta(hours=1)),
            entry(2, day + timedelta(days=2), day + timedelta(days=2, hours=4), cancelled=True,
                  alarm_before=timedelta(hours=1), title="CANCELLED: Mill Cottage",
                  sequence=1, modified_at=PUBLISHED + timedelta(days=1)),
        ),
    )  # fmt: skip


def without_clock_changes() -> Feed:
    """In a zone whose clocks stay, half an hour off the full one."""
    return replace(sample_feed(), zone="Asia/Kolkata")


FEEDS: Mapping[str, Callable[[], Feed]] = {
    "builder": builder_feed,
    "person": person_feed,
    "kolkata": without_clock_changes,
}

if __name__ == "__main__":
    sys.stdout.buffer.write(feed_bytes(FEEDS[sys.argv[1]]()))
