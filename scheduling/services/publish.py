"""Publishing: the working plan becomes the next revision, and visits keep their identity."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

from django.db import transaction

from finishing.models import Company, Deed, User
from finishing.services.deeds import note_deed
from scheduling.models import CompanyPlans, Plan, Publication, Visit
from scheduling.queries.plans import latest_publication, working_plan
from scheduling.queries.visits import Block, plan_blocks
from scheduling.services.feeds import render_feeds
from scheduling.services.held_back import HeldBack, held_back_blocks
from scheduling.services.links import make_links
from scheduling.services.revisions import store_revision
from scheduling.services.still_holds import changes_begun, over_but_untold
from scheduling.services.told_odds import Tell, tell_odds
from scheduling.services.visit_changes import VisitChanges, visit_changes
from scheduling.solver.outcome import Status
from scheduling.wording import listed, moment, stage_name


class PublishError(Exception):
    """There is nothing that may be published."""


class OvertakenError(PublishError):
    """What was to be published, or what crews see, is another than whoever asked has looked at."""


@dataclass(frozen=True, slots=True)
class PublishResult:
    """What a publication did. moved: another time or other content, the same identity.

    publication: the new revision, or the current one where nothing would have changed.
    held_back: blocks that were not published because their house is not ready.
    """

    publication: Publication
    is_new: bool
    new: tuple[Visit, ...]
    moved: tuple[Visit, ...]
    cancelled: tuple[Visit, ...]
    unchanged: int
    held_back: tuple[HeldBack, ...]


@dataclass(frozen=True, slots=True)
class Pending:
    """What publishing the working plan would do to ``current``, the revision that crews see."""

    plan: Plan
    current: Publication | None
    changes: VisitChanges
    held_back: tuple[HeldBack, ...]

    @property
    def is_new(self) -> bool:
        """Whether there is anything to tell the crews."""
        return self.current is None or self.current.plan_id != self.plan.pk or self.changes.any


def pending_publication(*, company: Company, now: datetime) -> Pending:
    """Return what publishing would do now, and store nothing; raise PublishError as it would."""
    plan, latest = working_plan(company), latest_publication(company)
    return pending_of(company=company, plan=plan, latest=latest, now=now)


def pending_of(
    *, company: Company, plan: Plan | None, latest: Publication | None, now: datetime
) -> Pending:
    """Return the same for who has read the company's working plan and its newest revision."""
    if plan is None:
        raise PublishError(f"{company}: nothing is planned yet, so nothing can be published")
    plan.company = company  # read already, with all that is asked of it
    return _pending(plan, latest, now.replace(microsecond=0))


def publish_plan(
    *,
    company: Company,
    now: datetime,
    looked_at: Plan | None = None,
    by: User | None = None,
    tell: Tell = tell_odds,
) -> PublishResult:
    """Publish the company's working plan as its next revision; all of it or nothing.

    Visits that ended before ``now`` stay as they are. After the transaction the odds of handovers
    are told, where a calendar tells them, and feeds are rendered; one that is not, for whatever
    reason, is rendered when it is next fetched. looked_at: the plan that whoever publishes has
    seen. by: who that is, None for a command. tell: tells the odds, which may take seconds. Raises
    PublishError where there is no plan that may be published, OvertakenError where the working plan
    is another than looked_at.
    """
    with transaction.atomic(durable=True):
        result = store_publication(company=company, now=now, looked_at=looked_at, by=by)
    after_publishing(company=company, now=now, tell=tell)
    return result


@transaction.atomic
def store_publication(
    *, company: Company, now: datetime, looked_at: Plan | None = None, by: User | None = None
) -> PublishResult:
    """Publish as ``publish_plan`` does, within a transaction of the caller's, who is to call
    ``after_publishing`` once that is over."""
    CompanyPlans.objects.select_for_update().filter(company=company).first()
    pending = pending_publication(company=company, now=now)
    if looked_at is not None and looked_at != pending.plan:
        raise OvertakenError(f"{company}: another plan is the working plan by now")
    result = _published(pending, now.replace(microsecond=0))
    if result.is_new:
        about = result.publication.revision
        note_deed(company=company, by=by, code=Deed.Code.PUBLISHED, now=now, about=about)
    return result


def after_publishing(*, company: Company, now: datetime, tell: Tell = tell_odds) -> None:
    """Make what calendars tell of the newest revision; done again it changes nothing."""
    make_links(company=company)
    tell(company=company, now=now)
    render_feeds(company=company, now=now)


def _pending(plan: Plan, latest: Publication | None, now: datetime) -> Pending:
    _refuse_late(plan, latest, now)
    blocks = plan_blocks(plan, with_details=False)
    to_come = [block for block in blocks if block.ends_at > now]
    refuse_unsound(plan, to_come)
    held_back = held_back_blocks(plan.company, to_come, now)
    not_ready = [held.block for held in held_back]
    ready = [block for block in to_come if block not in not_ready]
    changes = visit_changes(plan.company, ready, now)
    return Pending(plan, latest, changes, held_back)


def _published(pending: Pending, now: datetime) -> PublishResult:
    changes, publication = pending.changes, pending.current
    if is_new := pending.is_new:
        publication = store_revision(
            company=pending.plan.company, plan=pending.plan, changes=changes, now=now
        )
    assert publication is not None
    return PublishResult(
        publication=publication,
        is_new=is_new,
        new=tuple(changes.new + changes.revived),
        moved=tuple(changes.moved),
        cancelled=tuple(changes.cancelled),
        unchanged=changes.unchanged,
        held_back=pending.held_back,
    )


def _refuse_late(plan: Plan, latest: Publication | None, now: datetime) -> None:
    """A plan counts on work that it has put before now, and crews have to have known of it."""
    begun = changes_begun(plan, now) if latest is not None and plan.base_id == latest.pk else None
    if begun:
        at = moment(begun, ZoneInfo(plan.company.zone))
        raise PublishError(f"work that this plan changes was to begin {at}: replan first")
    if untold := over_but_untold(plan, now):
        what = listed([untold.house.name, stage_name(untold.stage), untold.details["room"]])
        at = moment(untold.starts_at, ZoneInfo(untold.crew.zone))
        raise PublishError(f"{what}: planned for {at}, and no crew was told: replan first")


def refuse_unsound(plan: Plan, blocks: Sequence[Block]) -> None:
    """Plans are verified before they are stored; what went wrong since is caught here."""
    for block in blocks:
        for row in (block.crew, block.house):
            if not row.is_active:
                raise PublishError(f"{row} gets no more work, and is in this plan: replan first")
    if plan.status not in [*Status]:
        raise PublishError(f"plan of {plan.created_at:%Y-%m-%d %H:%M}: status {plan.status!r}")
    for block, following in pairwise(blocks):
        if block.crew == following.crew and following.starts_at < block.ends_at:
            raise PublishError(
                f"{block.crew} would be at {block.house} and at {following.house} at"
                f" {following.starts_at:%Y-%m-%d %H:%M} UTC"
            )
