"""Whether more workers make more plans: ``uv run python -m tests.bench.workers [--companies 30]``.

The first plans of so many companies, asked for at once, with one, two and three worker processes
as docker-compose.yml starts them, one solver thread a run. Prints how long each number of workers
takes for all of them, as a share of the time of fewer. Work is budgeted, not seconds: every round
makes the same plans.
"""

import argparse
import os
from collections.abc import Sequence
from contextlib import ExitStack
from time import monotonic, sleep
from typing import TYPE_CHECKING, Any

from tests.bench.busy_company import unplanned_company
from tests.bench.real_site import real_site
from tests.production.servers import await_that

if TYPE_CHECKING:
    from finishing.models import Company
    from tests.production.stack import Stack

HOUSES, AIR_DAYS, WORK = 4, 40, 600
QUEUE = ("--queues", "planning", "--loglevel", "WARNING")
LONGEST_S = 900.0


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--companies", type=int, default=30)
    number = reader.parse_args().companies
    with real_site() as stack:
        from django.utils import timezone

        now = timezone.now()
        asked: dict[str, Any] = {"houses": HOUSES, "air_days": AIR_DAYS}
        companies = [unplanned_company(now, name=f"No {n}", **asked) for n in range(number)]
        spent = {workers: seconds_with(stack, workers, companies) for workers in (1, 2, 3)}
    for workers, seconds in spent.items():
        say(f"{workers} workers: {seconds:.1f} s")
    say(f"two of the time of one: {spent[2] / spent[1]:.2f}; bound 0.6")
    say(f"three of the time of two: {spent[3] / spent[2]:.2f}; bound 1.1")
    say(f"cores: {os.cpu_count()}; load of the machine: {os.getloadavg()[0]:.1f}")


def seconds_with(stack: "Stack", workers: int, companies: Sequence["Company"]) -> float:
    """Return how long it takes until every company has its plan."""
    with ExitStack() as started:
        for number in range(workers):
            started.enter_context(stack.worker(*QUEUE, "--hostname", f"worker{number}@%h"))
        await_that(lambda: _answering() == workers, f"{workers} workers answer")
        make_plans(companies[:workers])  # whoever has just begun has yet to load the planner
        began = monotonic()
        make_plans(companies)
        return monotonic() - began


def _answering() -> int:
    from finishing.config.celery import app

    return len(app.control.ping(timeout=1.0) or [])


def make_plans(companies: Sequence["Company"]) -> None:
    """Ask for first plans and return once they are made; fail where one is not."""
    from django.utils import timezone

    from scheduling.models import CompanyPlans, PlanRun
    from scheduling.services.replan import request_run
    from scheduling.tasks import start_replan

    asked: dict[str, Any] = {
        "work": WORK,
        "seconds": LONGEST_S,
        "priority": PlanRun.Priority.BY_THE_CLOCK,
    }
    CompanyPlans.objects.filter(company__in=companies).update(working=None)
    now = timezone.now()
    runs = [request_run(company=one, plan_from=now, **asked).pk for one in companies]
    for pk in runs:
        start_replan(pk)
    rows = PlanRun.objects.filter(pk__in=runs)
    while rows.filter(status__in=("queued", "running")).exists():
        sleep(0.2)
    failed = [row.error for row in rows if row.error]
    assert not failed, failed[:3]


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - a bench prints


if __name__ == "__main__":
    main()
