"""How a database finds the rows of queries: which tables it reads from end to end."""

import json
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from django.db import connection

type Query = tuple[str, Any]


@dataclass(frozen=True)
class ReadWhole:
    """A table that a query reads from end to end, for want of an index."""

    table: str
    sql: str


@contextmanager
def captured() -> Iterator[list[Query]]:
    """Collect what is asked of the database, with its values."""
    found: list[Query] = []

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if sql.startswith("SELECT") and not many:
            found.append((sql, params))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        yield found


def tables_read_whole(queries: Iterable[Query]) -> list[ReadWhole]:
    """Return what the database reads from end to end, as it explains each query (``EXPLAIN``)."""
    explain = _of_sqlite if connection.vendor == "sqlite" else _of_postgresql
    by_sql = dict(queries)
    return [
        ReadWhole(table, sql) for sql, params in by_sql.items() for table in explain(sql, params)
    ]


def _of_sqlite(sql: str, params: Any) -> Iterator[str]:
    """https://sqlite.org/eqp.html: "SCAN" is a full scan, by an index or not, "SEARCH" is none."""
    named = {alias: table for table, alias in re.findall(r'"(\w+)" (?:AS )?"?([TUVW]\d+)"?', sql)}
    for row in _explained(None, sql, params):
        if scan := re.match(r"SCAN (\w+)", row[-1]):
            name = str(named.get(scan[1], scan[1]))
            if name.startswith(("finishing_", "scheduling_", "django_")):
                yield name


def _of_postgresql(sql: str, params: Any) -> Iterator[str]:
    ((found,),) = _explained("JSON", sql, params)
    plans = found if isinstance(found, list) else json.loads(found)
    yield from _scans(plans[0]["Plan"])


def _scans(node: Any) -> Iterator[str]:
    if node["Node Type"] == "Seq Scan":
        yield node["Relation Name"]
    for inner in node.get("Plans", ()):
        yield from _scans(inner)


def _explained(form: str | None, sql: str, params: Any) -> list[Any]:
    prefix = connection.ops.explain_query_prefix(form)
    with connection.cursor() as cursor:
        cursor.execute(f"{prefix} {sql}", params)
        return list(cursor.fetchall())
