"""Calendar libraries of PyPI: ical (Home Assistant reads with it), vobject, recurring-ical-events.

They are imported where they are used: but for ical they are in a dependency group of their own.
"""

from datetime import date
from typing import Any

import icalendar
from ical.calendar_stream import IcsCalendarStream
from ical.event import Event

from tests.clients.reading import Reading, Served, Shown

YEARS = (date(2000, 1, 1), date(2100, 1, 1))
"""Within which days events are asked for, where a library wants to know."""


class IcalLibrary:
    def read(self, served: Served) -> Reading:
        (calendar,) = IcsCalendarStream.from_ics(served.body.decode()).calendars
        return Reading.of(map(shown_by_ical, calendar.events))


def shown_by_ical(event: Event) -> Shown:
    title, status = event.summary or "", event.status
    return Shown.of(event.uid, event.start, event.end, title, status=status)


class Vobject:
    """Works zones out from the VTIMEZONE of the file alone."""

    def read(self, served: Served) -> Reading:
        import vobject

        calendar = vobject.readOne(served.body.decode())
        return Reading.of(map(self._shown, calendar.vevent_list), calendar.x_wr_calname.value)

    def _shown(self, event: Any) -> Shown:
        starts, ends = event.dtstart.value, event.dtend.value
        status = event.status.value
        return Shown.of(event.uid.value, starts, ends, event.summary.value, status=status)


class RecurringIcalEvents:
    """Looks events up by their time."""

    def read(self, served: Served) -> Reading:
        import recurring_ical_events

        calendar = icalendar.Calendar.from_ical(served.body)
        found = recurring_ical_events.of(calendar).between(*YEARS)
        return Reading.of(map(self._shown, found))

    def _shown(self, event: Any) -> Shown:
        title, status = str(event["summary"]), str(event["status"])
        return Shown.of(str(event["uid"]), event.start, event.end, title, status=status)
