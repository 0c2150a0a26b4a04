"""Which database: a file of SQLite, or the PostgreSQL that the environment names."""

import re
from pathlib import Path
from typing import Any

from finishing.config.reader import Reader, WholeNumber

CONNECT_WITHIN_S = 5
KEPT_OPEN_S = 60
_PARTS = {"host": "HOST", "dbname": "NAME", "user": "USER"}


def database(reader: Reader, *, var_dir: Path) -> dict[str, Any]:
    """Return Django's settings of the database, from COATWEAVE_DATABASE_URL or from its parts,
    COATWEAVE_DATABASE_HOST, _PORT, _NAME, _USER and _PASSWORD; the password may stand alone beside
    an address, so that it can come from a file."""
    url = reader.secret("COATWEAVE_DATABASE_URL")
    parts = {key: reader.text(f"COATWEAVE_DATABASE_{name}") for key, name in _PARTS.items()}
    port = reader.number("COATWEAVE_DATABASE_PORT", WholeNumber(0, 1, 65_535))
    password = reader.secret("COATWEAVE_DATABASE_PASSWORD")
    given = [name for key, name in _PARTS.items() if parts[key]] + ["PORT"] * bool(port)
    if url and given:
        reader.faults.append(
            "COATWEAVE_DATABASE_URL is set, and so is "
            + ", ".join(f"COATWEAVE_DATABASE_{name}" for name in given)
        )
    if url:
        return _postgresql(_of_address(reader, url), password)
    if parts["host"]:
        return _postgresql(parts | ({"port": str(port)} if port else {}), password)
    if given or password:
        reader.faults.append(
            "COATWEAVE_DATABASE_HOST is missing, while other parts of a database are set"
        )
    return _sqlite(var_dir)


def _of_address(reader: Reader, url: str) -> dict[str, str]:
    """Return the parts of an address, by the names that libpq has for them."""
    # Loaded where it is asked for: a small company on SQLite goes without the library.
    from psycopg import ProgrammingError  # noqa: PLC0415
    from psycopg.conninfo import conninfo_to_dict  # noqa: PLC0415

    try:
        if not re.match(r"postgres(ql)?://", url):
            raise ProgrammingError
        return {key: str(value) for key, value in conninfo_to_dict(url).items()}
    except ProgrammingError:  # it would show the address, and the password in it
        reader.faults.append(
            "COATWEAVE_DATABASE_URL: not an address of PostgreSQL (postgresql://USER@HOST/NAME)"
        )
        return {}


def _postgresql(parts: dict[str, str], password: str) -> dict[str, Any]:
    rest = dict(parts)
    return {
        "ENGINE": "django.db.backends.postgresql",
        "HOST": rest.pop("host", ""),
        "PORT": rest.pop("port", ""),
        "NAME": rest.pop("dbname", "") or "coatweave",
        "USER": rest.pop("user", "") or "coatweave",
        "PASSWORD": password or rest.get("password", ""),
        "CONN_MAX_AGE": KEPT_OPEN_S,
        "CONN_HEALTH_CHECKS": True,
        "OPTIONS": {
            "connect_timeout": CONNECT_WITHIN_S,
            **{key: value for key, value in rest.items() if key != "password"},
        },
    }


def _sqlite(var_dir: Path) -> dict[str, Any]:
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": var_dir / "coatweave.sqlite3",
        "CONN_MAX_AGE": KEPT_OPEN_S,  # opening it takes four times as long as asking it
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
        },
    }
