"""The code of the first page, told to somebody who begins the server at a terminal."""

import sys

from django.conf import settings
from django.db import DatabaseError, connection
from django.utils.module_loading import import_string


def show_first_code() -> None:
    """Print it while nobody can sign in yet. Into no log: there ``first_code`` is to be asked."""
    if not sys.stderr.isatty():
        return
    try:
        code = import_string("finishing.services.first_owner.first_code")()
    except DatabaseError:  # it is not there, or has no tables yet
        return
    finally:
        connection.close()
    if code:
        said = f"Nobody signs in here yet. {settings.SITE_URL}/first/ asks for this code: {code}"
        print(said, file=sys.stderr)  # noqa: T201 - to whoever looks on
