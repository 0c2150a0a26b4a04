"""Which planning run a process works on, in every line that it logs meanwhile."""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_RUN: ContextVar[str] = ContextVar("run", default="")


@contextmanager
def logged_as(run: object) -> Iterator[None]:
    """Name a run in what is logged within. run: its public id, which its page has too."""
    token = _RUN.set(str(run))
    try:
        yield
    finally:
        _RUN.reset(token)


class RunFilter(logging.Filter):
    """Gives a record the run that was worked on, blank for none."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.run = _RUN.get()
        return True
