"""What calendars cost their server: ``uv run python -m tests.bench.feeds``.

A crew of an invented company with 200 visits to come. Prints how many requests of a program that
has the newest calendar already (304) are answered per second of one core, as a share of those to a
view that does nothing behind the same middleware, in turns in the same run; how many in full (200);
and the processor's time of rendering the calendar.
"""

import os
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from statistics import median
from time import process_time
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from scheduling.models import FeedLink

VISITS, ROUNDS, REQUESTS, RENDERINGS = 200, 15, 200, 15


def main() -> None:
    with tempfile.TemporaryDirectory() as var:
        os.environ["COATWEAVE_VAR"] = var
        os.environ["DJANGO_SETTINGS_MODULE"] = "finishing.config.settings"
        import django

        django.setup()
        from django.conf import settings
        from django.core.management import call_command

        settings.ROOT_URLCONF = "tests.bench.feed_urls"
        call_command("migrate", verbosity=0)
        link = busy_link()
        measure_rendering(link)
        measure_answers(link)


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
    """A request, as a web server hands it on, and the status that it has to be answered with."""

    status: str
    path: str
    headers: dict[str, Any] = field(default_factory=dict)

    def ask(self, server: Any) -> None:
        from django.test import RequestFactory

        said: list[str] = []
        environ = RequestFactory().get(self.path, HTTP_HOST="127.0.0.1", **self.headers).environ
        answer = server(environ, lambda status, _headers: said.append(status))
        b"".join(answer)
        answer.close()
        assert said == [self.status], said

    def a_second(self, server: Any) -> float:
        """Return how many a core answers."""

        def ask_many() -> None:
            for _ in range(REQUESTS):
                self.ask(server)

        return REQUESTS / seconds_of(ask_many)


def measure_answers(link: "FeedLink") -> None:
    """Print how many requests are answered."""
    from django.core.wsgi import get_wsgi_application

    from scheduling.services.links import feed_address

    path = "/feeds/" + feed_address(link).partition("/feeds/")[2]
    link.refresh_from_db()
    asked = {
        "nothing": Asked("200 OK", "/nothing/"),
        "304": Asked("304 Not Modified", path, {"HTTP_IF_NONE_MATCH": link.etag}),
        "200": Asked("200 OK", path),
    }
    server = get_wsgi_application()
    rounds = [{name: one.a_second(server) for name, one in asked.items()} for _ in range(ROUNDS)]
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
