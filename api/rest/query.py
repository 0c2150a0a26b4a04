"""Parameters of a query, read as what they should be; faults name the parameter."""

import math
from collections.abc import Collection, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any, ClassVar, cast

from rest_framework import serializers
from rest_framework.request import Request

from api.rest.errors import QueryFaults, faults_in
from api.rest.serializers import Strict
from finishing.services.errors import Fault
from finishing.services.local_times import LocalTimeError, read_local
from finishing.services.typed_numbers import number_of

LONGEST_TEXT = 40
MOST_ROWS = 500
USUAL_ROWS = 100


class Flag(serializers.ChoiceField):
    """true or false, as a query has it."""

    def __init__(self, **options: Any) -> None:
        super().__init__(choices=["true", "false"], **options)

    def to_internal_value(self, data: Any) -> Any:
        return bool(super().to_internal_value(data) == "true")


class Query(Strict):
    """What an address may be asked for, read all at once."""

    @classmethod
    def read(cls, request: Request, **context: Any) -> dict[str, Any]:
        """Return the values by source; raise QueryFaults with all that is wrong.

        context: ``company`` where a parameter names a row.
        """
        asked = cls(data=request.query_params.dict(), context=context)
        faults = list(repeated(request))
        if not asked.is_valid():
            found = faults_in(asked.errors)
            faults += [Fault(place.lstrip("/"), text) for place, text in found]
        if faults:
            raise QueryFaults(faults)
        return cast(dict[str, Any], asked.validated_data)


class Listing(Query):
    """What a list may be asked for; a field more of a list is a filter, its source a lookup."""

    limit = serializers.IntegerField(
        min_value=1, max_value=MOST_ROWS, default=USUAL_ROWS, help_text="rows at most"
    )
    cursor = serializers.CharField(
        required=False, max_length=200, help_text="from next or previous of the answer before"
    )

    not_filters: ClassVar[Collection[str]] = ("limit", "cursor")

    @classmethod
    def filters(cls, request: Request) -> dict[str, Any]:
        """Return only what rows are to be chosen by."""
        return cls.chosen(cls.read(request))

    @classmethod
    def chosen(cls, asked: Mapping[str, Any]) -> dict[str, Any]:
        """Return of what was asked only what rows are to be chosen by."""
        return {name: value for name, value in asked.items() if name not in cls.not_filters}


def repeated(request: Request) -> Iterator[Fault]:
    """Yield the parameters that are there more than once."""
    for name, values in request.query_params.lists():
        if len(values) > 1:
            yield Fault(name[:LONGEST_TEXT], "is there more than once")


def refuse_unknown(request: Request, known: Collection[str]) -> None:
    """Raise QueryFaults with every parameter of another name than these, or there twice."""
    named = f"known: {', '.join(known)}" if known else "there are none"
    faults = [
        Fault(name[:LONGEST_TEXT], f"is not known here; {named}")
        for name in request.query_params
        if name not in known
    ]
    if faults := [*faults, *repeated(request)]:
        raise QueryFaults(faults)


def percent(request: Request, name: str, *, usual: float) -> float:
    """Return a percentage strictly between 0 and 100."""
    text = request.query_params.get(name)
    if text is None:
        return usual
    try:
        value = number_of(text)
    except ValueError:
        value = math.nan
    if not 0 < value < 100:
        said = f"{text[:LONGEST_TEXT]!r} is not a number between 0 and 100"
        raise QueryFaults([Fault(name, said)])
    return value


def yes(request: Request, name: str) -> bool:
    """Return whether a parameter is yes; blank is no."""
    text = request.query_params.get(name, "no")
    if text not in {"yes", "no"}:
        raise QueryFaults([Fault(name, f"{text[:LONGEST_TEXT]!r} is neither yes nor no")])
    return text == "yes"


def span(
    request: Request, *, usual_start: datetime, usual: timedelta, longest: timedelta
) -> tuple[datetime, datetime]:
    """Return "from" and "to" in UTC, at most so far apart."""
    faults: list[Fault] = []
    first = _moment(request, "from", faults) or usual_start
    end = _moment(request, "to", faults) or first + usual
    if not faults and end <= first:
        faults.append(Fault("to", "is not after from"))
    elif not faults and end - first > longest:
        faults.append(Fault("to", f"is more than {longest.days} days after from"))
    if faults:
        raise QueryFaults(faults)
    return first, end


def _moment(request: Request, name: str, faults: list[Fault]) -> datetime | None:
    text = request.query_params.get(name)
    if text is None:
        return None
    try:
        moment = read_local(text[:LONGEST_TEXT])
    except LocalTimeError as error:
        faults.append(Fault(name, str(error)))
        return None
    if moment.tzinfo is None:
        faults.append(Fault(name, f"{text!r} has neither an offset nor a Z"))
        return None
    return moment.astimezone(UTC)
