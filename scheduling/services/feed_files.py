"""The last bytes of each feed in a file, for when the database fails.

A file is named by the hash of the secret, as rows have it: the secret itself is on no disk.
"""

import os
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings


@dataclass(frozen=True)
class KeptFeed:
    """The bytes of a feed, and when they last changed."""

    body: bytes
    modified_at: datetime


def keep_file(digests: Iterable[str], body: bytes, modified_at: datetime) -> None:
    """Put a feed's bytes in its files. Whoever reads one has the whole old or the whole new."""
    settings.FEED_DIR.mkdir(parents=True, exist_ok=True)
    for digest in digests:
        handle, name = tempfile.mkstemp(dir=settings.FEED_DIR)  # only its owner may read it
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(body)
            os.utime(name, (modified_at.timestamp(), modified_at.timestamp()))
            Path(name).replace(_path(digest))
        except OSError:  # what is left of it would fill a full disk further
            Path(name).unlink(missing_ok=True)
            raise


def kept_file(digest: str) -> KeptFeed | None:
    """Return what is kept for a secret's hash; None where nothing is."""
    try:
        path = _path(digest)
        stamp = datetime.fromtimestamp(path.stat().st_mtime, UTC)
        return KeptFeed(path.read_bytes(), stamp)
    except OSError:
        return None


def forget_file(digest: str) -> None:
    """Take a file away, if there is one."""
    _path(digest).unlink(missing_ok=True)


def _path(digest: str) -> Path:
    path: Path = settings.FEED_DIR / f"{digest}.ics"
    return path
