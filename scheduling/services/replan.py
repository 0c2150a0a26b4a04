"""One planning run, from the rows as they stand to verified plans, stored.

Where crews expect visits already, the plans are proposals, and the working plan stays as it was
until the office accepts one of them (``proposals.py``).
"""

import logging
from datetime import datetime

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from finishing.models import Company, Quote
from scheduling.models import CompanyPlans, Plan, PlanRun, Scenario
from scheduling.queries.plans import latest_publication, working_plan
from scheduling.run_log import logged_as
from scheduling.services.dryer_plan import SEARCH_SHARE, DryerSearch, with_dryers
from scheduling.services.engine import Solved, solve
from scheduling.services.holding import write_fields
from scheduling.services.lease import kept_lease, lease_from
from scheduling.services.outputs import make_working, store_plan
from scheduling.services.overtaking import begin_unless_overtaken
from scheduling.services.proposals import store_proposals
from scheduling.services.proposing import Proposed, propose
from scheduling.services.published import Published, published_to_come
from scheduling.services.quote_runs import work_quote_out
from scheduling.services.quotes import NotWorkedOutError
from scheduling.services.rounds import Propose, Settled, Solve, settle, settle_proposals
from scheduling.services.run_record import (
    GivenUpError,
    finish,
    note_failure,
    note_problem,
    note_progress,
)
from scheduling.services.run_steps import begin_step
from scheduling.services.scenario_odds import scenario_odds
from scheduling.services.scenario_plans import no_worse_than, store_scenario_plan, what_if_of
from scheduling.services.settling import Settling
from scheduling.services.stop import stop_requested
from scheduling.solver.change import Current
from scheduling.solver.outcome import Limits
from scheduling.solver.problem import Problem

log = logging.getLogger(__name__)

AFRESH_SECONDS, PROPOSAL_SECONDS = 10.0, 4.0
"""How long a run searches unless it is told: for proposals the office waits, and with what goes on
around the search they are to be there within five seconds for 200 tasks."""


class OvertakenError(Exception):
    """Crews have been told a plan for the first time while another first plan was made."""


def request_run(
    *,
    company: Company,
    plan_from: datetime,
    seconds: float | None = None,
    seed: int = 1,
    work: int | None = None,
    priority: int = PlanRun.Priority.ASKED,
    scenario: Scenario | None = None,
    quote: Quote | None = None,
) -> PlanRun:
    """Store a request to plan a company's houses from a moment on.

    seconds: how long to search, None for what is usual. scenario, quote: what it is planned for or
    works out, None and None for a plan to work on.
    """
    if seconds is None:
        told = latest_publication(company) is not None and scenario is None
        seconds = PROPOSAL_SECONDS if told else AFRESH_SECONDS
    run = PlanRun(
        company=company,
        requested_at=timezone.now(),
        plan_from=plan_from,
        seconds=seconds,
        seed=seed,
        work=work,
        priority=priority,
        scenario=scenario,
        quote=quote,
    )
    run.full_clean()
    run.save()
    return run


def run_replan(*, run_id: int) -> Plan | None:
    """Do a queued run and return its plan, or the first of its proposals (the fewest changes);
    None when another worker has claimed it, or a newer run has stopped it, and of a quote's, which
    makes no plan, also where the quote cannot be worked out as it is.

    Whatever happens, the run row says how it ended; nothing changes before verified plans have
    been stored whole.
    """
    run = _claimed(run_id)
    if run is None:
        return None
    try:
        with logged_as(run.public_id), kept_lease(run):
            log.info("planning begins: %s s of searching", run.seconds)
            plan = _plan(run)
            log.info("planning is done: %s", _in_the_log(plan))
            return plan
    except BaseException as failure:  # also when someone stops the command
        noted = note_failure(run, failure)
        if isinstance(failure, NotWorkedOutError):
            return None
        if not noted and (isinstance(failure, GivenUpError) or _is_discarded(run_id)):
            return None  # its row says who does it now, or what has stopped it, or is no more
        raise


def _in_the_log(plan: Plan | None) -> str:
    return f"plan {plan.public_id}, score {plan.lateness_minutes}" if plan else "no plan is kept"


def _is_discarded(run_id: int) -> bool:
    """Return whether somebody has discarded the run's scenario, or removed its quote, meanwhile."""
    return not PlanRun.all_kinds.filter(pk=run_id).exists()


def _claimed(run_id: int) -> PlanRun | None:
    """Return the run if it is now this process's to do."""
    with transaction.atomic():
        queued = PlanRun.all_kinds.filter(pk=run_id, status=PlanRun.Status.QUEUED)
        # Of two that begin at once, one waits. Before the run, as who asks for one does.
        companies = Company.objects.select_for_update(no_key=True)  # as ``hold_company``
        companies.filter(pk__in=queued.values("company")).first()
        now = timezone.now()
        if not queued.update(
            status=PlanRun.Status.RUNNING,
            claimed_at=now,
            lease_until=lease_from(now),
            attempts=F("attempts") + 1,
            progress=[],
            steps=[],
        ):
            return None
        run = PlanRun.all_kinds.select_related("company", "scenario", "quote").get(pk=run_id)
        return run if begin_unless_overtaken(run=run, now=now) else None


