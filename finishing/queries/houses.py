"""Houses with all that planning reads of them."""

from collections.abc import Iterable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.db.models import Count, QuerySet
from natsort import natsort_keygen, ns

from finishing.models import Area, Company, Dryer, House

SYSTEM_PATHS = ("system", "areas__system")
PLANNING_PATHS = (
    "areas__rooms__surfaces__joints",
    "areas__closures",
    "readiness",
    "odd_jobs",
    *(f"{path}__stage_rows__compound" for path in SYSTEM_PATHS),
)


_name_key = natsort_keygen(alg=ns.IGNORECASE)


def by_name(houses: Iterable[House]) -> list[House]:
    """Return houses by name, Row 2 before Row 10."""
    return sorted(houses, key=lambda house: _name_key(house.name))


def by_handover(houses: Iterable[House]) -> list[House]:
    """Return houses by the day they are due, those of a day by name."""
    return sorted(by_name(houses), key=lambda house: house.handover_on)


def houses_for_planning(company: Company) -> QuerySet[House]:
    """Return the company's houses, those handed over first in front.

    A fixed number of queries, however many houses. Of each: areas with rooms, surfaces, joint
    lines, closures and the coat done last; systems with their compounds; readiness; odd jobs.
    """
    return (
        House.objects.filter(company=company, is_active=True)
        .select_related("company", "air_source")
        .prefetch_related(*PLANNING_PATHS, "areas__coat_done__compound")
        .order_by("handover_on", "id")
    )


def flames_brought(house: House) -> QuerySet[Dryer]:
    """Return the portable heaters that stand in a house and burn something there."""
    return Dryer.objects.filter(
        company=house.company_id, house=house, is_active=True, flame=True, heat_kw__gt=0
    )


def flame_in(house: House) -> bool:
    """Return whether a heater burns something in a house, its own or one that was brought."""
    return house.flame_heater or flames_brought(house).exists()


@dataclass(frozen=True)
class HouseSize:
    """How much of each there is in a house."""

    areas: int
    rooms: int
    surfaces: int


def size_of(house: House) -> HouseSize:
    """Return how many areas, rooms and surfaces a house has, in one query."""
    counts = Area.objects.filter(house=house).aggregate(
        Count("pk", distinct=True),
        Count("rooms", distinct=True),
        Count("rooms__surfaces", distinct=True),
    )
    return HouseSize(*counts.values())


def zones_of_houses(company: Company) -> dict[str, ZoneInfo]:
    """Return by the houses' names the zones whose clocks they go by."""
    named = House.objects.filter(company=company).values_list("name", "zone")
    return {name: ZoneInfo(zone) for name, zone in named}
