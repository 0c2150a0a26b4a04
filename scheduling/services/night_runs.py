"""Runs that nobody waits for: made at night, so that their proposals are there in the morning."""

from datetime import datetime

from django.db import transaction

from finishing.models import Company
from finishing.queries.companies import can_plan, own_companies
from finishing.services.held_company import hold_company
from scheduling.models import PlanRun
from scheduling.queries.plans import latest_publication
from scheduling.queries.runs import unfinished_run
from scheduling.services.replan import request_run

NIGHT_SECONDS = 60.0
"""How long each searches: far longer than while somebody waits."""


def request_night_runs(*, now: datetime) -> list[PlanRun]:
    """Return a new run for each company whose crews have been told a plan, unless one waits or
    goes on there already."""
    runs = (_requested(company, now) for company in own_companies())
    return [run for run in runs if run is not None]


@transaction.atomic
def _requested(company: Company, now: datetime) -> PlanRun | None:
    hold_company(company.pk)
    told = latest_publication(company) is not None
    if not told or not can_plan(company) or unfinished_run(company):
        return None
    by_the_clock = PlanRun.Priority.BY_THE_CLOCK
    return request_run(company=company, plan_from=now, seconds=NIGHT_SECONDS, priority=by_the_clock)
