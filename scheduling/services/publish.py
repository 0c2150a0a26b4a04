"""Publishing: the working plan becomes the next revision, and visits keep their identity."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import F

from finishing.models import Company
from scheduling.models import CompanyPlans, FeedLink, Plan, Publication, Visit
from scheduling.queries.plans import latest_publication
from scheduling.queries.visits import Block, plan_blocks
from scheduling.services.feeds import render_feeds
from scheduling.services.held_back import HeldBack, held_back_blocks
from scheduling.services.links import make_links
from scheduling.services.still_holds import changes_begun, over_but_untold
from scheduling.services.visit_changes import VisitChanges, visit_changes
from scheduling.solver.outcome import Status
from scheduling.wording import listed, moment, stage_name


class PublishError(Exception):
    """There is nothing that may be published."""


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
    unchanged: tuple[Visit, ...]
    held_back: tuple[HeldBack, ...]


def publish_plan(*, company: Company, now: datetime) -> PublishResult:
    """Publish the company's working plan as its next revision; all of it or nothing.

    Visits that ended before ``now`` stay as they are. Feeds are rendered after the transaction;
    one that is not, for whatever reason, is rendered when it is next fetched. Raises
    PublishError where there is no plan that may be published.
    """
    with transaction.atomic(durable=True):
        plans = CompanyPlans.objects.select_for_update().filter(company=company).first()
        if plans is None or plans.working is None:
            raise PublishError(f"{company}: nothing is planned yet, so nothing can be published")
        result = _publish(plans, plans.working, now.replace(microsecond=0))
    make_links(company=company)
    render_feeds(company=company, now=now)
    return result


def _publish(plans: CompanyPlans, plan: Plan, now: datetime) -> PublishResult:
    blocks = plan_blocks(plan)
    _refuse_late(plan, now)
    to_come = [block for block in blocks if block.ends_at > now]
    _refuse_unsound(plan, to_come)
    held_back = held_back_blocks(plan.company, to_come, now)
    not_ready = [held.block for held in held_back]
    changes = visit_changes(plan, [b for b in to_come if b not in not_ready], now)
    current = latest_publication(plan.company)
    if current is None or current.plan_id != plan.pk or changes.any:
        current, is_new = _store(plans, plan, changes, now), True
    else:
        is_new = False
    return PublishResult(
        publication=current,
        is_new=is_new,
        new=tuple(changes.new + changes.revived),
        moved=tuple(changes.moved),
        cancelled=tuple(changes.cancelled),
        unchanged=tuple(changes.unchanged),
        held_back=held_back,
    )


def _store(plans: CompanyPlans, plan: Plan, changes: VisitChanges, now: datetime) -> Publication:
    latest = latest_publication(plan.company)
    publication = Publication(
        company=plan.company,
        revision=latest.revision + 1 if latest else 1,
        plan=plan,
        published_at=now,
    )
    publication.full_clean()
    publication.save()
    Visit.objects.bulk_create(changes.new)
    changed = [*changes.moved, *changes.revived, *changes.cancelled]
    Visit.objects.bulk_update(changed, VisitChanges.FIELDS)
    CompanyPlans.objects.filter(pk=plans.pk).update(published=plan, version=F("version") + 1)
    feeds = FeedLink.objects.filter(company=plan.company_id)
    feeds.update(rendered_on=None, version=F("version") + 1)
    return publication


def _refuse_late(plan: Plan, now: datetime) -> None:
    """A plan counts on work that it has put before now, and crews have to have known of it."""
    latest = latest_publication(plan.company)
    begun = changes_begun(plan, now) if latest is not None and plan.base_id == latest.pk else None
    if begun:
        at = moment(begun, ZoneInfo(plan.company.zone))
        raise PublishError(f"work that this plan changes was to begin {at}: replan first")
    if untold := over_but_untold(plan, now):
        what = listed([untold.house.name, stage_name(untold.stage), untold.details["room"]])
        at = moment(untold.starts_at, ZoneInfo(untold.crew.zone))
        raise PublishError(f"{what}: planned for {at}, and no crew was told: replan first")


def _refuse_unsound(plan: Plan, blocks: Sequence[Block]) -> None:
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
