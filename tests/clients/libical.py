"""libical, the C library of Debian: what Evolution and many others read calendars with.

It marks what it does not like by X-LIC-ERROR properties. It does not miss a UID or a DTSTAMP (both
required by RFC 5545, 3.6.1), so these are asked for here.
"""

from collections.abc import Iterator
from ctypes import CDLL, Structure, c_char_p, c_int, c_int64, c_void_p
from datetime import UTC, date, datetime

from tests.clients.reading import Reading, Served, Shown

LIBRARY = "libical.so.3"


class _Time(Structure):
    """``struct icaltimetype`` of libical 3."""

    _fields_ = [
        *((name, c_int) for name in ("year", "month", "day", "hour", "minute", "second")),
        ("is_date", c_int),
        ("is_daylight", c_int),
        ("zone", c_void_p),
    ]


class Libical:
    """Reads by libical, and holds the calendar against its restrictions."""

    def __init__(self) -> None:
        self.library = CDLL(LIBRARY)
        for name, result, arguments in (
            ("icalparser_parse_string", c_void_p, [c_char_p]),
            ("icalrestriction_check", c_int, [c_void_p]),
            ("icalcomponent_as_ical_string", c_char_p, [c_void_p]),
            ("icalcomponent_string_to_kind", c_int, [c_char_p]),
            ("icalcomponent_get_first_component", c_void_p, [c_void_p, c_int]),
            ("icalcomponent_get_next_component", c_void_p, [c_void_p, c_int]),
            ("icalcomponent_free", None, [c_void_p]),
            ("icalcomponent_get_uid", c_char_p, [c_void_p]),
            ("icalcomponent_get_summary", c_char_p, [c_void_p]),
            ("icalcomponent_get_dtstart", _Time, [c_void_p]),
            ("icalcomponent_get_dtend", _Time, [c_void_p]),
            ("icalcomponent_get_first_property", c_void_p, [c_void_p, c_int]),
            ("icalproperty_string_to_kind", c_int, [c_char_p]),
            ("icalproperty_get_value_as_string", c_char_p, [c_void_p]),
            ("icalproperty_get_name", c_char_p, [c_void_p]),
            ("icaltime_as_timet_with_zone", c_int64, [_Time, c_void_p]),
        ):
            function = getattr(self.library, name)
            function.restype, function.argtypes = result, arguments

    def read(self, served: Served) -> Reading:
        calendar = self.library.icalparser_parse_string(served.body)
        assert calendar, "libical cannot parse it at all"
        try:
            assert self.library.icalrestriction_check(calendar), self._faults(calendar)
            assert not self._faults(calendar), self._faults(calendar)
            name = self.library.icalproperty_get_name(self._property(calendar, b"NAME"))
            return Reading.of(map(self._shown, self._events(calendar)), name.decode())
        finally:
            self.library.icalcomponent_free(calendar)

    def _faults(self, calendar: int) -> list[str]:
        text = self.library.icalcomponent_as_ical_string(calendar).decode()
        return [line for line in text.splitlines() if line.startswith("X-LIC-ERROR")]

    def _events(self, calendar: int) -> Iterator[int]:
        kind = self.library.icalcomponent_string_to_kind(b"VEVENT")
        event = self.library.icalcomponent_get_first_component(calendar, kind)
        while event:
            yield event
            event = self.library.icalcomponent_get_next_component(calendar, kind)

    def _shown(self, event: int) -> Shown:
        uid = self.library.icalcomponent_get_uid(event)
        assert uid, "an event without UID"
        assert self._property(event, b"DTSTAMP"), f"{uid}: no DTSTAMP"
        status = self.library.icalproperty_get_value_as_string(self._property(event, b"STATUS"))
        return Shown.of(
            uid.decode(),
            self._moment(self.library.icalcomponent_get_dtstart(event)),
            self._moment(self.library.icalcomponent_get_dtend(event)),
            self.library.icalcomponent_get_summary(event).decode(),
            status=status.decode(),
        )

    def _property(self, component: int, name: bytes) -> int | None:
        kind = self.library.icalproperty_string_to_kind(name)
        found: int | None = self.library.icalcomponent_get_first_property(component, kind)
        return found

    def _moment(self, time: _Time) -> date:
        if time.is_date:
            return date(time.year, time.month, time.day)
        assert time.zone, "floating time"
        seconds = self.library.icaltime_as_timet_with_zone(time, time.zone)
        return datetime.fromtimestamp(seconds, UTC)
