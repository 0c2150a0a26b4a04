"""No page, list or calendar reads a table from end to end, there is an index for each question; and
none asks many.

A database without figures about its rows, as this one is, takes an index wherever one leads to
what is asked for, however few rows there are.
"""

import re
from collections.abc import Mapping

import pytest
from django.core.cache import cache
from django.test import Client
from django.utils import timezone

from tests.api.conftest import SignIn
from tests.api.every_answer import every_answer
from tests.api.shown_company import NOON, make_shown_company
from tests.query_plans import Query, captured, tables_read_whole

pytestmark = pytest.mark.django_db(transaction=True)

MOST_QUERIES = 15
"""Of an answer, the session and who asks included, however many houses there are."""
MORE_AT_FIRST: Mapping[str, int] = {
    # What others work out (jobs.py), here at once: all that planning reads, and more.
    "air_now": 47,
    "changed": 55,
    "today_fit": 70,
    "today_odds": 56,
    # All that planning reads of one house, and what is done of the company's work.
    "house_air": 72,
    # What is in the store and on order, against the whole plan.
    "material": 19,
    "week": 23,
    # All prices, and what plans use.
    "house_costs": 21,
    "run": 23,
    "scenarios": 20,
    "list of scenarios": 22,
}
"""What works something out that is then kept until a row changes (``kept_answers.py``,
``kept_costs.py``): how many queries it takes to find."""


def test_no_answer_reads_a_table_from_end_to_end_or_the_problem_of_a_plan_or_asks_often(
    sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOON)
    shown = make_shown_company()
    client, addresses = sign_in(shown.company), every_answer(shown)
    first, again = {}, {}
    for name, address in addresses.items():
        cache.clear()
        first[name], again[name] = (asked_by(client, address) for _ in range(2))
    found = {
        name: {(one.table, one.sql.partition(" WHERE ")[2]) for one in tables_read_whole(queries)}
        for name, queries in first.items()
    }
    assert sum(map(len, first.values())) > 500
    assert {name: whole for name, whole in found.items() if whole} == {}
    whole = [name for name, queries in first.items() for sql, _ in queries if PROBLEM.search(sql)]
    assert whole == []
    assert asking_often(again) == {}
    more = asking_often(first)
    assert more.keys() == MORE_AT_FIRST.keys()
    assert {name: asked for name, asked in more.items() if asked > MORE_AT_FIRST[name]} == {}


PROBLEM = re.compile(r'"scheduling_planrun"\."problem"(, "scheduling_planrun"| FROM)')
"""The whole of it, which has megabytes; what is compared with it are its parts."""


def asked_by(client: Client, address: str) -> list[Query]:
    """Return what an address asks of the database."""
    with captured() as queries:
        assert client.get(address).status_code in (200, 302), address
    return queries


def asking_often(asked: Mapping[str, list[Query]]) -> dict[str, int]:
    """Return by name how often those ask that ask too often."""
    return {name: len(queries) for name, queries in asked.items() if len(queries) > MOST_QUERIES}
