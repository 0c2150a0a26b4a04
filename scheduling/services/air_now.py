"""Where a company's air comes from, what its houses have of it now, and whom it keeps waiting."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from finishing.models import AirSource, Company, House
from finishing.queries.air import Known, known_spans
from finishing.queries.air_sources import CompanyAir
from scheduling.services.house_air import assumed_from
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.shown_air import ShownHour, shown_hour
from scheduling.services.timeline import TICKS_PER_HOUR
from scheduling.services.wet_visits import WetVisit, wet_visits_by

NO_AIR = frozenset(
    {"no_air", "which_air", "too_little_air"}
    | {"odd_volume", "odd_air_changes", "odd_heat", "odd_setpoint"}
)
"""Holds of houses that have no air to plan with."""


@dataclass(frozen=True)
class SourceNow:
    """A source and the hours that it knows, if any."""

    source: AirSource
    known: Known | None


@dataclass(frozen=True)
class HouseNow:
    """A house to plan, its sources by rank, its air in this hour and from when on it is assumed;
    ``missing`` is the code of the hold of one that has no air to plan with."""

    house: House
    sources: tuple[AirSource, ...]
    hour: ShownHour | None = None
    assumed_from: datetime | None = None
    missing: str = ""


@dataclass(frozen=True)
class AirNow:
    """The air in a company's houses, and the published visits that it no longer fits."""

    houses: Sequence[HouseNow]
    visits: Sequence[WetVisit]


def sources_now(*, company: Company) -> list[SourceNow]:
    """Return the company's sources with the hours that they know, in three queries."""
    sources = list(AirSource.objects.filter(company=company).order_by("kind", "name"))
    known = known_spans(sources)
    return [SourceNow(source, known.get(source.pk)) for source in sources]


def air_now(*, company: Company, now: datetime) -> AirNow:
    """Return the company's air as it is known now; it takes a moment to work out."""
    inputs = build_inputs(company=company, now=now)
    return AirNow(
        houses=_houses(company, inputs, now),
        visits=wet_visits_by(inputs, company=company, now=now),
    )


def _houses(company: Company, inputs: PlanInputs, now: datetime) -> list[HouseNow]:
    air = CompanyAir(company)
    missing = {hold.house.pk: hold.code for hold in inputs.holds if hold.code in NO_AIR}
    return [
        _house(house, tuple(air.of(house)), inputs, now, missing.get(house.pk, ""))
        for house in sorted(inputs.houses.values(), key=lambda house: house.name)
    ]


def _house(
    house: House, sources: tuple[AirSource, ...], inputs: PlanInputs, now: datetime, missing: str
) -> HouseNow:
    air = inputs.airs.get(str(house.public_id))
    if air is None:
        return HouseNow(house, sources, missing=missing)
    number = inputs.timeline.tick_before(now.astimezone(UTC)) // TICKS_PER_HOUR
    hour = shown_hour(air, inputs.timeline, number)
    return HouseNow(house, sources, hour, assumed_from(air, inputs.timeline))
