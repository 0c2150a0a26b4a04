"""Reading rows of many tables as they were at one moment, whoever writes meanwhile."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction


@contextmanager
def one_moment() -> Iterator[None]:
    """Have all that is read within be of one moment; nobody waits for it, and it writes nothing.

    A transaction of SQLite is so by itself. One of PostgreSQL shows in each statement what has been
    stored by then, unless it begins as repeatable.
    """
    with _repeatable(), transaction.atomic(durable=True):
        yield


@contextmanager
def _repeatable() -> Iterator[None]:
    """Have PostgreSQL begin its transactions so; not those within a test's own."""
    if connection.vendor != "postgresql" or connection.in_atomic_block:
        yield
        return
    from psycopg import IsolationLevel  # noqa: PLC0415 - SQLite goes without the library

    connection.ensure_connection()
    before = connection.connection.isolation_level
    connection.connection.isolation_level = IsolationLevel.REPEATABLE_READ
    try:
        yield
    finally:
        connection.connection.isolation_level = before
