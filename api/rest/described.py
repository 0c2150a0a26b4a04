"""What handlers say of themselves for the description of the API, handed on when somebody asks for
that: what makes it takes 4 MB of a process, and few ever read it."""

from collections.abc import Callable
from threading import Lock
from typing import Any

_SAID: list[tuple[Callable[..., Any], dict[str, Any]]] = []
_LOCK = Lock()


def described_as[F: Callable[..., Any]](**said: Any) -> Callable[[F], F]:
    """Say of a handler what ``drf_spectacular.utils.extend_schema`` takes."""

    def note(handler: F) -> F:
        _SAID.append((handler, said))
        return handler

    return note


def hand_on(describing: type) -> None:
    """Tell drf-spectacular what handlers have said. describing: the class that describes them."""
    from drf_spectacular.utils import extend_schema  # noqa: PLC0415 - it loads all that it has

    with _LOCK:
        while _SAID:
            handler, said = _SAID.pop()
            handler.kwargs = {**getattr(handler, "kwargs", {}), "schema": describing}  # type: ignore[attr-defined]
            extend_schema(**said)(handler)
