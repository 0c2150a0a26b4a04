"""What a command was asked, read bit by bit, with everything that is wrong with it at once."""

from collections.abc import Callable
from dataclasses import dataclass, field

from django.core.exceptions import ValidationError
from django.core.management.base import CommandError, OutputWrapper

from finishing.services.errors import Fault, InputFaults


@dataclass
class Asked:
    """Keeps the faults of what was read so far."""

    faults: list[Fault] = field(default_factory=list)

    def read[T](self, reader: Callable[[], T]) -> T | None:
        """Return what was read; None, with the faults kept, where it cannot be."""
        try:
            return reader()
        except InputFaults as error:
            self.faults.extend(error.faults)
        except ValidationError as error:
            named = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
            for place, texts in named.items():
                self.faults.extend(Fault(place, text) for text in texts)
        return None

    def end_if_faulty(self, stderr: OutputWrapper) -> None:
        """End the command with all the faults, if there are any."""
        for fault in self.faults:
            stderr.write(str(fault))
        if self.faults:
            count = "1 fault" if len(self.faults) == 1 else f"{len(self.faults)} faults"
            raise CommandError(f"{count}: nothing was changed")


def days_in_words(count: int) -> str:
    """Return "1 day" or "3 days"."""
    return "1 day" if count == 1 else f"{count} days"
