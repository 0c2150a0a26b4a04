"""Whether this process can do its work: what it needs from others, asked anew each time."""

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

BROKER_WITHIN_S = 2


def what_is_ready() -> dict[str, bool]:
    """Return, by name of what is needed, whether it is there: the database, its tables as this
    program knows them, and the broker where one is set."""
    database = _database_answers()
    ready = {"database": database, "migrations": database and _tables_are_current()}
    if settings.CELERY_BROKER_URL:
        ready["broker"] = _broker_answers(settings.CELERY_BROKER_URL)
    return ready


def _database_answers() -> bool:
    try:
        connection.ensure_connection()
        return connection.is_usable()
    except DatabaseError:
        return False


def _tables_are_current() -> bool:
    """Return whether every migration has run. One that is only in the database is of a newer
    program: during an update the older one goes on."""
    try:
        executor = MigrationExecutor(connection)
        return not executor.migration_plan(executor.loader.graph.leaf_nodes())
    except DatabaseError:
        return False


def _broker_answers(url: str) -> bool:
    # Loaded where there is a broker: the embedded default goes without.
    from kombu import Connection  # noqa: PLC0415
    from kombu.exceptions import OperationalError  # noqa: PLC0415

    try:
        with Connection(url, connect_timeout=BROKER_WITHIN_S) as broker:
            broker.ensure_connection(max_retries=1, timeout=BROKER_WITHIN_S)
    except (OperationalError, OSError):
        return False
    return True
