"""Whether something failed because a disk has no room left."""

import errno

NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})
_POSTGRESQL, _SQLITE = "53100", "SQLITE_FULL"
"""What the databases call it: PostgreSQL's manual, appendix A, disk_full; SQLite's result codes."""


def has_no_room(error: BaseException | None) -> bool:
    """Return whether an error, or what it came from, says that a disk is full."""
    while error is not None:
        if isinstance(error, OSError) and error.errno in NO_ROOM:
            return True
        said = getattr(error, "sqlstate", None) or getattr(error, "sqlite_errorname", None)
        if said in (_POSTGRESQL, _SQLITE):
            return True
        error = error.__cause__ or error.__context__
    return False
