"""What a calendar program shows, in the same few words for all of them."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import Protocol, Self


@dataclass(frozen=True, order=True, slots=True)
class Shown:
    """An event as a program shows it. uid: "" where it gives events others of its own. starts,
    ends: instants in UTC, or days with an exclusive end, as ISO 8601."""

    uid: str
    starts: str
    ends: str
    title: str
    cancelled: bool

    @classmethod
    def of(
        cls, uid: str, starts: date, ends: date, title: str, *, status: str | None = None
    ) -> Self:
        return cls(uid, _iso(starts), _iso(ends), title, status == "CANCELLED")


@dataclass(frozen=True, slots=True)
class Reading:
    """All that a program shows of a calendar. name: None where it has no word for it."""

    events: tuple[Shown, ...]
    name: str | None = None

    @classmethod
    def of(cls, events: Iterable[Shown], name: str | None = None) -> Self:
        return cls(tuple(sorted(events)), name)


@dataclass(frozen=True, slots=True)
class Served:
    """A calendar for programs that subscribe to an address, and for those that take a file."""

    address: str
    body: bytes


class CalendarClient(Protocol):
    """A program that reads calendars. One that subscribes keeps what it has fetched before."""

    def read(self, served: Served) -> Reading:
        """Return what it shows now."""


def differences(shown: Reading, planned: Reading) -> list[str]:
    """Return in what a reading is another than the plan; what is not shown is no difference."""
    there, wanted = Counter(shown.events), Counter(planned.events)
    if not any(event.uid for event in there):
        wanted = Counter(replace(event, uid="") for event in planned.events)
    faults = [f"missing: {event}" for event in (wanted - there).elements()]
    faults += [f"not so: {event}" for event in (there - wanted).elements()]
    if shown.name not in (None, planned.name):
        faults.append(f"called {shown.name!r}, not {planned.name!r}")
    return faults


def _iso(moment: date) -> str:
    if not isinstance(moment, datetime):
        return moment.isoformat()
    assert moment.tzinfo, f"floating: {moment}"
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
