"""Faults of what someone gave us: all of them at once, each with its place."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: where ("houses.csv line 14, column level") and what.

    line, column: of a file, as numbers and names; 0 and "" where they are not known.
    """

    place: str
    text: str
    line: int = field(default=0, compare=False)
    column: str = field(default="", compare=False)

    def __str__(self) -> str:
        return f"{self.place}: {self.text}"


class InputFaults(Exception):  # noqa: N818
    """Everything wrong with an input. Nothing of it was kept."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


def faults_of_row(error: ValidationError) -> list[Fault]:
    """Return what a row's own checks say of it, by field; "" is the row as a whole."""
    return [
        Fault("" if name == NON_FIELD_ERRORS else name, text)
        for name, texts in error.message_dict.items()
        for text in texts
    ]
