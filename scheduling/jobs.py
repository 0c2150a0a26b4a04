"""Planning that a page asks for, and sending: a row says so, and somebody starts on it once that is
stored.

Who that is, a Celery worker or a thread of this process, is for the settings to say; both call
``run_replan`` or ``send_one`` with the row's id, and whoever claims the row first does the work.
"""

import atexit
import logging
from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import partial

from django.conf import settings
from django.core.cache import cache
from django.db import transaction
from django.utils import timezone

from finishing.models import Company, Quote
from finishing.services.errors import InputFaults
from finishing.services.held_company import hold_company
from finishing.services.quotes import house_faults
from scheduling.models import Plan, PlanRun, Scenario
from scheduling.one_thread import OneThread
from scheduling.outgoing.claim import next_due
from scheduling.outgoing.send import send_due
from scheduling.queries.runs import runs_not_begun, waiting_run
from scheduling.services.cut_problems import cut_problems
from scheduling.services.fetches import FETCHES
from scheduling.services.kept_answers import (
    Of,
    Question,
    answer_to_come,
    find_for_others,
    is_kept,
)
from scheduling.services.kept_costs import find_costs, kept_costs, plan_costs
from scheduling.services.lost_runs import look_for_lost_runs
from scheduling.services.odds import current_odds
from scheduling.services.overtaking import ask_anew, hurry, stop_older_runs
from scheduling.services.plan_cost import PlanCost
from scheduling.services.publish import after_publishing
from scheduling.services.pushes import push_for_the_day
from scheduling.services.quote_runs import QUOTE_SECONDS
from scheduling.services.replan import request_run, run_replan
from scheduling.services.scenarios import adopted_faults
from scheduling.services.told_odds import odds_to_tell, tell_odds
from scheduling.watch_thread import WatchThread

log = logging.getLogger(__name__)

HERE = OneThread[int](lambda run_id: run_replan(run_id=run_id))
BESIDE = OneThread[int](lambda run_id: run_replan(run_id=run_id))
"""For scenarios, so that nobody who waits for a plan to work on waits for one of those."""
QUOTES = OneThread[int](lambda run_id: run_replan(run_id=run_id))
"""Each a matter of seconds, behind neither of those."""


def find_answer(asked: tuple[int, str, Of]) -> None:
    """Find what a page comes again for: a question, by name, of a company and its rows (pk)."""
    company_id, question, of = asked
    find_for_others(company_id=company_id, name=question, of=of, now=timezone.now())


def tell_published(company_id: int) -> None:
    """Find and tell the odds of what a company (pk) has published."""
    after_publishing(company=Company.objects.get(pk=company_id), now=timezone.now())


ANSWERS = OneThread[tuple[int, str, Of]](find_answer)
TELLING = OneThread[int](tell_published)


def _look_here() -> float | None:
    """Start runs again that a process before this one has left, cut down those that are long over;
    have odds told that are not; send what is due, and return in how many seconds more is."""
    look_after_runs(now=timezone.now())
    for company_id in odds_to_tell():
        TELLING.start(company_id)
    cut_problems(now=timezone.now())
    push_for_the_day(now=timezone.now())
    send_due()
    now = timezone.now()
    following = next_due(now)
    return None if following is None else (following - now).total_seconds()


def _write_fetches() -> None:
    """Store when calendars were fetched, and wait for the next minute."""
    FETCHES.write()


WATCH = WatchThread(_look_here, longest_pause_s=settings.RUN_LOOK_SECONDS)
FETCH_WRITER = WatchThread(_write_fetches, longest_pause_s=60)


def request_replan(*, company: Company, now: datetime) -> PlanRun:
    """Return a run that plans the company's houses from now on: the one that has not begun yet, or
    a new one, which stops what goes on and begins once the transaction is over."""
    with transaction.atomic():
        hold_company(company.pk)  # two clicks make one run
        _start_lost_runs(now)
        run = waiting_run(company)
        if run is None:
            run = request_run(company=company, plan_from=now)
            stop_older_runs(run=run, now=now)
        elif not hurry(run=run, plan_from=now):
            return run
        _start_once_stored(run.pk)
    return run


def request_scenario_run(*, scenario: Scenario, now: datetime) -> PlanRun:
    """Return a run that plans for a scenario from now on, as :func:`request_replan` does for the
    plan to work on, beside which and beside those of other scenarios it goes on. Raises InputFaults
    where it became the working plan."""
    to_compare = PlanRun.Priority.TO_COMPARE
    with transaction.atomic():
        hold_company(scenario.company_id)  # as whoever works on it
        scenario.refresh_from_db(fields=["changes", "planned_changes"])
        if faults := list(adopted_faults(scenario)):
            raise InputFaults(faults)
        return _run_beside(scenario.company, now, scenario=scenario, priority=to_compare)


def request_quote_run(*, quote: Quote, now: datetime) -> PlanRun:
    """Return a run that works a quote out as of now, beside all others but those of the quote. What
    was found before stays until it is done. Raises InputFaults where the quote can be no house."""
    if faults := list(house_faults(quote)):
        raise InputFaults(faults)
    return _run_beside(quote.company, now, quote=quote, seconds=QUOTE_SECONDS)


