"""A subscriber as strict as RFC 5546 (2.1.5) lets it be, as Evolution and ICSx5 have been seen.

It takes over another text of an event that it has only where SEQUENCE is higher, or equal with a
later DTSTAMP; an event that is left out is gone.
"""

from dataclasses import dataclass, field
from datetime import datetime

from ical.calendar_stream import IcsCalendarStream
from ical.event import Event

from tests.clients.python_clients import shown_by_ical
from tests.clients.reading import Reading, Served

type Stamp = tuple[int, datetime]


@dataclass
class ByStamps:
    """What it has of each event, by UID."""

    kept: dict[str, Event] = field(default_factory=dict)

    def read(self, served: Served) -> Reading:
        (calendar,) = IcsCalendarStream.from_ics(served.body.decode()).calendars
        fresh = {event.uid: event for event in calendar.events}
        self.kept = {uid: self._newer(uid, event) for uid, event in fresh.items()}
        return Reading.of(map(shown_by_ical, self.kept.values()))

    def _newer(self, uid: str, event: Event) -> Event:
        old = self.kept.get(uid)
        return event if old is None or _stamp(event) > _stamp(old) else old


def _stamp(event: Event) -> Stamp:
    assert isinstance(event.dtstamp, datetime)
    return event.sequence or 0, event.dtstamp
