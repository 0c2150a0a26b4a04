"""Planning runs that are asked for, going on, or lost."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from finishing.models import Company, Quote
from scheduling.models import CompanyPlans, Plan, PlanRun, Publication, Scenario
from scheduling.models.run import without_large

UNFINISHED = (PlanRun.Status.QUEUED, PlanRun.Status.RUNNING)
PARTS = ("origin", "horizon", "crews", "houses", "tasks", "handovers")
PAID_TIME = ("origin", "horizon", "crews", "travel")
"""What says who is there when, and how long the way between houses is."""
BEGINS_WITHIN = timedelta(minutes=1)
"""A run that is queued for longer may have been forgotten by whoever was to start it."""
MOST_SENT_AGAIN = 20


def run_of(company: Company, public_id: UUID) -> PlanRun:
    """Return a run of the company, with its course; raise PlanRun.DoesNotExist for another's."""
    rows = PlanRun.objects.select_related("company", "overtaken_by").defer(None)
    rows = rows.defer("problem", *without_large("overtaken_by"))
    return rows.get(company=company, public_id=public_id)


def unfinished_run(company: Company) -> PlanRun | None:
    """Return the company's oldest run that is queued or going on."""
    return PlanRun.objects.filter(company=company, status__in=UNFINISHED).order_by("pk").first()


def waiting_run(
    company: Company, *, scenario: Scenario | None = None, quote: Quote | None = None
) -> PlanRun | None:
    """Return the run that has not begun, which will read the rows as they are then: the company's
    of the plan to work on, or that of a scenario or a quote."""
    waiting = PlanRun.all_kinds.filter(
        company=company, scenario=scenario, quote=quote, status=PlanRun.Status.QUEUED
    )
    return waiting.select_for_update().order_by("pk").first()


def quote_runs(quotes: Iterable[Quote]) -> dict[int, PlanRun]:
    """Return by quote (pk) its newest run, without what is large."""
    runs = PlanRun.all_kinds.filter(quote__in=list(quotes)).select_related("company")
    return {run.quote_id: run for run in runs.order_by("pk") if run.quote_id}


def runs_not_begun(now: datetime) -> QuerySet[PlanRun]:
    """Return the runs, of all companies, that have been queued for too long and come first: of
    many that wait no more are sent again than soon begin, or the broker would fill with them."""
    return PlanRun.all_kinds.filter(
        status=PlanRun.Status.QUEUED, requested_at__lt=now - BEGINS_WITHIN
    ).order_by("priority", "pk")[:MOST_SENT_AGAIN]


def last_runs(company: Company, most: int) -> QuerySet[PlanRun]:
    """Return the company's newest runs with what they made."""
    return _newest_first(company).prefetch_related("plans")[:most]


def newest_run(company: Company) -> PlanRun | None:
    """Return the company's newest run."""
    return _newest_first(company).first()


def problem_parts(run_id: int) -> Mapping[str, Any]:
    """Return the ``PARTS`` of a run's problem."""
    return parts_by_run([run_id], PARTS)[run_id]


def parts_by_run(runs: Iterable[int], names: Sequence[str]) -> dict[int, Mapping[str, Any]]:
    """Return by run (pk) parts of its problem (see ``problem_to_json``), all in one query: all but
    a tenth of it is how its coats dry."""
    rows = PlanRun.all_kinds.filter(pk__in=runs)
    found = rows.values_list("pk", *(F(f"problem__{name}") for name in names))
    return {
        pk: {n: value for n, value in zip(names, values, strict=True) if value is not None}
        for pk, *values in found
    }


def runs_over_before(moment: datetime) -> QuerySet[PlanRun]:
    """Return the runs, of all companies, that ended before a moment, whose problems are whole and
    that nothing is held against any more, the oldest first.

    Something is against that of the working plan, those of the last two revisions (the last may
    be taken back), and that of the newest run that came to a plan, whose proposals may be open.
    """
    own = Q(working__run=OuterRef("pk")) | Q(published__run=OuterRef("pk"))
    of_company = Q(company=OuterRef("company"))
    two_later = Publication.objects.filter(of_company, revision__gt=OuterRef("revision") + 1)
    told = Publication.objects.filter(plan__run=OuterRef("pk")).exclude(Exists(two_later))
    newer = Plan.objects.filter(of_company, run__gt=OuterRef("pk"))
    rows = PlanRun.objects.filter(Exists(newer), finished_at__lt=moment, problem_cut=False)
    unused = rows.exclude(Exists(CompanyPlans.objects.filter(own))).exclude(Exists(told))
    return unused.order_by("finished_at")


def _newest_first(company: Company) -> QuerySet[PlanRun]:
    rows = PlanRun.objects.filter(company=company).select_related("company")
    return rows.order_by("-pk")


def last_done_run(company: Company) -> PlanRun | None:
    """Return the last run that came to its end."""
    done = PlanRun.objects.filter(company=company, status=PlanRun.Status.DONE)
    return done.order_by("-pk").first()
