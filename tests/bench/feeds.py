"""What calendars cost their server: ``uv run python -m tests.bench.feeds``.

A crew of an invented company with 200 visits to come. Prints how many requests of a program that
has the newest calendar already (304) are answered per second of one core, as a share of those to a
view that does nothing behind the same middleware, in turns in the same run; how many in full (200);
and the processor's time of rendering the calendar.
"""

import os
import tempfile
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
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
    from scheduling.services.feeds import feed_body

    seconds = [
        seconds_of(lambda: feed_body(link=link, today=date.today())) for _ in range(RENDERINGS)
    ]
    size = len(feed_body(link=link, today=date.today()))
    print(f"{VISITS} events, {size // 1000} kB: rendered in {1000 * median(seconds):.0f} ms")


def measure_answers(link: "FeedLink") -> None:
    from django.core.wsgi import get_wsgi_application
    from django.test import RequestFactory

    from scheduling.services.links import feed_address

    server = get_wsgi_application()
    address = "/feeds/" + feed_address(link).partition("/feeds/")[2]
    link.refresh_from_db()
    asked = {
        "nothing": ("200 OK", "/nothing/", {}),
        "304": ("304 Not Modified", address, {"HTTP_IF_NONE_MATCH": link.etag}),
        "200": ("200 OK", address, {}),
    }
    rates: dict[str, list[float]] = {name: [] for name in asked}

    def ask(path: str, headers: dict[str, Any], status: str) -> None:
        said: list[str] = []
        environ = RequestFactory().get(path, HTTP_HOST="127.0.0.1", **headers).environ
        b"".join(server(environ, lambda line, _headers: said.append(line)))
        assert said == [status], said

    for _ in range(ROUNDS):
        for name, (status, path, headers) in asked.items():
            spent = seconds_of(lambda: [ask(path, headers, status) for _ in range(REQUESTS)])
            rates[name].append(REQUESTS / spent)
    nothing = median(rates["nothing"])
    for name, found in rates.items():
        print(f"{name}: {median(found):.0f} a second, {median(found) / nothing:.0%} of nothing")


def seconds_of(work: Callable[[], object]) -> float:
    start = process_time()
    work()
    return process_time() - start


if __name__ == "__main__":
    main()
