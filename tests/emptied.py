"""An empty database after a test whose transactions are real, in a moment."""

from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.core.management.color import no_style
from django.db import connection
from django.test import TransactionTestCase

KEPT = {ContentType._meta.db_table, Permission._meta.db_table}
"""What a migration fills in and no test changes. Django empties these too and fills them in again,
some 100 kinds of rows and 400 permissions after every test."""


def empty_tables(_: TransactionTestCase) -> None:
    """Stands for Django's own ``_fixture_teardown``."""
    tables = connection.introspection.django_table_names(only_existing=True, include_views=False)
    emptied = [table for table in tables if table not in KEPT]
    connection.ops.execute_sql_flush(connection.ops.sql_flush(no_style(), emptied))
