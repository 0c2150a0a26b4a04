"""2,000 calendars followed by real-looking clients while plans are made:
``uv run python -m tests.bench.pollers [--seconds 600]``.

Each calendar is asked for every 15 minutes, a little earlier or later each time, at a moment of its
own; most clients ask whether it has changed, by its tag or its date, some take it whole every time,
nearly all take it packed. All the while a company of 40 houses is planned again and again, and half
way through its plan is published. gunicorn, PostgreSQL, Redis and a worker run as on a site.
Prints how long answers took, and how many were errors.
"""

import argparse
import os
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from http.client import HTTPConnection
from random import Random
from threading import Event
from time import monotonic, perf_counter
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from tests.bench.busy_company import busy_company
from tests.bench.followed import followed_companies
from tests.bench.office import say, spread
from tests.bench.real_site import pages_of, real_site

if TYPE_CHECKING:
    from finishing.models import Company

FEEDS, EVERY_S = 2000, 900.0
AT_ONCE = 32
P99_BOUND_S = 0.25


@dataclass
class Client:
    """A calendar program. asks_by: how it asks whether there is anything new, if it does."""

    path: str
    asks_by: str
    name: str
    packed: bool
    known: dict[str, str] = field(default_factory=dict)

    def fetch(self, port: int) -> tuple[int, float]:
        """Fetch the calendar; return the status and how long it took to have all of it."""
        headers = {"User-Agent": self.name, **self.known}
        if self.packed:
            headers["Accept-Encoding"] = "gzip, deflate"
        began = perf_counter()
        connection = HTTPConnection("127.0.0.1", port, timeout=30)
        connection.request("GET", self.path, headers=headers)
        answer = connection.getresponse()
        body = answer.read()
        took = perf_counter() - began
        connection.close()
        if answer.status == 200:
            assert body.startswith(b"\x1f\x8b" if self.packed else b"BEGIN:VCALENDAR"), body[:40]
            self._remember(answer.headers["ETag"], answer.headers["Last-Modified"])
        return answer.status, took

    def _remember(self, tag: str, modified: str) -> None:
        by = {"tag": {"If-None-Match": tag}, "date": {"If-Modified-Since": modified}}
        self.known = by.get(self.asks_by, {})


def clients_of(addresses: Sequence[str], chance: Random) -> list[Client]:
    """Return a client for each calendar: what it is called is invented, how it asks is not."""
    kinds = chance.choices(("tag", "date", "whole"), (6, 2, 2), k=len(addresses))
    return [
        Client(urlsplit(one).path, by, f"Calendar/{n % 9}", packed=chance.random() < 0.9)
        for n, (one, by) in enumerate(zip(addresses, kinds, strict=True))
    ]


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--seconds", type=float, default=600.0)
    seconds = reader.parse_args().seconds
    with real_site() as stack:
        from django.utils import timezone

        chance = Random(7)
        planned = busy_company(timezone.now())
        clients = clients_of(followed_companies(planned, FEEDS), chance)
        with pages_of(stack) as served, stack.worker("--queues", "planning"):
            with ThreadPoolExecutor(4) as before:  # each has its calendar from the last time
                list(before.map(lambda client: client.fetch(served.port), clients))
            over = Event()
            with ThreadPoolExecutor(1) as beside:
                plans = beside.submit(plan_on, planned, seconds / 2, over)
                answers = poll(clients, served.port, seconds, chance)
                over.set()
                say(f"{plans.result()} plans were made meanwhile, and one was published")
    tell(answers)


def plan_on(company: "Company", publish_after: float, over: Event) -> int:
    """Plan a company again and again, and publish once; return how many plans were made."""
    from django.db import connections
    from django.utils import timezone

    from scheduling.jobs import request_replan
    from scheduling.models import PlanRun
    from scheduling.queries.plans import proposals_of
    from scheduling.services.proposals import accept_proposal
    from scheduling.services.publish import publish_plan

    made, published, began = 0, False, monotonic()
    while not over.is_set():
        run = request_replan(company=company, now=timezone.now())
        while not over.wait(1.0) and PlanRun.objects.get(pk=run.pk).finished_at is None:
            pass
        run.refresh_from_db()
        assert run.status != "failed", run.error
        made += run.status == "done"
        if not published and monotonic() - began > publish_after:
            published, now = True, timezone.now()
            accept_proposal(company=company, plan=proposals_of(company)[-1], now=now)
            publish_plan(company=company, now=now)
    connections.close_all()
    return made


def poll(
    clients: Sequence[Client], port: int, seconds: float, chance: Random
) -> list[tuple[int, float]]:
    """Have each client fetch its calendar when it is its time; return statuses and times."""
    began = monotonic()
    times = sorted((chance.uniform(0, EVERY_S), n) for n in range(len(clients)))
    found = []
    with ThreadPoolExecutor(AT_ONCE) as room:
        for after, number in times:
            if after > seconds:
                break
            Event().wait(max(0.0, began + after - monotonic()))
            found.append(room.submit(clients[number].fetch, port))
    return [one.result() for one in found]


def tell(answers: Sequence[tuple[int, float]]) -> None:
    """Print what came of it."""
    seconds = sorted(took for _, took in answers)
    statuses = Counter(status for status, _ in answers)
    say(f"answers by status: {dict(sorted(statuses.items()))}")
    say(spread(seconds))
    p99 = seconds[int(0.99 * len(seconds))]
    say(f"p99 {1000 * p99:.0f} ms; bound {1000 * P99_BOUND_S:.0f} ms")
    errors = sum(count for status, count in statuses.items() if status not in (200, 304))
    say(f"errors: {errors}; bound 0")
    say(f"load of the machine: {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
