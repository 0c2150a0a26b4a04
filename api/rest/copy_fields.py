"""Copies of a house, as they are asked for."""

from collections.abc import Iterator, Mapping
from typing import Any

from api.rest.fields import Day, Text
from api.rest.serializers import Strict
from finishing.services.copy_house import (
    LONGEST_ADDRESS,
    LONGEST_NAME,
    MOST_COPIES,
    HouseCopy,
    copy_faults,
)
from finishing.services.errors import Fault


class CopySerializer(Strict):
    """A house to be made. How long its texts may be is said with what else is wrong with it."""

    name = Text(allow_blank=True, help_text=f"at most {LONGEST_NAME} characters")
    address = Text(
        required=False, allow_blank=True, help_text=f"at most {LONGEST_ADDRESS} characters"
    )


class CopiesSerializer(Strict):
    copies = CopySerializer(many=True, help_text=f"at most {MOST_COPIES}")
    handover_on = Day(help_text="of all of them, in the house's zone")

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        if "copies" in values:
            yield from copy_faults(self.context["company"], copies_of(values))


def copies_of(values: Mapping[str, Any]) -> list[HouseCopy]:
    """Return the houses to be made, as the service takes them."""
    return [HouseCopy(**copy) for copy in values["copies"]]
