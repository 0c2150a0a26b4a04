"""A year of a company in three zones, told to its crews three times.

Around every change of the clocks a crew works on the Friday before, through the very hour that
clocks jump or repeat, and in the week after. Later a visit moves over the change, one is called
off, one is split and two are merged, a crew and its house get names that could break out, and
handovers move and go.

The moments at which clocks change are those of the IANA time zone database, release 2025b: the
European Union's last Sundays of March and October 01:00 UTC, the United States' second Sunday of
March and first of November 02:00, Chile's Saturdays in April and September 24:00.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from finishing.models import Company, Crew, House
from finishing.rules.vocabulary import Stage
from scheduling.models import PlannedTask
from scheduling.services.publish import publish_plan
from tests.factories import local, make_company, make_crew, make_house, make_plan, task

CLOCK_CHANGES = {
    "Europe/Berlin": ("2026-03-29T01:00Z", "2026-10-25T01:00Z"),
    "America/New_York": ("2026-03-08T07:00Z", "2026-11-01T06:00Z"),
    "America/Santiago": ("2026-04-05T03:00Z", "2026-09-06T04:00Z"),
}
LANGUAGES = {"Europe/Berlin": "en", "America/New_York": "en", "America/Santiago": "es"}
ROOMS = ("Hall", "Kitchen", "Landing", "Loft", "Porch", "Cellar")
NEW_CREW_NAME = "Stra\u00dfe & S\u00f6hne\nBEGIN:VEVENT\nSUMMARY:\u6f06\u55b0, \U0001f3e0"
NEW_HOUSE_NAME = 'M\u00fchle "Alt"; T\u00fcr 3, C:\\alt'
"""No n after the backslash: node-ical 0.26 takes both for a line break, however escaped."""
FIRST_TOLD = datetime(2026, 2, 20, 12, tzinfo=UTC)
"""When the first publication is made; each of the others a day after the one before."""


@dataclass(frozen=True)
class Place:
    """A crew at a house, around a change of the clocks."""

    crew: Crew
    house: House
    change: datetime

    def day(self, days: int, clock: str) -> datetime:
        """Return a local time so many days from the day on which clocks change."""
        day = (self.change + timedelta(hours=1)).astimezone(ZoneInfo(self.crew.zone)).date()
        return local(f"{day + timedelta(days=days)} {clock}", self.crew.zone)

    def work(self, room: str, stage: Stage, starts_at: datetime, minutes: int) -> PlannedTask:
        return task(self.crew, self.house, starts_at, minutes=minutes, stage=stage, room=room)


type Weeks = Callable[[Place], list[PlannedTask]]


@dataclass
class Scenario:
    """The company, its crews and houses, and what time it is for its server."""

    company: Company
    places: list[Place]
    now: datetime = FIRST_TOLD

    @property
    def crews(self) -> list[Crew]:
        return list(dict.fromkeys(place.crew for place in self.places))

    @property
    def person(self) -> str:
        """One of the crew that is renamed."""
        return self.crews[0].members.all()[0].name

    def publications(self) -> Iterator[str]:
        """Publish three times; yield after each what is new in it."""
        self._publish(first_weeks)
        yield "first"
        self.now += timedelta(days=1)
        self._rename(self.places[0])
        self._publish(moved_and_called_off)
        yield "moved, cancelled, renamed"
        self.now += timedelta(days=1)
        self._publish(back_split_and_merged)
        yield "back, split, merged"

    def _publish(self, weeks: Weeks) -> None:
        work = [planned for place in self.places for planned in weeks(place)]
        make_plan(self.company, work, handovers=list(self._handovers(weeks)))
        publish_plan(company=self.company, now=self.now)

    def _handovers(self, weeks: Weeks) -> Iterator[dict[str, Any]]:
        """Yield every house's; at the third publication the first house's is due later, and the
        second has none any more."""
        is_last = weeks is back_split_and_merged
        for place in self.places:
            if is_last and place is self.places[1]:
                continue
            later = 2 if is_last and place is self.places[0] else 0
            yield {
                "house": place.house.name,
                "house_id": str(place.house.public_id),
                "areas": [],
                "due_on": f"{place.day(10 + later, '12:00'):%Y-%m-%d}",
                "state": "planned",
                "met_at": place.day(8, "15:00").isoformat(),
                "weight": 1,
                "late_minutes": 0,
                "chain": [],
            }

    def _rename(self, place: Place) -> None:
        place.crew.name, place.house.name = NEW_CREW_NAME, NEW_HOUSE_NAME
        place.crew.save()
        place.house.save()


def make_scenario() -> Scenario:
    company = make_company("Year Finishing", zone="Europe/Berlin")
    places = []
    for number, (zone, language) in enumerate(LANGUAGES.items(), start=1):
        crew = make_crew(company, f"Crew {number}", zone=zone, language=language)
        for change in map(datetime.fromisoformat, CLOCK_CHANGES[zone]):
            house = make_house(company, f"House {number}, {change:%B}", rooms=ROOMS, zone=zone)
            places.append(Place(crew, house, change))
    return Scenario(company, places)


def first_weeks(place: Place) -> list[PlannedTask]:
    return [
        *over_the_change(place),
        *monday(place),
        place.work("Hall", Stage.TAPE, place.day(-2, "08:00"), 120),
        place.work("Loft", Stage.TAPE, place.day(2, "08:00"), 60),
        place.work("Loft", Stage.SECOND, place.day(2, "13:00"), 120),
        place.work("Porch", Stage.TAPE, place.day(3, "10:00"), 45),
    ]


def moved_and_called_off(place: Place) -> list[PlannedTask]:
    """The Friday's work moves over the change, the Wednesday's is called off."""
    return [
        *over_the_change(place),
        *monday(place),
        place.work("Hall", Stage.TAPE, place.day(4, "08:00"), 120),
        place.work("Loft", Stage.TAPE, place.day(2, "08:00"), 60),
        place.work("Loft", Stage.SECOND, place.day(2, "13:00"), 120),
    ]


def back_split_and_merged(place: Place) -> list[PlannedTask]:
    """Friday's work is back, Monday's is two visits, Tuesday's two are one."""
    return [
        *over_the_change(place),
        place.work("Kitchen", Stage.TAPE, place.day(1, "07:00"), 90),
        place.work("Hall", Stage.SECOND, place.day(3, "08:30"), 150),
        place.work("Hall", Stage.TAPE, place.day(-2, "08:00"), 120),
        place.work("Loft", Stage.TAPE, place.day(2, "12:00"), 60),
        place.work("Loft", Stage.SECOND, place.day(2, "13:00"), 120),
    ]


def over_the_change(place: Place) -> list[PlannedTask]:
    """A visit from before the change to after it, and one that begins after it: where clocks go
    back, the first ends and the second begins when the repeated hour comes for the second time."""
    hour_before, after = place.change - timedelta(hours=1), place.change + timedelta(minutes=50)
    return [
        place.work("Landing", Stage.TAPE, hour_before, 75),
        place.work("Cellar", Stage.TAPE, after, 60),
    ]


def monday(place: Place) -> list[PlannedTask]:
    """Two stages in one visit."""
    return [
        place.work("Kitchen", Stage.TAPE, place.day(1, "07:00"), 90),
        place.work("Hall", Stage.SECOND, place.day(1, "08:30"), 150),
    ]
