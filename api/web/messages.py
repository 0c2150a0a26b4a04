"""What the office may copy into text messages: a crew's next day, a house's coats."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils import translation

from api.web.crew_page import LOOKED_BACK
from api.web.standing import promises
from finishing.models import Company, Crew, House
from finishing.queries.houses import by_name
from scheduling.message_wording import builder_message, crew_message
from scheduling.models import CrewPage, Visit
from scheduling.queries.crew_visits import visits_at
from scheduling.queries.links import pages_of
from scheduling.queries.plans import published_plan
from scheduling.services.links import page_address


@dataclass(frozen=True)
class CrewMessage:
    """A crew's message, in its language. text: "" where its page has ended or was never made."""

    crew: Crew
    text: str


@dataclass(frozen=True)
class HouseMessage:
    """What a house's builder has to know."""

    house: House
    text: str


@dataclass(frozen=True)
class MessagesPage:
    """All that the page shows. language: that of the builders' messages."""

    crews: Sequence[CrewMessage]
    houses: Sequence[HouseMessage]
    language: str


def messages_page(company: Company, language: str, now: datetime) -> MessagesPage:
    """Return the page in a fixed number of queries."""
    houses = by_name(House.objects.filter(company=company, is_active=True))
    at_houses: defaultdict[int, list[Visit]] = defaultdict(list)
    of_crews: defaultdict[int, list[Visit]] = defaultdict(list)
    for visit in visits_at(company, houses, now - LOOKED_BACK):
        at_houses[visit.house_id].append(visit)
        of_crews[visit.crew_id].append(visit)
    return MessagesPage(
        crews=_crew_messages(company, of_crews, now),
        houses=_house_messages(company, houses, at_houses, language, now),
        language=language,
    )


def _crew_messages(
    company: Company, visits: dict[int, list[Visit]], now: datetime
) -> list[CrewMessage]:
    crews = Crew.objects.filter(company=company, is_active=True).select_related("company")
    pages = pages_of(crews)
    return [
        CrewMessage(crew, _crew_text(crew, pages.get(crew.pk), visits.get(crew.pk, []), now))
        for crew in crews.order_by("name")
    ]


def _crew_text(crew: Crew, page: CrewPage | None, visits: list[Visit], now: datetime) -> str:
    address = page_address(page) if page and not page.revoked_at else ""
    if not address:
        return ""
    zone = ZoneInfo(crew.zone)
    on = _next_day(visits, now, zone)
    of_day = [visit for visit in visits if visit.starts_at.astimezone(zone).date() == on]
    with translation.override(crew.language):
        return crew_message(crew.name, on, of_day, zone, address)


def _next_day(visits: list[Visit], now: datetime, zone: ZoneInfo) -> date:
    """Return the first day from tomorrow on with a visit; tomorrow where there is none."""
    tomorrow = now.astimezone(zone).date() + timedelta(days=1)
    since = datetime.combine(tomorrow, time.min, zone)
    starts = [visit.starts_at for visit in visits if visit.starts_at >= since]
    return min(starts).astimezone(zone).date() if starts else tomorrow


def _house_messages(
    company: Company,
    houses: list[House],
    visits: dict[int, list[Visit]],
    language: str,
    now: datetime,
) -> list[HouseMessage]:
    plan = published_plan(company)
    with translation.override(language):
        return [
            HouseMessage(
                house,
                builder_message(
                    house.name,
                    visits[house.pk],
                    promises(plan, house) if plan else [],
                    now,
                    ZoneInfo(house.zone),
                ),
            )
            for house in houses
            if visits.get(house.pk)
        ]
