"""Proposals as rows: stored beside the working plan, and one of them accepted in its place."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from finishing.models import Company
from scheduling.models import CompanyPlans, Plan, PlanRun
from scheduling.queries.plans import latest_publication, proposals_of
from scheduling.services.changes import change_json
from scheduling.services.outputs import ProposedAs, make_working, store_plan
from scheduling.services.published import Published
from scheduling.services.settling import Agreed
from scheduling.services.still_holds import broken_since, changes_begun


class ProposalError(Exception):
    """A proposal that can no longer be accepted: a code and its values, for wording."""

    def __init__(self, code: str, **values: object) -> None:
        super().__init__(code)
        self.code, self.values = code, values


@transaction.atomic
def store_proposals(*, run: PlanRun, agreed: Sequence[Agreed], published: Published) -> list[Plan]:
    """Store verified plans, the fewest changes first, as proposals against what is published."""
    return [
        store_plan(
            company=run.company,
            run=run,
            inputs=plan.inputs,
            outcome=plan.outcome,
            now=timezone.now(),
            proposed=ProposedAs(
                published.publication,
                kind,
                change_json(plan.inputs, published, plan.outcome),
            ),
        )
        for kind, plan in zip(_kinds(len(agreed)), agreed, strict=True)
    ]


def _kinds(count: int) -> list[Plan.Kind]:
    """Return the kinds of so many proposals; the only one changes least."""
    between = [Plan.Kind.BETWEEN] * (count - 2)
    return [Plan.Kind.FEWEST_CHANGES, *between, Plan.Kind.EARLIEST_HANDOVERS][:count]


def accept_proposal(*, company: Company, plan: Plan, now: datetime) -> Plan:
    """Make a proposal the working plan; publishing it is another step.

    Raises ProposalError: ``not_a_proposal``, ``replanned`` (a later run has looked at things
    anew), ``republished`` (crews have been told something else since it was made), ``begun``
    (work that it moves or adds has begun, or would have had to, since), ``broken`` (something
    else is known by now, such as a crew away, by which it breaks a rule). Another of the same run
    may be accepted in its place until one is published.
    """
    with transaction.atomic():
        CompanyPlans.objects.select_for_update().filter(company=company).first()
        _refuse_stale(company, plan, now)
        make_working(plan)
    return plan


def _refuse_stale(company: Company, plan: Plan, now: datetime) -> None:
    if plan.company_id != company.pk or not plan.kind:
        raise ProposalError("not_a_proposal")
    newest = latest_publication(company)
    if newest is None or plan.base_id != newest.pk:
        raise ProposalError("republished", revision=newest.revision if newest else 0)
    if plan not in proposals_of(company):
        raise ProposalError("replanned")
    if begun := changes_begun(plan, now):
        raise ProposalError("begun", moment=begun)
    if broken := broken_since(plan, now):
        row = broken.row
        raise ProposalError(
            "broken",
            house=row.house.name,
            stage=row.stage,
            room=row.details["room"] or row.details["job"],
            moment=row.starts_at,
            rule=broken.rule,
        )