def _plan(run: PlanRun) -> Plan | None:
    begin_step(run, "air")
    if run.quote:
        work_quote_out(run, run.quote)
        return None
    settling = Settling(
        run.company, run.plan_from, what_if_of(run), should_stop=lambda: stop_requested(run)
    )
    run.unreported = len(settling.inputs.unreported)
    write_fields(run, "unreported")
    note_problem(run, settling.inputs.problem)
    if run.scenario:
        return _plan_scenario(run, run.scenario, settling)
    published = published_to_come(run.company, settling.inputs)
    if published is None:
        return _plan_afresh(run, settling)
    return _plan_gently(run, settling, published)


def _plan_afresh(run: PlanRun, settling: Settling) -> Plan:
    """No crew expects anything yet: the best plan becomes the working plan."""
    told = latest_publication(run.company)
    solved = _searched(run, settling, None)
    with transaction.atomic():
        CompanyPlans.objects.select_for_update().filter(company=run.company).first()
        if latest_publication(run.company) != told:
            raise OvertakenError("a plan was published while this one was made: replan")
        plan = store_plan(
            company=run.company,
            run=run,
            inputs=solved.agreed.inputs,
            outcome=solved.agreed.outcome,
            now=timezone.now(),
        )
        make_working(plan)
        note_problem(run, solved.agreed.inputs.problem)
        _finish(run, settling, solved.note)
    return plan


def _searched(run: PlanRun, settling: Settling, published: Published | None) -> Settled:
    """Return the best plan found for a problem, with dryers where they help: from nothing, or from
    what crews have been told, as the office would plan again."""
    if published is None:
        solved = settle(settling, _solving(run), _proposing(run))
    else:
        found = settle_proposals(settling, published.current, _proposing(run))
        best = min(found.agreed, key=lambda one: (len(one.outcome.unplaced), one.outcome.score))
        solved = Settled(best, found.note)
    if settling.inputs.stays.all:  # crews have been told of these, so they stay
        return solved
    search = DryerSearch(run.company, _limits(run), should_stop=lambda: stop_requested(run))
    begin_step(run, "dryers", run.seconds * SEARCH_SHARE)
    return with_dryers(settling, solved, search, _proposing(run))


def _plan_scenario(run: PlanRun, scenario: Scenario, settling: Settling) -> Plan:
    """Plan for a scenario, beside all that is planned and published: nobody works on it."""
    before = working_plan(run.company)
    solved = _searched(run, settling, published_to_come(run.company, settling.inputs))
    agreed = no_worse_than(settling, before, solved.agreed)
    begin_step(run, "odds")
    odds = scenario_odds(agreed, before, run.company, run.plan_from)
    with transaction.atomic():
        plan = store_scenario_plan(run=run, scenario=scenario, agreed=agreed, odds=odds)
        note_problem(run, agreed.inputs.problem)
        _finish(run, settling, solved.note)
    return plan


def _plan_gently(run: PlanRun, settling: Settling, published: Published) -> Plan:
    """Crews have been told where to be: store proposals, of which the office picks one."""
    settled = settle_proposals(settling, published.current, _proposing(run))
    with transaction.atomic():
        first, *_ = store_proposals(run=run, agreed=settled.agreed, published=published)
        note_problem(run, settled.agreed[0].inputs.problem)
        _finish(run, settling, settled.note)
    return first


def _solving(run: PlanRun) -> Solve:
    def solving(problem: Problem, share: float) -> Solved:
        begin_step(run, "search", run.seconds * share)
        solved = solve(
            problem,
            _limits(run).share(share),
            on_better=lambda better: note_progress(run, better),
            should_stop=lambda: stop_requested(run),
        )
        begin_step(run, "air")
        return solved

    return solving


def _proposing(run: PlanRun) -> Propose:
    def proposing(problem: Problem, current: Current, share: float) -> Proposed:
        begin_step(run, "search", run.seconds * share)
        proposed = propose(
            problem,
            current,
            _limits(run).share(share),
            on_better=lambda better: note_progress(run, better[-1].outcome),
            should_stop=lambda: stop_requested(run),
        )
        begin_step(run, "air")
        return proposed

    return proposing


def _limits(run: PlanRun) -> Limits:
    return Limits(seconds=run.seconds, work=run.work, seed=run.seed, workers=_workers(run))


def _finish(run: PlanRun, settling: Settling, note: str) -> None:
    run.freed, run.air_rounds = settling.freed, settling.rounds
    finish(run, note)


def _workers(run: PlanRun) -> int:
    """One worker where a work budget promises the same plan again, else two."""
    return 1 if run.work else 2
