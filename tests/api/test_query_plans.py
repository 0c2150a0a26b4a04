"""No page, list or calendar reads a table from end to end, there is an index for each question; and
none asks many.

A database without figures about its rows, as this one is, takes an index wherever one leads to
what is asked for, however few rows there are.
"""

import re

import pytest
from django.core.cache import cache
from django.test import Client
from django.utils import timezone

from scheduling import jobs
from scheduling.services.kept_answers import Of
from tests.api.conftest import SignIn
from tests.api.every_answer import every_answer
from tests.api.shown_company import NOON, make_shown_company
from tests.query_plans import Query, captured, tables_read_whole

pytestmark = pytest.mark.django_db(transaction=True)

MOST_QUERIES = 15
"""Of an answer, the session and who asks included, however many houses there are."""
TO_COME = {
    *("air_now", "changed", "today_fit", "today_odds"),
    *("house_air", "late_material", "material", "week"),
    *("costs", "house_costs", "run", "scenarios"),
}
"""What is not found yet when these are looked at first: somebody else finds it (``jobs.py``)."""
FOUND_HERE = {"list of scenarios": 17}
"""A program is not told to come again: it waits until costs are found, which are then kept."""


def test_no_answer_reads_a_table_from_end_to_end_or_the_problem_of_a_plan_or_asks_often(
    sign_in: SignIn, monkeypatch: pytest.MonkeyPatch, asked: list[tuple[int, str, Of]]
) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOON)
    shown = make_shown_company()
    client, addresses = sign_in(shown.company), every_answer(shown)
    looks: dict[str, list[list[Query]]] = {}
    to_come = set()
    for name, address in addresses.items():
        cache.clear()
        looks[name] = [asked_by(client, address)]
        if asked:
            to_come.add(name)
            with captured() as by_others:
                jobs.find_answer(asked.pop())
            assert [one.table for one in tables_read_whole(by_others)] == []
        looks[name].append(asked_by(client, address))
        assert not asked, name
    queries = {name: [one for look in of_two for one in look] for name, of_two in looks.items()}
    assert sum(map(len, queries.values())) > 1000
    found = {
        name: {(one.table, one.sql.partition(" WHERE ")[2]) for one in tables_read_whole(of_one)}
        for name, of_one in queries.items()
    }
    assert {name: whole for name, whole in found.items() if whole} == {}
    assert [n for n, of_one in queries.items() for sql, _ in of_one if PROBLEM.search(sql)] == []
    most = {name: max(map(len, of_two)) for name, of_two in looks.items()}
    assert {name: n for name, n in most.items() if n > FOUND_HERE.get(name, MOST_QUERIES)} == {}
    assert to_come == TO_COME


PROBLEM = re.compile(r'"scheduling_planrun"\."problem"(, "scheduling_planrun"| FROM)')
"""The whole of it, which has megabytes; what is compared with it are its parts."""


def asked_by(client: Client, address: str) -> list[Query]:
    """Return what an address asks of the database."""
    with captured() as queries:
        assert client.get(address).status_code in (200, 302), address
    return queries
