"""The page of a planning run: how it stands, and what it proposes."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import datetime
from uuid import UUID

from django.utils.translation import gettext, ngettext

from api.web.choice import Choice, choice_of
from api.web.costs_to_come import costs_or_none
from api.web.run_chart import RunChart, run_chart
from api.web.standing import is_missed
from finishing.queries.companies import can_plan
from finishing.queries.prices import has_prices
from scheduling.change_wording import freed_sentence, proposals_sentence
from scheduling.models import Plan, PlanRun
from scheduling.queries.plans import plans_of_run
from scheduling.queries.runs import UNFINISHED
from scheduling.run_wording import best_sentence, failure_sentence, standing_sentence, step_sentence
from scheduling.services.run_progress import best_so_far, found_so_far
from scheduling.services.run_steps import search_seconds_left
from scheduling.wording import figure, hold_sentence

MINUTES_A_DAY = 24 * 60


@dataclass(frozen=True)
class RunPage:
    """All that the page shows. ``first``: the plan of a run that made no proposals, in figures;
    costs_to_come: whether what proposals cost is being worked out."""

    this: PlanRun
    standing: str
    over: bool
    step: str
    best: str
    course: RunChart | None
    failure: str
    newer: UUID | None
    notes: list[str]
    first: list[tuple[str, str]]
    heading: str
    choice: Choice | None
    costs_to_come: bool
    can_plan: bool


def run_page(run: PlanRun, *, with_costs: bool, now: datetime) -> RunPage:
    """Return the page of a run as it stands; with_costs: for who may see prices."""
    plans = plans_of_run(run)
    proposals = [plan for plan in plans if plan.kind]
    priced = with_costs and bool(proposals) and has_prices(run.company)
    costs = costs_or_none(run.company, proposals, now=now) if priced else {}
    best, over = best_so_far(run), run.status not in UNFINISHED
    ended = run.finished_at or now
    going_on = run.status == PlanRun.Status.RUNNING and run.steps
    failed = run.status == PlanRun.Status.FAILED
    return RunPage(
        this=run,
        standing=standing_sentence(run),
        over=over,
        step=step_sentence(run.steps[-1]["code"], search_seconds_left(run, ended))
        if going_on
        else "",
        course=run_chart(found_so_far(run), (ended - run.claimed_at).total_seconds())
        if run.claimed_at
        else None,
        best=best_sentence(**asdict(best)) if best and not over else "",
        failure=failure_sentence(run.error) if failed else "",
        newer=run.overtaken_by.public_id if run.overtaken_by else None,
        notes=list(_notes(run, plans)) if plans else [],
        first=[row for plan in plans if not plan.kind for row in _plan_rows(plan)],
        heading=_heading(proposals),
        choice=choice_of(run.company, proposals, costs or {}) if proposals else None,
        costs_to_come=costs is None,
        can_plan=can_plan(run.company),
    )


def _heading(proposals: list[Plan]) -> str:
    if not proposals:
        return ""
    base = proposals[0].base
    return proposals_sentence(len(proposals), base.revision if base else 0)


def _notes(run: PlanRun, plans: list[Plan]) -> Iterable[str]:
    """Yield how the run ended, what could not stay, what could not be planned, what is taken as
    done."""
    if run.error:
        yield run.error
    yield from (freed_sentence(visit) for visit in run.freed)
    yield from (hold_sentence(hold) for hold in plans[0].holds)
    if run.unreported:
        said = ngettext(
            "%(n)s past task counts as done as planned, as nobody has said otherwise",
            "%(n)s past tasks count as done as planned, as nobody has said otherwise",
            run.unreported,
        )
        yield said % {"n": run.unreported}


def _plan_rows(plan: Plan) -> list[tuple[str, str]]:
    missed = sum(map(is_missed, plan.handovers))
    return [
        (gettext("handovers late or not planned"), str(missed)),
        _late_days(plan),
        (gettext("visits"), str(plan.visits)),
        (gettext("idle hours within days"), figure(plan.idle_minutes / 60)),
    ]


def _late_days(plan: Plan) -> tuple[str, str]:
    return gettext("days late, by weight"), figure(plan.lateness_minutes / MINUTES_A_DAY)
