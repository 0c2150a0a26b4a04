"""No page, list or calendar reads a table from end to end: there is an index for each question.

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


def test_no_answer_reads_a_table_from_end_to_end_or_the_problem_of_a_plan(
    sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOON)
    shown = make_shown_company()
    asked = asked_by(sign_in(shown.company), every_answer(shown))
    found = {
        name: {(one.table, one.sql.partition(" WHERE ")[2]) for one in tables_read_whole(queries)}
        for name, queries in asked.items()
    }
    assert sum(len(queries) for queries in asked.values()) > 500
    assert {name: whole for name, whole in found.items() if whole} == {}
    whole = [name for name, queries in asked.items() for sql, _ in queries if PROBLEM.search(sql)]
    assert whole == []


PROBLEM = re.compile(r'"scheduling_planrun"\."problem"(, "scheduling_planrun"| FROM)')
"""The whole of it, which has megabytes; what is compared with it are its parts."""


def asked_by(client: Client, addresses: Mapping[str, str]) -> dict[str, list[Query]]:
    """Return by name what each address asks of the database, nothing kept from before."""
    found = {}
    for name, address in addresses.items():
        cache.clear()
        with captured() as queries:
            assert client.get(address).status_code in (200, 302), address
        found[name] = queries
    return found
