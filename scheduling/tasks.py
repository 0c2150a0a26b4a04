"""All Celery tasks: an id in, one service call."""

from collections.abc import Sequence

from django.utils import timezone

from finishing.config.celery import app
from finishing.models import Company
from finishing.queries.companies import own_companies
from finishing.services.forecasts import refresh_company_air
from scheduling.models import PlanRun
from scheduling.outgoing.claim import due
from scheduling.outgoing.send import send_one
from scheduling.queries.runs import runs_not_begun
from scheduling.services.cut_problems import cut_problems
from scheduling.services.kept_answers import find_for_others
from scheduling.services.lost_runs import look_for_lost_runs
from scheduling.services.night_runs import request_night_runs
from scheduling.services.publish import after_publishing
from scheduling.services.pushes import push_for_the_day
from scheduling.services.replan import run_replan
from scheduling.services.told_odds import odds_to_tell


@app.task
def replan(run_id: int) -> None:
    """Do a queued planning run."""
    run_replan(run_id=run_id)


def start_replan(run_id: int) -> None:
    """Send a run to whoever is free next; one that somebody waits for goes before others."""
    priority = PlanRun.all_kinds.filter(pk=run_id).values_list("priority", flat=True).first()
    if priority is not None:  # else it was removed meanwhile, with what it was for
        replan.apply_async(args=(run_id,), priority=priority)


@app.task
def plan_at_night() -> None:
    """Have proposals made that are there in the morning."""
    for run in request_night_runs(now=timezone.now()):
        start_replan(run.pk)


@app.task
def refresh_air(company_id: int) -> None:
    """Fetch what is due of a company's forecasts; its sources say what failed."""
    refresh_company_air(company=Company.objects.get(pk=company_id), now=timezone.now())


@app.task
def refresh_all_air() -> None:
    """Have the air of every company refreshed, each by itself."""
    for company in own_companies():
        refresh_air.delay(company.pk)


@app.task
def find_answer(company_id: int, question: str, of: Sequence[int] = ()) -> None:
    """Find what pages come again for, so that no web process needs the memory."""
    find_for_others(company_id=company_id, name=question, of=tuple(of), now=timezone.now())


@app.task
def tell_published(company_id: int) -> None:
    """Find and tell the odds of what a company has published, so that no page waits for them."""
    after_publishing(company=Company.objects.get(pk=company_id), now=timezone.now())


@app.task
def sweep_odds() -> None:
    """Have odds told that are not: whoever was to tell them is gone, or has failed."""
    for company_id in odds_to_tell():
        tell_published.delay(company_id)


@app.task
def sweep_runs() -> None:
    """Send runs again whose worker is gone, and those whose message is."""
    now = timezone.now()
    waiting = [run.pk for run in runs_not_begun(now)]
    for run_id in dict.fromkeys([*look_for_lost_runs(now=now), *waiting]):
        start_replan(run_id)


@app.task
def cut_old_problems() -> None:
    """Cut the problems of runs that are long over."""
    cut_problems(now=timezone.now())


@app.task
def send(outgoing_id: int) -> None:
    """Send one thing that is to go out, if nobody else does."""
    send_one(outgoing_id)


@app.task
def sweep_outgoing() -> None:
    """Have sent what is due: what was just written, what is to be tried again, what was lost."""
    now = timezone.now()
    push_for_the_day(now=now)
    for outgoing_id in due(now):
        send.delay(outgoing_id)
