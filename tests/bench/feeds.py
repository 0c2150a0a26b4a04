"""What calendars cost their server: ``uv run python -m tests.bench.feeds``, with ``--postgres`` on
a PostgreSQL of its own instead of SQLite.

A crew of an invented company with 200 visits to come. One gunicorn worker with the project's own
settings is asked, over one connection, in turns: for an address that does nothing, behind the same
middleware; for the calendar by a program that has the newest already (304); for all of it, packed
and plain (200). Prints how many of each a second of the worker's processor time answers, as shares
of the empty ones in the same run, and the processor's time of rendering the calendar. The
processor's time, so that whatever else the machine does is not measured.
"""

import argparse
import http.client
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from time import process_time, sleep
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduling.models import FeedLink

VISITS, ROUNDS, REQUESTS, RENDERINGS = 200, 15, 400, 15
TICKS_A_SECOND = os.sysconf("SC_CLK_TCK")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--postgres", action="store_true")
    with tempfile.TemporaryDirectory() as var, database(parser.parse_args().postgres):
        os.environ["COATWEAVE_VAR"] = var
        os.environ["DJANGO_SETTINGS_MODULE"] = "finishing.config.settings"
        import django

        django.setup()
        from django.core.management import call_command
        from django.db import connection

        call_command("migrate", verbosity=0)
        say(f"on {connection.vendor}")
        link = busy_link()
        measure_rendering(link)
        measure_answers(link)
        connection.close()


@contextmanager
def database(is_postgres: bool) -> Iterator[None]:
    """Have the settings name a PostgreSQL that is there until the end, or SQLite."""
    if not is_postgres:
        yield
        return
    from tests.production.servers import PostgreSQL

    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o755)
        server = PostgreSQL(Path(folder) / "postgresql")
        server.start()
        os.environ["COATWEAVE_DATABASE_URL"] = server.make_database("bench")
        try:
            yield
        finally:
            server.stop_at_once()


def busy_link() -> "FeedLink":
    """Make the crew, its published visits and its calendar."""
    from finishing.rules.vocabulary import Stage
    from scheduling.services.links import make_link
    from scheduling.services.publish import publish_plan
    from tests.factories import make_company, make_crew, make_house, make_plan, task

    company = make_company()
    crew = make_crew(company)
    now = datetime.now(UTC)
    work = []
    for number in range(VISITS):
        house = make_house(company, f"Alder Row {number + 1}", rooms=("Hall", "Kitchen"))
        start = now.replace(hour=8, minute=0, second=0, microsecond=0)
        start += timedelta(days=1 + number // 2, hours=4 * (number % 2))
        work += [
            task(crew, house, start, minutes=60, stage=Stage.TAPE),
            task(crew, house, start + timedelta(hours=1), stage=Stage.TAPE, room="Kitchen"),
        ]
    make_plan(company, work)
    publish_plan(company=company, now=now)
    return make_link(crew=crew)


def measure_rendering(link: "FeedLink") -> None:
    """Print what it costs to write the calendar."""
    from scheduling.services.feeds import feed_body

    today = datetime.now(UTC).date()
    size = len(feed_body(link=link, today=today))
    spent = [seconds_of(lambda: feed_body(link=link, today=today)) for _ in range(RENDERINGS)]
    say(f"{VISITS} events, {size // 1000} kB: rendered in {1000 * median(spent):.0f} ms")


@dataclass(frozen=True)
class Asked:
    """A request, and the status that it has to be answered with."""

    status: int
    path: str
    headers: dict[str, str] = field(default_factory=dict)


class Worker:
    """A gunicorn with one worker, asked over one connection."""

    def __init__(self, port: int, master: "subprocess.Popen[bytes]") -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.children = Path(f"/proc/{master.pid}/task/{master.pid}/children")

    def ask(self, asked: Asked) -> None:
        self.connection.request("GET", asked.path, headers=asked.headers)
        answer = self.connection.getresponse()
        answer.read()
        assert answer.status == asked.status, answer.status

    def a_second(self, asked: Asked) -> float:
        """Return how many a second of the worker's processor time answers."""
        before = self.spent()
        for _ in range(REQUESTS):
            self.ask(asked)
        return REQUESTS / (self.spent() - before)

    def spent(self) -> float:
        """Return the processor time that the worker has had (proc(5): utime and stime)."""
        (pid,) = self.children.read_text(encoding="ascii").split()
        after_name = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2]
        return sum(int(ticks) for ticks in after_name.split()[11:13]) / TICKS_A_SECOND


@contextmanager
def worker() -> Iterator[Worker]:
    """Start gunicorn as a site does, and wait until it answers."""
    from tests.production.servers import free_port

    port = free_port()
    words = "--config python:finishing.config.web_server --workers 1 --keep-alive 60"
    command = [sys.executable, "-m", "gunicorn", *words.split(), "--bind", f"127.0.0.1:{port}"]
    master = subprocess.Popen([*command, "tests.bench.feed_site:application"])
    try:
        found = Worker(port, master)
        while True:
            with suppress(ConnectionError):
                found.ask(Asked(200, "/nothing/"))
                break
            found.connection.close()
            sleep(0.2)
        yield found
    finally:
        master.terminate()
        master.wait(30)


def measure_answers(link: "FeedLink") -> None:
    """Print how many requests are answered."""
    from scheduling.services.links import feed_address

    path = "/feeds/" + feed_address(link).partition("/feeds/")[2]
    link.refresh_from_db()
    asked = {
        "nothing": Asked(200, "/nothing/"),
        "304": Asked(304, path, {"If-None-Match": link.etag, "Accept-Encoding": "identity"}),
        "200 packed": Asked(200, path, {"Accept-Encoding": "gzip"}),
        "200 plain": Asked(200, path, {"Accept-Encoding": "identity"}),
    }
    with worker() as server:
        for one in asked.values():
            server.ask(one)
        rounds = [
            {name: server.a_second(one) for name, one in asked.items()} for _ in range(ROUNDS)
        ]
    for name in asked:
        rate = median(found[name] for found in rounds)
        share = median(found[name] / found["nothing"] for found in rounds)
        say(f"{name}: {rate:.0f} a second, {share:.0%} of nothing")


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - a bench prints


def seconds_of(work: Callable[[], object]) -> float:
    start = process_time()
    work()
    return process_time() - start


if __name__ == "__main__":
    main()
