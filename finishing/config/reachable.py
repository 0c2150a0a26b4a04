"""Whether the database answers: asked when something starts, so that it ends with one line and not
with the traceback of whatever needed it first."""

from django.db import OperationalError, connection


def require_database() -> None:
    """Raise SystemExit where the database cannot be reached."""
    try:
        connection.ensure_connection()
    except OperationalError as error:
        raise SystemExit(unreachable(error)) from None
    finally:
        connection.close()  # processes that are forked later have connections of their own


def unreachable(error: OperationalError) -> str:
    """Return the one line that says so: where the database is, and why it cannot be reached."""
    where = connection.settings_dict
    place = f"{where['HOST']}:{where['PORT'] or 5432}/" if where.get("HOST") else ""
    why = " ".join(str(error).split())[:300]
    return f"the database {place}{where['NAME']} cannot be reached: {why}"
