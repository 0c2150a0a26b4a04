"""Feeds as tests read them."""

from datetime import date
from typing import Any

import icalendar

from finishing.models import Crew
from scheduling.models import FeedLink
from scheduling.services.feeds import feed_body
from scheduling.services.links import blank_link


def crew_feed(*, crew: Crew, today: date) -> bytes:
    """A crew's feed with what is usual for it."""
    return feed_body(link=blank_link(company=crew.company, crew=crew), today=today)


def events_of(link: FeedLink, today: date) -> list[Any]:
    """The events of a feed, by start."""
    return list(icalendar.Calendar.from_ical(feed_body(link=link, today=today)).events)
