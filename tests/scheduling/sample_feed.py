"""A feed without a database: the golden file's input.

``python -m tests.scheduling.sample_feed`` writes it to standard output.
"""

import sys
from datetime import UTC, date, datetime
from uuid import UUID

from scheduling.ics import Entry, Feed, feed_bytes

PUBLISHED = datetime(2026, 3, 1, 17, 5, tzinfo=UTC)


def entry(number: int, starts: datetime | date, ends: datetime | date, **fields: object) -> Entry:
    values = {
        "uid": UUID(int=number),
        "sequence": 0,
        "created_at": PUBLISHED,
        "modified_at": PUBLISHED,
        "title": "Mill Cottage: Tape coat · Ground floor",
    }
    return Entry(starts=starts, ends=ends, **(values | fields))  # type: ignore[arg-type]


def sample_feed() -> Feed:
    """Work on both sides of a clock change, a moved and a cancelled visit, a day without work."""
    return Feed(
        name="North crew",
        description="Planned work of North crew, Test Finishing",
        zone="Europe/Dublin",
        entries=(
            entry(
                1,
                datetime(2026, 3, 27, 8, tzinfo=UTC),
                datetime(2026, 3, 27, 12, 30, tzinfo=UTC),
                description="Tape coat · Ground floor\n- Hall, walls: flat joints 12.3 m, wide; \\",
                location="1 Mill Lane, Invented Town",
                position=(53.35, -6.26),
                url="http://127.0.0.1:8000/houses/00000000-0000-7000-8000-000000000000/",
            ),
            entry(2, datetime(2026, 3, 30, 7, tzinfo=UTC), datetime(2026, 3, 30, 9, tzinfo=UTC),
                  sequence=2, modified_at=datetime(2026, 3, 2, 6, tzinfo=UTC)),
            entry(3, datetime(2026, 3, 31, 7, tzinfo=UTC), datetime(2026, 3, 31, 9, tzinfo=UTC),
                  cancelled=True, title="CANCELLED: Hausflur: Spachteln, über Köpfe " + "ü" * 70),
            entry(4, date(2026, 4, 3), date(2026, 4, 4), title="Day off"),
        ),
    )  # fmt: skip


if __name__ == "__main__":
    sys.stdout.buffer.write(feed_bytes(sample_feed()))
