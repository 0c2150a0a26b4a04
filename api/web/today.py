"""The start page: what needs a decision today, each with its one next step."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.translation import gettext, ngettext

from api.web.company_air import VisitLine, can_plan, early_lines, unfit_lines
from api.web.standing import Standing, company_standing, is_missed, promises
from finishing.models import Company, House
from scheduling.models import FeedLink, PlanRun
from scheduling.odds_wording import odds_sentence
from scheduling.queries.runs import unfinished_run
from scheduling.run_wording import failure_sentence
from scheduling.services.empty_hours import EmptyHours
from scheduling.services.odds import HandoverOdds, NothingPlannedError, current_odds
from scheduling.services.source_histories import TooLittleAirError
from scheduling.services.today import decisions_today
from scheduling.wording import day, figure, handover_sentence, hold_sentence, moment

SURE = 0.8
"""A handover that is kept in fewer histories is at risk."""


@dataclass(frozen=True)
class HouseLine:
    """A house whose handover is late or held as planned, and in what words."""

    public_id: UUID
    said: str


@dataclass(frozen=True)
class TodayPage:
    """All that the page shows. ``quiet``: nothing needs a decision."""

    standing: Standing
    early: list[VisitLine]
    unfit: list[VisitLine]
    late: list[HouseLine]
    held: list[str]
    empty: list[str]
    unread: list[str]
    failed: PlanRun | None
    failure: str
    run: PlanRun | None
    can_plan: bool
    has_houses: bool

    @property
    def quiet(self) -> bool:
        found = (self.early, self.unfit, self.late, self.held, self.empty, self.unread)
        return not any(found) and self.failed is None and not self.standing.differs


@dataclass(frozen=True)
class OddsPart:
    """The odds of handovers: those at risk, and how many hold; ``missing`` where there are none."""

    at_risk: list[str]
    sure: int
    missing: str


def today_page(company: Company, *, now: datetime) -> TodayPage:
    """Return the page as things are known now."""
    found = decisions_today(company=company, now=now)
    standing = company_standing(company)
    houses = list(House.objects.filter(company=company).order_by("handover_on", "name"))
    return TodayPage(
        standing=standing,
        early=early_lines(found.visits),
        unfit=unfit_lines(found.visits),
        late=list(_late(standing, houses)),
        held=[hold_sentence(hold) for hold in standing.plan.holds] if standing.plan else [],
        empty=[_empty_sentence(one) for one in found.empty],
        unread=[_unread_sentence(link, ZoneInfo(company.zone)) for link in found.unread],
        failed=found.failed,
        failure=failure_sentence(found.failed.error) if found.failed else "",
        run=unfinished_run(company),
        can_plan=can_plan(company),
        has_houses=bool(houses),
    )


def odds_part(company: Company, *, now: datetime) -> OddsPart:
    """Return the odds of what is published, or else of the working plan; they take a moment."""
    try:
        rows = current_odds(company=company, now=now).handovers
    except NothingPlannedError:
        return OddsPart([], 0, gettext("no work is planned yet"))
    except TooLittleAirError as error:
        return OddsPart([], 0, str(error))
    at_risk = [row for row in rows if row.in_time is None or row.in_time < SURE]
    at_risk.sort(key=_in_time)
    return OddsPart([odds_sentence(row) for row in at_risk], len(rows) - len(at_risk), "")


def _in_time(row: HandoverOdds) -> float:
    return -1.0 if row.in_time is None else row.in_time


def _late(standing: Standing, houses: Iterable[House]) -> Iterator[HouseLine]:
    if standing.plan is None:
        return
    for house in houses:
        for item in promises(standing.plan, house):
            if is_missed(item):
                yield HouseLine(house.public_id, handover_sentence(item, ZoneInfo(house.zone)))


def _empty_sentence(one: EmptyHours) -> str:
    if one.whole:
        said = gettext("%(crew)s: no work on %(day)s")
        return said % {"crew": one.crew.name, "day": day(one.day)}
    said = gettext("%(crew)s: %(hours)s empty hours on %(day)s")
    return said % {"crew": one.crew.name, "day": day(one.day), "hours": figure(one.hours)}


def _unread_sentence(link: FeedLink, zone: ZoneInfo) -> str:
    if link.fetched_at is None:
        return gettext("%(crew)s: nobody has ever fetched its calendar") % {"crew": link.crew.name}
    said = gettext("%(crew)s: its calendar was last fetched %(moment)s")
    return said % {"crew": link.crew.name, "moment": moment(link.fetched_at, zone)}


def risk_heading(part: OddsPart) -> str:
    """Say how many handovers hold in 8 of 10."""
    said = ngettext(
        "%(n)s handover holds in at least 8 of 10 histories of the air",
        "%(n)s handovers hold in at least 8 of 10 histories of the air",
        part.sure,
    )
    return said % {"n": part.sure}
