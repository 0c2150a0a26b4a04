"""The air page: sources, houses, and the visits that the newest air no longer fits."""

from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext

from api.web.visits import house_tint
from finishing.models import AirSource, Company, House
from finishing.queries.air import Known
from finishing.queries.companies import can_plan
from scheduling.air_wording import (
    air_sentence,
    forecast_sentence,
    reach_sentence,
    unfit_sentence,
    wet_sentence,
)
from scheduling.jobs import answer_for_page
from scheduling.models import PlanRun
from scheduling.queries.runs import unfinished_run
from scheduling.services.air_now import HouseNow, SourceNow, air_now, sources_now
from scheduling.services.wet_visits import WetVisit
from scheduling.wording import hold_name, listed, moment


@dataclass(frozen=True)
class VisitLine:
    """A visit that comes too early or into the wrong air, on its crew's clock, and why."""

    house: House
    tint: int
    crew: str
    starts_at: str
    troubles: list[str]


@dataclass(frozen=True)
class HouseAirLine:
    """A house, the air of this hour in it and what gives it; ``missing`` where nothing does."""

    house: House
    tint: int
    air: str
    sources: str
    assumed_from: str
    missing: str


@dataclass(frozen=True)
class SourceLine:
    """A source in plain words; ``failed`` where the last attempt to fetch it has."""

    name: str
    kind: str
    known: str
    age: str
    failed: bool


@dataclass(frozen=True)
class CompanyAirPage:
    """All that the page shows at once."""

    sources: list[SourceLine]
    has_houses: bool


@dataclass(frozen=True)
class AirPart:
    """The air in the houses and what it does to visits; it takes a moment to work out. run: the
    planning that is queued or going on."""

    wet: list[VisitLine]
    unfit: list[VisitLine]
    houses: list[HouseAirLine]
    run: PlanRun | None
    can_plan: bool


def company_air_page(company: Company, *, now: datetime) -> CompanyAirPage:
    """Return the company's air page as things are known now."""
    zone = ZoneInfo(company.zone)
    return CompanyAirPage(
        sources=[_source_line(row, zone, now) for row in sources_now(company=company)],
        has_houses=House.objects.filter(company=company, is_active=True).exists(),
    )


def air_part(company: Company, *, now: datetime) -> AirPart:
    """Return the air in the houses as it is known now."""
    found = answer_for_page(air_now, company=company, now=now)
    return AirPart(
        wet=early_lines(found.visits),
        unfit=unfit_lines(found.visits),
        houses=[_house_line(row) for row in found.houses],
        run=unfinished_run(company),
        can_plan=can_plan(company),
    )


def early_lines(visits: Iterable[WetVisit]) -> list[VisitLine]:
    """Return the visits that arrive before a coat is ready."""
    return _visit_lines(visits, wet_sentence, lambda visit: visit.coats)


def unfit_lines(visits: Iterable[WetVisit]) -> list[VisitLine]:
    """Return the visits that put a coat into air too cold or too hot for it."""
    return _visit_lines(visits, unfit_sentence, lambda visit: visit.unfit)


def _visit_lines(
    visits: Iterable[WetVisit],
    sentence: Callable[..., str],
    troubles_of: Callable[[WetVisit], Iterable[Any]],
) -> list[VisitLine]:
    return [
        VisitLine(
            house=found.visit.house,
            tint=house_tint(found.visit.house),
            crew=found.visit.crew.name,
            starts_at=moment(found.visit.starts_at, ZoneInfo(found.visit.crew.zone)),
            troubles=[
                sentence(**asdict(trouble), zone=ZoneInfo(found.visit.crew.zone))
                for trouble in troubles_of(found)
            ],
        )
        for found in visits
        if troubles_of(found)
    ]


def _house_line(row: HouseNow) -> HouseAirLine:
    zone, hour = ZoneInfo(row.house.zone), row.hour
    return HouseAirLine(
        house=row.house,
        tint=house_tint(row.house),
        air=air_sentence(hour.temperature_c, hour.humidity, hour.kind) if hour else "",
        sources=listed([source.name for source in row.sources]),
        assumed_from=moment(row.assumed_from, zone) if row.assumed_from else "",
        missing=hold_name(row.missing) if row.missing else "",
    )


def _source_line(row: SourceNow, zone: ZoneInfo, now: datetime) -> SourceLine:
    source, known = row.source, row.known
    said = [reach_sentence(known, now)]
    if source.kind == AirSource.Kind.FORECAST and (source.fetched_at or source.failed_at):
        said.append(forecast_sentence(source, now))
    return SourceLine(
        name=source.name,
        kind=source.get_kind_display(),
        known=_span(known, zone) if known else "",
        age=listed(said),
        failed=bool(source.failure),
    )


def _span(known: Known, zone: ZoneInfo) -> str:
    values = {"first": moment(known[0], zone), "last": moment(known[1], zone)}
    return gettext("%(first)s to %(last)s") % values
