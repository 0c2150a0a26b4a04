"""What Django's test client answers with: the type it returns is private to its stubs."""

from typing import Any, Protocol


class Answer(Protocol):
    """As much of a response as tests of the API look at."""

    status_code: int

    def __getitem__(self, header: str) -> str: ...

    def json(self) -> Any: ...
