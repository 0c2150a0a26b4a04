"""A site with a thousand companies beside one with a single one:
``uv run python -m tests.bench.database [--companies 1000]``.

Two databases in one PostgreSQL: one has a company with 20 houses, a plan and another that is a
year old; in the other the same company has three years of plans behind it, and so have a thousand
others, copied from it: 20,000 houses to plan, three times as many that are over, 2 million planned
tasks. Every page, list and calendar of that company is asked for by turns
in both. Prints how much longer the large database takes, and what it reads from end to end.
"""

import argparse
import os
from collections import defaultdict
from collections.abc import Mapping
from time import monotonic, perf_counter
from typing import TYPE_CHECKING

from tests.bench.busy_company import busy_company
from tests.bench.copies import copy_company
from tests.bench.office import say
from tests.bench.past_years import YEARS, put_past_year
from tests.bench.real_site import DATABASE, real_site

if TYPE_CHECKING:
    from django.test import Client

    from finishing.models import Company
    from tests.production.stack import Stack

HOUSES, AIR_DAYS, LARGE = 20, 60, "large"
ROUNDS, RATIO_BOUND = 9, 1.5
"""The quickest of so many counts: what else a machine does only ever adds to the others."""
MANY_ROWS = 10_000
"""A table with fewer is read as soon from end to end as by an index."""
SOONEST_S = 0.004
"""What takes less on both is as soon there as anybody could tell."""


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--companies", type=int, default=1000)
    number = reader.parse_args().companies
    with real_site() as stack:
        from django.conf import settings
        from django.utils import timezone

        settings.ALLOWED_HOSTS = ["testserver"]
        company = busy_company(timezone.now(), houses=HOUSES, air_days=AIR_DAYS)
        client, addresses = looked_at(company)
        put_past_year(company, 1)
        fill(stack, company.pk, number)
        compare(stack, client, addresses)
    say(f"load of the machine: {os.getloadavg()[0]:.1f}")


def looked_at(company: "Company") -> tuple["Client", Mapping[str, str]]:
    """Return a browser of somebody of the company, and every address by what it is called."""
    from django.test import Client

    from finishing.models.user import Role, User
    from tests.api.every_answer import every_answer, shown_of
    from tests.api.rest.whole_company import add_webhook_told

    add_webhook_told(company)
    client = Client()
    owner = {"email": "owner@example.com", "role": Role.OWNER}
    client.force_login(User.objects.create(company=company, **owner))
    return client, every_answer(shown_of(company))


def fill(stack: "Stack", template: int, companies: int) -> None:
    """Copy the database and fill the copy."""
    from django.db import connection, connections

    from finishing.models import Company, House
    from scheduling.models import PlannedTask
    from tests.production.conftest import connected_to

    connections.close_all()
    stack.postgres.make_database(LARGE, DATABASE)
    began = monotonic()
    with connected_to(stack.postgres, LARGE):
        company = Company.objects.get(pk=template)
        for years_ago in range(2, YEARS + 1):
            put_past_year(company, years_ago)
        copy_company(company, companies - 1)
        with connection.cursor() as cursor:
            cursor.execute("VACUUM ANALYZE")
        say(
            f"{Company.objects.count()} companies, {House.objects.count()} houses, "
            f"{PlannedTask.objects.count()} planned tasks, filled in {monotonic() - began:.0f} s"
        )


def compare(stack: "Stack", client: "Client", addresses: Mapping[str, str]) -> None:
    """Ask for everything in both databases by turns, and print what became slower."""
    from tests.production.conftest import connected_to

    spent: dict[str, dict[str, list[float]]] = {DATABASE: {}, LARGE: {}}
    for _ in range(ROUNDS):
        for database, times in spent.items():
            with connected_to(stack.postgres, database):
                for name, seconds in times_of(client, addresses).items():
                    times.setdefault(name, []).append(seconds)
    with connected_to(stack.postgres, LARGE):
        tell_plans(client, addresses)
    ratios = {
        name: max(SOONEST_S, min(spent[LARGE][name])) / max(SOONEST_S, min(small))
        for name, small in spent[DATABASE].items()
    }
    for name, ratio in sorted(ratios.items(), key=lambda item: -item[1]):
        small, large = (1000 * min(spent[one][name]) for one in (DATABASE, LARGE))
        say(f"  {name}: {small:.0f} ms, {large:.0f} ms, {ratio:.2f}")
    slower = [name for name, ratio in ratios.items() if ratio > RATIO_BOUND]
    say(f"{len(ratios)} addresses; slower than {RATIO_BOUND} times: {slower or 'none'}")


def times_of(client: "Client", addresses: Mapping[str, str]) -> dict[str, float]:
    """Return how long each address takes, nothing kept from before but the connection."""
    from django.core.cache import cache

    client.get("/")
    found = {}
    for name, address in addresses.items():
        cache.clear()
        began = perf_counter()
        answer = client.get(address)
        found[name] = perf_counter() - began
        assert answer.status_code in (200, 302), (name, answer.status_code)
    return found


def tell_plans(client: "Client", addresses: Mapping[str, str]) -> None:
    """Print the tables of many rows that PostgreSQL reads from end to end for an address."""
    from django.core.cache import cache

    from tests.query_plans import captured, tables_read_whole

    found, large = defaultdict(set), tables_with_many_rows()
    for name, address in addresses.items():
        cache.clear()
        with captured() as queries:
            client.get(address)
        for one in tables_read_whole(queries):
            if one.table in large:
                where = one.sql.partition(" WHERE ")[2]
                found[f"{one.table}: {where[:200]}"].add(name)
    say(f"read from end to end: {len(found) or 'nothing'}")
    for what, names in found.items():
        say(f"  {what} ({', '.join(sorted(names)[:4])})")


def tables_with_many_rows() -> set[str]:
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("SELECT relname FROM pg_class WHERE reltuples > %s", [MANY_ROWS])
        return {name for (name,) in cursor.fetchall()}


if __name__ == "__main__":
    main()