def _run_beside(
    company: Company,
    now: datetime,
    *,
    scenario: Scenario | None = None,
    quote: Quote | None = None,
    seconds: float | None = None,
    priority: int = PlanRun.Priority.ASKED,
) -> PlanRun:
    with transaction.atomic():
        hold_company(company.pk)  # two clicks make one run
        _start_lost_runs(now)
        run = waiting_run(company, scenario=scenario, quote=quote)
        if run is None:
            run = request_run(
                company=company,
                plan_from=now,
                seconds=seconds,
                priority=priority,
                scenario=scenario,
                quote=quote,
            )
            stop_older_runs(run=run, now=now)
        else:
            ask_anew(run=run, plan_from=now)
        _start_once_stored(run.pk)
    return run


def look_after_runs(*, now: datetime) -> None:
    """Start runs again that were lost, and those that should have begun by now."""
    _start_lost_runs(now)
    if not settings.CELERY_BROKER_URL:  # with Celery its clock does that
        for run in runs_not_begun(now):
            _start(run.pk)


def begin_watching() -> None:
    """Do what a web server does besides answering, from now on, in threads of its process: store
    when calendars were fetched, at the end as well; look for runs that were lost and send what is
    due, which with Celery its clock does."""
    FETCH_WRITER.begin()
    atexit.register(_write_fetches)
    if not settings.CELERY_BROKER_URL:
        WATCH.begin()


def send_soon() -> None:
    """Send what has just been stored. A command, which ends in a moment, leaves that to the web
    process, whose thread looks again and again, or to ``send_outgoing``."""
    if not settings.CELERY_BROKER_URL:
        WATCH.wake()
        return
    from scheduling.tasks import sweep_outgoing  # noqa: PLC0415 - loads Celery, see below

    sweep_outgoing.delay()


def answer_for_page[T](question: Question[T], *, company: Company, now: datetime, of: Of = ()) -> T:
    """Return an answer that is kept; of: rows (pk) that it is asked of. Raises NotYetError where a
    worker, or a thread of this process where none shares its cache, none can be told, or none has
    found it in a minute, has yet to find it."""
    return answer_to_come(question, _have_answered, company=company, now=now, of=of)


def costs_for_page(
    company: Company, plans: Sequence[Plan], *, now: datetime
) -> Mapping[int, PlanCost]:
    """Return by pk what plans of a company cost. Raises NotYetError as ``answer_for_page``."""
    kept = kept_costs(company, plans)
    if kept is None:
        of = tuple(sorted(plan.pk for plan in plans))
        answer_for_page(find_costs, company=company, now=now, of=of)
        return plan_costs(company, plans)
    return kept


def tell_odds_soon(*, company: Company, now: datetime) -> None:
    """Have calendars tell the odds of what is published: at once where they are kept; else a
    worker, or a thread of this process where none can be told, finds them first."""
    if is_kept(current_odds, company=company, now=now):
        tell_odds(company=company, now=now)
    elif odds_to_tell(of=company) and not (
        settings.CELERY_BROKER_URL and _is_told_to_a_worker("tell_published", company.pk)
    ):
        TELLING.start(company.pk)


def _have_answered(company_id: int, question: str, of: Of, in_vain: bool) -> None:
    # An answer comes from a worker, if one is there, by a cache that both see.
    seen = not getattr(cache, "is_away", False) and not in_vain
    shared = settings.ANSWERS_BY_WORKERS and seen
    if not (shared and _is_told_to_a_worker("find_answer", company_id, question, of)):
        ANSWERS.start((company_id, question, of))


def _is_told_to_a_worker(task: str, *about: int | str | Of) -> bool:
    # They load Celery, others go without it.
    from kombu.exceptions import OperationalError  # noqa: PLC0415

    from scheduling import tasks  # noqa: PLC0415

    try:
        getattr(tasks, task).delay(*about)
    except OperationalError as error:
        log.warning("no worker can be told to %s %s: %s", task, about, error)
        return False
    return True


def _start_lost_runs(now: datetime) -> None:
    for run_id in look_for_lost_runs(now=now):
        _start_once_stored(run_id)


def _start_once_stored(run_id: int) -> None:
    # Robust: while the broker is away the run stays queued, and the sweep sends it again.
    transaction.on_commit(partial(_start, run_id), robust=True)


def _start(run_id: int) -> None:
    if not settings.CELERY_BROKER_URL:
        _thread_of(run_id).start(run_id)
        return
    from scheduling.tasks import start_replan  # noqa: PLC0415 - loads Celery, others go without it

    start_replan(run_id)


def _thread_of(run_id: int) -> OneThread[int]:
    run = PlanRun.all_kinds.filter(pk=run_id)
    if run.exclude(quote=None).exists():
        return QUOTES
    return BESIDE if run.exclude(scenario=None).exists() else HERE
