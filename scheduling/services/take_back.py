"""Taking the last publication back: crews see again what they saw before it.

That is a revision of its own, so that calendars follow it as they do any other. The working plan
stays: what was published too early can be published again.
"""

from collections import defaultdict
from datetime import datetime

from django.db import transaction

from finishing.models import Company, Deed, User
from finishing.services.deeds import note_deed
from scheduling.models import CompanyPlans, Plan, PlannedTask, Publication
from scheduling.queries.plans import latest_publication
from scheduling.queries.visits import plan_blocks
from scheduling.services.held_back import held_back_blocks
from scheduling.services.publish import after_publishing, refuse_unsound
from scheduling.services.revisions import store_revision
from scheduling.services.told_odds import Tell, tell_odds
from scheduling.services.visit_changes import VisitChanges, visit_changes

type Begun = set[tuple[str, int, datetime]]


class TakeBackError(Exception):
    """The last publication stays: a code and its values, for wording."""

    def __init__(self, code: str, **values: object) -> None:
        super().__init__(code)
        self.code, self.values = code, values


def take_back(
    *,
    company: Company,
    revision: int,
    now: datetime,
    by: User | None = None,
    tell: Tell = tell_odds,
) -> Publication:
    """Put the visits of all crews back as they were before a revision; all of them or none.

    Raises TakeBackError: ``not_the_last`` (something else has been published since, or nothing
    was), ``taken_back`` (the revision takes one back itself), ``begun`` (crews have begun work
    that they would not have by the plan before, or the other way round). PublishError where a
    crew or house of the plan before gets no more work. tell: as for ``publish_plan``.
    """
    with transaction.atomic(durable=True):
        publication = store_taking_back(company=company, revision=revision, now=now, by=by)
    after_publishing(company=company, now=now, tell=tell)
    return publication


@transaction.atomic
def store_taking_back(
    *, company: Company, revision: int, now: datetime, by: User | None = None
) -> Publication:
    """Take a revision back as ``take_back`` does, within a transaction of the caller's, who is to
    call ``publish.after_publishing`` once that is over."""
    CompanyPlans.objects.select_for_update().filter(company=company).first()
    last = latest_publication(company)
    if last is None or last.revision != revision:
        raise TakeBackError("not_the_last", revision=last.revision if last else 0)
    before = plan_before(last, now)
    publication = store_revision(
        company=company,
        plan=before,
        changes=_changes(company, before, now.replace(microsecond=0)),
        now=now.replace(microsecond=0),
        takes_back=last,
    )
    note_deed(company=company, by=by, code=Deed.Code.TOOK_BACK, now=now, about=last.revision)
    return publication


def plan_before(last: Publication, now: datetime) -> Plan | None:
    """Return the plan that crews had before the last publication, None for no work at all; raise
    TakeBackError where it cannot be had again."""
    if last.takes_back_id is not None:
        raise TakeBackError("taken_back", revision=last.revision)
    previous = Publication.objects.filter(company=last.company_id, revision=last.revision - 1)
    row = previous.select_related("plan__company").first()
    before = row.plan if row else None
    if not _same_begun(before, last.plan, last, now):
        raise TakeBackError("begun", revision=last.revision)
    return before


def _changes(company: Company, before: Plan | None, now: datetime) -> VisitChanges:
    """Return what putting the visits of the plan before back changes."""
    if before is None:
        return visit_changes(company, [], now)
    blocks = plan_blocks(before, with_details=False)
    to_come = [block for block in blocks if block.ends_at > now]
    refuse_unsound(before, to_come)
    not_ready = [held.block for held in held_back_blocks(company, to_come, now)]
    return visit_changes(company, [b for b in to_come if b not in not_ready], now)


def _same_begun(one: Plan | None, other: Plan | None, last: Publication, now: datetime) -> bool:
    """Return whether by two plans the same tasks have begun since a publication: which, by whom,
    when; none by no plan."""
    rows = PlannedTask.objects.filter(
        company=last.company_id,
        plan__in=[plan for plan in (one, other) if plan],
        starts_at__gt=last.published_at,
        starts_at__lte=now,
    )
    begun: defaultdict[int | None, Begun] = defaultdict(set)
    for plan, key, crew, at in rows.values_list("plan_id", "key", "crew_id", "starts_at"):
        begun[plan].add((key, crew, at))
    return begun[one.pk if one else None] == begun[other.pk if other else None]
