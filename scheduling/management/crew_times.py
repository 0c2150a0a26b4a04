"""What commands about crews share: the crew by its name, and times on its clock."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.core.management.base import CommandError, OutputWrapper
from django.utils import timezone

from finishing.models import Company, Crew
from finishing.services.errors import Fault, InputFaults
from finishing.services.local_times import LocalTimeError, read_local, utc_of
from scheduling.services.timeline import local_instant


@dataclass
class Asked:
    """Reads what a command was given, and keeps everything that is wrong with it."""

    faults: list[Fault] = field(default_factory=list)

    def read[T](self, reader: Callable[[], T]) -> T | None:
        """Return what was read; None, with the faults kept, where it cannot be."""
        try:
            return reader()
        except InputFaults as error:
            self.faults.extend(error.faults)
            return None

    def end_if_faulty(self, stderr: OutputWrapper) -> None:
        """End the command with all the faults, if there are any."""
        for fault in self.faults:
            stderr.write(str(fault))
        if self.faults:
            count = "1 fault" if len(self.faults) == 1 else f"{len(self.faults)} faults"
            raise CommandError(f"{count}: nothing was changed")


def crew_named(company: Company, name: str) -> Crew:
    """Return a company's crew; raise InputFaults with those there are."""
    crews = list(Crew.objects.filter(company=company, is_active=True))
    for crew in crews:
        if crew.name == name:
            return crew
    known = ", ".join(crew.name for crew in crews) or "none yet"
    raise InputFaults([Fault("crew", f"no {name!r}; known: {known}")])


def time_in(text: str, zone: str, today: date | None) -> datetime:
    """Read "2026-03-02 14:30", or "14:30" of today, on a zone's clock; raise InputFaults."""
    clock = ZoneInfo(zone)
    day = today or timezone.now().astimezone(clock).date()
    try:
        return utc_of(read_local(f"{day} {text}" if len(text) == len("14:30") else text), clock)
    except LocalTimeError as error:
        raise InputFaults([Fault("time", str(error))]) from None


def latest_moment(zone: str, today: date | None) -> datetime:
    """Return now, or where a command acts as on a day the end of that day in a zone."""
    if today is None:
        return timezone.now()
    return local_instant(today + timedelta(days=1), time.min, ZoneInfo(zone))
