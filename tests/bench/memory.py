"""What an hour's requests leave in the web processes' memory:
``uv run python -m tests.bench.memory [--hours 1]``.

The requests that 30 people of an office and 2,000 calendars make in an hour, one upon another
without a pause, to gunicorn as docker-compose.yml has it, on a company with 40 houses. Prints the
resident memory of each web process at every tenth, and how much it grew over the second half.
"""

import argparse
import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from http.client import HTTPConnection
from random import Random
from urllib.parse import urlsplit

from tests.bench.busy_company import busy_company
from tests.bench.office import PEOPLE, say
from tests.bench.office_people import PENDING, Person, opened_pages, signed_in
from tests.bench.real_site import Pages, pages_of, real_site

LOOKS_AN_HOUR = 120
"""Pages that one of them opens in an hour of a busy day, beside what these fetch by themselves."""
FETCHES_AN_HOUR = 2000 * 4
PARTS, AT_ONCE = 10, 4
BOUND_MB, GROWTH_BOUND_MB = 150.0, 5.0


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--hours", type=float, default=1.0)
    hours = reader.parse_args().hours
    with real_site() as stack:
        from django.utils import timezone

        from scheduling.queries.links import links_of_company
        from scheduling.services.links import feed_address

        company = busy_company(timezone.now())
        pages = opened_pages(company)
        feeds = [urlsplit(feed_address(link)).path for link in links_of_company(company)]
        with pages_of(stack) as served, stack.worker("--queues", "air"):
            people = [
                Person(served.port, signed_in(company, number), pages, Random(number), no_pause)
                for number in range(PEOPLE)
            ]
            tell([ask_part(served, people, feeds, hours / PARTS, part) for part in range(PARTS)])


def no_pause(_seconds: float) -> None:
    """Nobody thinks."""


def ask_part(
    served: Pages, people: Sequence[Person], feeds: Sequence[str], hours: float, part: int
) -> list[float]:
    """Ask for what so many hours bring; return the memory of each process after it."""

    def look(number: int) -> None:
        asked = people[number % len(people)].look()
        assert {one.status for one in asked} <= {200, PENDING}, asked

    def fetch(number: int) -> None:
        connection = HTTPConnection("127.0.0.1", served.port, timeout=60)
        connection.request("GET", feeds[number % len(feeds)], headers={"Accept-Encoding": "gzip"})
        assert connection.getresponse().status == 200
        connection.close()

    with ThreadPoolExecutor(AT_ONCE) as room:
        looks = room.map(look, range(int(hours * LOOKS_AN_HOUR * len(people))))
        fetches = room.map(fetch, range(int(hours * FETCHES_AN_HOUR)))
        asked = len([*looks, *fetches])
    found = sorted(served.resident_mb())
    say(f"part {part + 1}, {asked} more: {', '.join(f'{mb:.0f} MB' for mb in found)}")
    return found


def tell(over_time: Sequence[Sequence[float]]) -> None:
    """Print what came of it."""
    half, last = over_time[len(over_time) // 2 - 1], over_time[-1]
    say(f"largest at the end: {max(last):.0f} MB; bound {BOUND_MB:.0f} MB")
    grown = max(last) - max(half)
    say(f"grown over the second half: {grown:.1f} MB; bound {GROWTH_BOUND_MB:.0f} MB")
    say(f"load of the machine: {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
