"""What pages, lists and calendars ask PostgreSQL for, an index leads to."""

import pytest
from django.db import connection
from django.test import Client

from finishing.models.user import Role, User
from tests.api.every_answer import every_answer, shown_of
from tests.api.rest.whole_company import whole_company
from tests.production.stack import Stack
from tests.query_plans import captured, tables_read_whole

pytestmark = pytest.mark.services


def test_no_answer_has_to_read_a_table_from_end_to_end(stack: Stack) -> None:
    """Reading so is made dear, as it is with many rows: what is still read so has no index."""
    company, _ = whole_company()
    client = Client()
    client.force_login(
        User.objects.create(email="owner@example.com", company=company, role=Role.OWNER)
    )
    whole, asked = set(), 0
    with connection.cursor() as cursor:
        cursor.execute("SET enable_seqscan = off")
    for name, address in every_answer(shown_of(company)).items():
        with captured() as queries:
            assert client.get(address).status_code in (200, 302), name
        asked += len(queries)
        whole |= {(name, one.table, one.sql) for one in tables_read_whole(queries)}
    assert asked > 500
    assert whole == set()
