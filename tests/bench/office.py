"""30 people of an office at once: ``uv run python -m tests.bench.office [--seconds 180]``.

They open the pages of a company with 40 houses, think times between, on gunicorn and PostgreSQL as
docker-compose.yml has them. Prints how long pages took, and what they fetch by themselves once they
are there; each kind of address by itself.
"""

import argparse
import os
import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from random import Random
from statistics import median, quantiles
from time import monotonic, sleep

from tests.bench.busy_company import busy_company
from tests.bench.office_people import PENDING, Asked, Person, opened_pages, signed_in
from tests.bench.real_site import pages_of, real_site

PEOPLE, P95_BOUND_S = 30, 0.5
_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f-]{27}")


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--seconds", type=float, default=180.0)
    seconds = reader.parse_args().seconds
    with real_site() as stack:
        from django.utils import timezone

        company = busy_company(timezone.now())
        pages = opened_pages(company)
        with pages_of(stack) as served, stack.worker("--queues", "air"):
            people = [
                Person(served.port, signed_in(company, number), pages, Random(number), sleep)
                for number in range(PEOPLE)
            ]
            asked = look_for(people, seconds)
            say(f"web processes: {', '.join(f'{mb:.0f} MB' for mb in served.resident_mb())}")
    tell(asked)


def look_for(people: Sequence[Person], seconds: float) -> list[Asked]:
    """Have everybody look at pages for so long, all at once."""
    until = monotonic() + seconds

    def day_of(person: Person) -> list[Asked]:
        found: list[Asked] = []
        while monotonic() < until:
            found += person.look()
        return found

    with ThreadPoolExecutor(len(people)) as room:
        return [one for found in room.map(day_of, people) for one in found]


def tell(asked: Sequence[Asked]) -> None:
    """Print what came of it."""
    failed = [one for one in asked if one.status not in (200, PENDING)]
    say(f"{len(asked)} answers, {len(failed)} of them no page {failed[:5]}")
    pages = [one.seconds for one in asked if not one.is_part]
    say(f"pages: {spread(pages)}; bound of the 95th: {1000 * P95_BOUND_S:.0f} ms")
    say(f"what they fetch: {spread([one.seconds for one in asked if one.is_part])}")
    say(f"answers that a worker had yet to find: {sum(one.status == PENDING for one in asked)}")
    by_kind: defaultdict[str, list[float]] = defaultdict(list)
    for one in asked:
        by_kind[_ID.sub("...", one.address)].append(one.seconds)
    for address, seconds in sorted(by_kind.items(), key=lambda kind: -sum(kind[1])):
        say(f"  {address}: {spread(seconds)}")
    say(f"load of the machine: {os.getloadavg()[0]:.1f}")


def spread(seconds: Iterable[float]) -> str:
    """Say the middle and the slow end of some times."""
    found = sorted(seconds)
    if len(found) < 2:
        return f"{len(found)} times, {1000 * sum(found):.0f} ms"
    p95 = quantiles(found, n=20)[-1]
    return (
        f"{len(found)} times, p50 {1000 * median(found):.0f} ms, p95 {1000 * p95:.0f} ms, "
        f"slowest {1000 * found[-1]:.0f} ms"
    )


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - a bench prints


if __name__ == "__main__":
    main()
