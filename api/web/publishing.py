"""The publishing page: what the working plan would tell the crews, and what they were told."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from api.web.moments import hour_text, local
from api.web.sending import switched_off
from api.web.sent import SentLine, sent_lines
from api.web.standing import Standing, company_standing
from api.web.visits import house_tint
from finishing.models import Company, Crew, House
from scheduling.models import Outgoing, Plan, Publication, Visit
from scheduling.publish_wording import held_back_sentence, revision_sentence, take_back_refusal
from scheduling.services.held_back import HeldBack
from scheduling.services.publish import Pending, PublishError, pending_of
from scheduling.services.take_back import TakeBackError, plan_before
from scheduling.wording import listed, moment, stage_name

REVISIONS_SHOWN = 12


@dataclass(frozen=True)
class VisitChange:
    """A visit that crews would be told of, on its crew's clock; ``before`` or ``after`` is blank
    where it is new or called off."""

    house: House
    tint: int
    what: str
    before: str
    after: str
    why: str = ""


@dataclass(frozen=True)
class CrewChanges:
    """What one crew would be told."""

    crew: str
    new: list[VisitChange]
    moved: list[VisitChange]
    cancelled: list[VisitChange]
    held_back: list[VisitChange]

    @property
    def hears(self) -> int:
        """The number of changes that reach the crew."""
        return len(self.new) + len(self.moved) + len(self.cancelled)


@dataclass(frozen=True)
class RevisionLine:
    """A revision that was published."""

    revision: int
    published_at: str
    what: str


@dataclass(frozen=True)
class PublishingPage:
    """All that the page shows. ``refusal``: why the working plan cannot be published."""

    standing: Standing
    refusal: str
    is_new: bool
    crews: list[CrewChanges]
    unchanged: int
    revisions: list[RevisionLine]
    stays: str
    sent: list[SentLine]
    off: list[str]

    @property
    def hears(self) -> int:
        """The number of crews that would be told of a change."""
        return sum(crew.hears > 0 for crew in self.crews)


def publishing_page(company: Company, *, now: datetime) -> PublishingPage:
    """Return the page as things stand; nothing is stored."""
    standing = company_standing(company)
    rows = Publication.objects.filter(company=company).select_related("takes_back", "plan")
    revisions = list(rows.order_by("-revision")[:REVISIONS_SHOWN])
    last = revisions[0] if revisions else None
    pending, refusal = _pending(company, standing.plan, last, now)
    zone = ZoneInfo(company.zone)
    return PublishingPage(
        standing=standing,
        refusal=refusal,
        is_new=bool(pending and pending.is_new),
        crews=_crews(pending) if pending else [],
        unchanged=pending.changes.unchanged if pending else 0,
        revisions=[
            RevisionLine(row.revision, moment(row.published_at, zone), revision_sentence(row))
            for row in revisions
        ],
        stays=_stays(last, now) if last else "",
        sent=sent_lines(company, Outgoing.objects.filter(kind=Outgoing.Kind.MAIL)),
        off=switched_off(company),
    )


def _pending(
    company: Company, plan: Plan | None, last: Publication | None, now: datetime
) -> tuple[Pending | None, str]:
    try:
        return pending_of(company=company, plan=plan, latest=last, now=now), ""
    except PublishError as error:
        return None, str(error)


def _stays(last: Publication, now: datetime) -> str:
    """Say why the last publication cannot be taken back; nothing where it can."""
    try:
        plan_before(last, now)
    except TakeBackError as error:
        return take_back_refusal(error.code, error.values)
    return ""


def _crews(pending: Pending) -> list[CrewChanges]:
    changes = pending.changes
    before = Visit.objects.in_bulk([visit.pk for visit in changes.moved])
    new = _by_crew(changes.new + changes.revived)
    moved, cancelled = _by_crew(changes.moved), _by_crew(changes.cancelled)
    held: dict[Crew, list[HeldBack]] = defaultdict(list)
    for one in pending.held_back:
        held[one.block.crew].append(one)
    crews = sorted({*new, *moved, *cancelled, *held}, key=lambda crew: crew.name)
    return [
        CrewChanges(
            crew=crew.name,
            new=[_change(visit, after=visit) for visit in new[crew]],
            moved=[_change(visit, before[visit.pk], visit) for visit in moved[crew]],
            cancelled=[_change(visit, before=visit) for visit in cancelled[crew]],
            held_back=[_held(one) for one in held[crew]],
        )
        for crew in crews
    ]


def _by_crew(visits: Iterable[Visit]) -> dict[Crew, list[Visit]]:
    found: dict[Crew, list[Visit]] = defaultdict(list)
    for visit in sorted(visits, key=lambda visit: visit.starts_at):
        found[visit.crew].append(visit)
    return found


def _change(visit: Visit, before: Visit | None = None, after: Visit | None = None) -> VisitChange:
    zone = visit.crew.zone
    return VisitChange(
        house=visit.house,
        tint=house_tint(visit.house),
        what=_stages(row["stage"] for row in visit.content["tasks"]),
        before=_span(before.starts_at, before.ends_at, zone) if before else "",
        after=_span(after.starts_at, after.ends_at, zone) if after else "",
    )


def _held(held: HeldBack) -> VisitChange:
    block = held.block
    return VisitChange(
        house=block.house,
        tint=house_tint(block.house),
        what=_stages(task.stage for task in block.tasks),
        before="",
        after=_span(block.starts_at, block.ends_at, block.crew.zone),
        why=held_back_sentence(held.items),
    )


def _stages(codes: Iterator[str]) -> str:
    return listed([stage_name(code) for code in codes])


def _span(starts_at: datetime, ends_at: datetime, zone: str) -> str:
    return f"{moment(starts_at, ZoneInfo(zone))}-{hour_text(local(ends_at, zone))}"
