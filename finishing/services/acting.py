"""Which program acts: the deeds and edits of a request of the API stand under its token's name.

Services are told which person acts (``by``). That a program did it, for that person or on its own,
is the same for all that one request does, so it is noted here once and not handed through each.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_program: ContextVar[str] = ContextVar("program", default="")


@contextmanager
def acting(program: str) -> Iterator[None]:
    """Note the program for what is done inside; "" is none."""
    token = _program.set(program)
    try:
        yield
    finally:
        _program.reset(token)


def acting_program() -> str:
    """Return the program that acts, "" for none."""
    return _program.get()
