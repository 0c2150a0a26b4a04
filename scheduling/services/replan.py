"""One planning run, from the rows as they stand to verified plans, stored.

Where crews expect visits already, the plans are proposals, and the working plan stays as it was
until the office accepts one of them (``proposals.py``).
"""

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from finishing.models import Company
from scheduling.models import CompanyPlans, Plan, PlanRun
from scheduling.queries.plans import latest_publication
from scheduling.services.engine import solve
from scheduling.services.freed import freed_json
from scheduling.services.inputs import PlanInputs, build_inputs
from scheduling.services.outputs import make_working, store_plan
from scheduling.services.proposals import store_proposals
from scheduling.services.proposing import propose
from scheduling.services.published import Published, published_to_come
from scheduling.services.stop import stop_requested
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.release import keep_what_holds
from scheduling.solver.serialize import problem_to_json

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
) -> PlanRun:
    """Store a request to plan a company's houses from a moment on.

    seconds: how long to search, None for what is usual.
    """
    if seconds is None:
        told = latest_publication(company) is not None
        seconds = PROPOSAL_SECONDS if told else AFRESH_SECONDS
    run = PlanRun(
        company=company,
        requested_at=timezone.now(),
        plan_from=plan_from,
        seconds=seconds,
        seed=seed,
        work=work,
    )
    run.full_clean()
    run.save()
    return run


def run_replan(*, run_id: int) -> Plan | None:
    """Do a queued run and return its plan, or the first of its proposals (the fewest changes);
    None when another worker has claimed it.

    Whatever happens, the run row says how it ended; nothing changes before verified plans have
    been stored whole.
    """
    claimed = PlanRun.objects.filter(pk=run_id, status=PlanRun.Status.QUEUED).update(
        status=PlanRun.Status.RUNNING, claimed_at=timezone.now()
    )
    if not claimed:
        return None
    run = PlanRun.objects.select_related("company").get(pk=run_id)
    try:
        return _plan(run)
    except BaseException as failure:  # also when someone stops the command
        PlanRun.objects.filter(pk=run_id).update(
            status=PlanRun.Status.FAILED,
            finished_at=timezone.now(),
            error=f"{type(failure).__name__}: {failure}",
        )
        raise


def _plan(run: PlanRun) -> Plan:
    inputs = build_inputs(company=run.company, now=run.plan_from)
    kept = keep_what_holds(inputs.problem, inputs.pinned)
    run.problem, run.freed = problem_to_json(kept.problem), freed_json(inputs, kept)
    inputs.problem = kept.problem
    run.unreported = len(inputs.unreported)
    run.save(update_fields=["problem", "freed", "unreported"])
    published = published_to_come(run.company, inputs)
    if published is None:
        return _plan_afresh(run, inputs)
    return _plan_gently(run, inputs, published)


def _plan_afresh(run: PlanRun, inputs: PlanInputs) -> Plan:
    """No crew expects anything yet: the best plan becomes the working plan."""
    told = latest_publication(run.company)
    solved = solve(
        inputs.problem,
        _limits(run),
        on_better=lambda better: _note_progress(run, better),
        should_stop=lambda: stop_requested(run),
    )
    with transaction.atomic():
        CompanyPlans.objects.select_for_update().filter(company=run.company).first()
        if latest_publication(run.company) != told:
            raise OvertakenError("a plan was published while this one was made: replan")
        plan = store_plan(
            company=run.company, run=run, inputs=inputs, outcome=solved.outcome, now=timezone.now()
        )
        make_working(plan)
        _finish(run, solved.note)
    return plan


def _plan_gently(run: PlanRun, inputs: PlanInputs, published: Published) -> Plan:
    """Crews have been told where to be: store proposals, of which the office picks one."""
    proposed = propose(
        inputs.problem,
        published.current,
        _limits(run),
        on_better=lambda better: _note_progress(run, better[-1].outcome),
        should_stop=lambda: stop_requested(run),
    )
    outcomes = [proposal.outcome for proposal in proposed.proposals]
    with transaction.atomic():
        first, *_ = store_proposals(run=run, inputs=inputs, published=published, outcomes=outcomes)
        _finish(run, proposed.note)
    return first


def _limits(run: PlanRun) -> Limits:
    return Limits(seconds=run.seconds, work=run.work, seed=run.seed, workers=_workers(run))


def _finish(run: PlanRun, note: str) -> None:
    run.status, run.error, run.finished_at = PlanRun.Status.DONE, note, timezone.now()
    run.save(update_fields=["status", "error", "finished_at"])


def _workers(run: PlanRun) -> int:
    """One worker where a work budget promises the same plan again, else two."""
    return 1 if run.work else 2


def _note_progress(run: PlanRun, better: Outcome) -> None:
    run.progress.append(
        {
            "seconds": better.history[-1].seconds if better.history else 0.0,
            "score": list(better.score),
            "bound": better.bound,
            "by": better.history[-1].by if better.history else "construct",
        }
    )
    run.save(update_fields=["progress"])
