"""/api/v1/crews/: crews with the hours of their week."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import time
from typing import Any

from django.utils import timezone
from rest_framework import serializers

from api.rest.fields import Choice, Clock, Text, YesNo
from api.rest.query import Flag, Listing
from api.rest.rows import Edited, Made
from api.rest.serializers import RowSerializer, Strict
from finishing.models import Change, Crew, CrewHours
from finishing.models.zones import validate_zone
from finishing.rules.hours import WEEKDAYS, HoursError, WeeklyWindow, parse_hours
from finishing.services.crew_week import DayHours, edit_week
from finishing.services.errors import Fault
from finishing.services.rows import version_of
from scheduling.services.crew_facts import FACTS, add_crew, crew_fact_faults, edit_crew_facts

MOST_WINDOWS = 70


class WindowSerializer(Strict):
    """Hours without a break, on the crew's clock."""

    weekday = Choice(WEEKDAYS)
    start = Clock()
    end = Clock()

    def to_representation(self, instance: CrewHours) -> dict[str, str]:
        start, end = f"{instance.start:%H:%M}", f"{instance.end:%H:%M}"
        return {"weekday": WEEKDAYS[instance.weekday], "start": start, "end": end}


class CrewSerializer(RowSerializer[Crew]):
    name = Text(max_length=120)
    zone = Text(max_length=60, validators=[validate_zone], help_text="IANA, such as Europe/Dublin")
    is_active = YesNo(required=False, help_text="is given new work")
    language = Choice(Crew.Language.values, required=False)
    units = Choice(
        Crew.Units.values, required=False, allow_blank=True, help_text="blank: as in its country"
    )
    email = serializers.EmailField(required=False, allow_blank=True, max_length=254)
    hours = WindowSerializer(  # type: ignore[call-arg]
        many=True, required=False, max_length=MOST_WINDOWS, help_text="of its week"
    )

    def version(self, row: Crew) -> int:
        return version_of([row, *row.hours.all()])

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        yield from crew_fact_faults(self.context["company"], values, self.instance)
        for weekday in range(7):
            windows = _windows_of(values.get("hours", ()), weekday)
            yield from (Fault("hours", text) for text in _window_faults(weekday, windows))


def _windows_of(hours: Iterable[Mapping[str, Any]], weekday: int) -> list[tuple[time, time]]:
    name = WEEKDAYS[weekday]
    return sorted((one["start"], one["end"]) for one in hours if one["weekday"] == name)


def _window_faults(weekday: int, windows: Iterable[tuple[time, time]]) -> list[str]:
    said = " ".join(f"{start:%H:%M}-{end:%H:%M}" for start, end in windows)
    try:
        parse_hours(f"{WEEKDAYS[weekday]} {said}" if said else "")
    except HoursError as error:
        return error.faults
    return []


class CrewListing(Listing):
    name = serializers.CharField(required=False, help_text="exactly")
    is_active = Flag(required=False)


class Crews(Made[Crew], Edited[Crew]):
    """Crews: one that is to get no more work is set inactive, none is removed."""

    model = Crew
    lookup_value_converter = "crew"
    serializer_class = CrewSerializer
    query = CrewListing
    prefetched = ("hours",)
    logs = (Change.What.CREW, Change.What.CREW_HOURS)

    def make(self, values: Mapping[str, Any]) -> Crew:
        facts = {name: values[name] for name in FACTS if name in values}
        crew = add_crew(company=self.company(self.request), facts=facts)
        self._set_week(crew, values)
        return crew

    def edit(self, row: Crew, values: Mapping[str, Any]) -> None:
        facts = {name: values[name] for name in FACTS if name in values}
        edit_crew_facts(crew=row, version=row.version, facts=facts, now=timezone.now())
        self._set_week(row, values)

    def _set_week(self, crew: Crew, values: Mapping[str, Any]) -> None:
        """Bring the week in line, from the hours that were read with the crew."""
        if "hours" not in values:
            return
        stored = list(crew.hours.all())
        days = []
        for weekday in range(7):
            seen = version_of([row for row in stored if row.weekday == weekday])
            wanted = _windows_of(values["hours"], weekday)
            windows = tuple(WeeklyWindow(weekday, start, end) for start, end in wanted)
            days.append(DayHours(weekday, windows, seen))
        edit_week(crew=crew, days=days)
