"""The start page: what needs a decision today, each with its one next step."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.translation import gettext, ngettext

from api.web.company_air import VisitLine, early_lines, unfit_lines
from api.web.crew_words import CrewWord, crew_words
from api.web.first_steps import Step, first_steps
from api.web.material_page import LateLine, late_lines
from api.web.standing import Standing, company_standing, is_missed, promises
from finishing.models import Company, House
from finishing.queries.companies import can_plan
from finishing.queries.houses import by_handover
from scheduling.jobs import answer_for_page
from scheduling.models import FeedLink, PlanRun
from scheduling.odds_wording import drawn_from_sentence, odds_sentence
from scheduling.queries.reached import NewestReached
from scheduling.queries.runs import unfinished_run
from scheduling.run_wording import failure_sentence
from scheduling.services.empty_hours import EmptyHours
from scheduling.services.odds import HandoverOdds, NothingPlannedError, current_odds
from scheduling.services.source_histories import TooLittleAirError
from scheduling.services.today import decisions_today, fit_today
from scheduling.since_wording import since_sentence
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
    """All that the page shows at once. ``quiet``: nothing of it needs a decision."""

    standing: Standing
    late: list[HouseLine]
    held: list[str]
    words: list[CrewWord]
    unread: list[str]
    reached: list[str]
    reached_heading: str
    failed: PlanRun | None
    failure: str
    run: PlanRun | None
    can_plan: bool
    first: list[Step]

    @property
    def quiet(self) -> bool:
        found = (self.first, self.late, self.held, self.words, self.unread, self.failed)
        return not any(found) and not self.standing.differs


@dataclass(frozen=True)
class FitPart:
    """How the plan fits what is known now; it takes a moment to work out."""

    early: list[VisitLine]
    unfit: list[VisitLine]
    material: list[LateLine]
    changed: list[str]
    empty: list[str]
    run: PlanRun | None
    can_plan: bool

    @property
    def fits(self) -> bool:
        return not (self.early or self.unfit or self.material or self.changed or self.empty)


@dataclass(frozen=True)
class OddsPart:
    """The odds of handovers: those at risk, how many hold, those of which none can be told.

    drawn_from: what the air comes from besides the record. missing: why there are no odds at all.
    """

    at_risk: list[str] = field(default_factory=list)
    sure: int = 0
    untold: list[str] = field(default_factory=list)
    drawn_from: list[str] = field(default_factory=list)
    missing: str = ""


def today_page(company: Company, *, now: datetime) -> TodayPage:
    """Return the page as things are known now."""
    found = decisions_today(company=company, now=now)
    standing = company_standing(company)
    houses = by_handover(House.objects.filter(company=company))
    return TodayPage(
        standing=standing,
        late=list(_late(standing, houses)),
        held=[hold_sentence(hold) for hold in standing.plan.holds] if standing.plan else [],
        words=crew_words(company),
        unread=[_unread_sentence(link, ZoneInfo(company.zone)) for link in found.unread],
        reached=list(_reached_lines(found.reached)),
        reached_heading=_reached_heading(found.reached, ZoneInfo(company.zone)),
        failed=found.failed,
        failure=failure_sentence(found.failed.error) if found.failed else "",
        run=unfinished_run(company),
        can_plan=can_plan(company),
        first=first_steps(company, standing, houses),
    )


def fit_part(company: Company, *, now: datetime) -> FitPart:
    """Return how the plan fits what is known now."""
    found = answer_for_page(fit_today, company=company, now=now)
    return FitPart(
        early=early_lines(found.visits),
        unfit=unfit_lines(found.visits),
        material=late_lines(found.material),
        changed=[since_sentence(one.code, one.values) for one in found.changed],
        empty=[_empty_sentence(one) for one in found.empty],
        run=unfinished_run(company),
        can_plan=can_plan(company),
    )


def odds_part(company: Company, *, now: datetime) -> OddsPart:
    """Return the odds of what is published, or else of the working plan; they take a moment."""
    try:
        odds = answer_for_page(current_odds, company=company, now=now)
    except NothingPlannedError:
        return OddsPart(missing=gettext("no work is planned yet"))
    except TooLittleAirError as error:
        return OddsPart(missing=str(error))
    told = [row for row in odds.handovers if row.lacking is None]
    at_risk = sorted((row for row in told if _in_time(row) < SURE), key=_in_time)
    zone = ZoneInfo(company.zone)
    return OddsPart(
        at_risk=[odds_sentence(row) for row in at_risk],
        sure=len(told) - len(at_risk),
        untold=[odds_sentence(row) for row in odds.handovers if row.lacking],
        drawn_from=[drawn_from_sentence(one, now, zone) for one in odds.ensembles],
    )


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
        return gettext("%(crew)s: nobody has ever fetched its calendar") % {"crew": link}
    said = gettext("%(crew)s: its calendar was last fetched %(moment)s")
    return said % {"crew": link, "moment": moment(link.fetched_at, zone)}


def _reached_lines(found: NewestReached | None) -> Iterator[str]:
    """Say which crews do not have what was published last, as far as anybody knows; of the others
    how many they are: it is no work for the office that their crews do not tap "Seen"."""
    if found is None:
        return
    for crew in found.missed:
        yield gettext("%(crew)s: neither fetched nor confirmed yet") % {"crew": crew.name}
    if others := len(found.crews) - len(found.missed):
        said = ngettext("%(n)s other crew has it", "%(n)s other crews have it", others)
        yield said % {"n": others}


def _reached_heading(found: NewestReached | None, zone: ZoneInfo) -> str:
    if found is None:
        return ""
    at = moment(found.publication.published_at, zone)
    return gettext("Not every crew has the plan published %(at)s") % {"at": at}


def risk_heading(part: OddsPart) -> str:
    """Say how many handovers hold in 8 of 10."""
    said = ngettext(
        "%(n)s handover holds in at least 8 of 10 histories of the air",
        "%(n)s handovers hold in at least 8 of 10 histories of the air",
        part.sure,
    )
    return said % {"n": part.sure}
