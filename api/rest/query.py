"""Parameters of a query, read as what they should be; faults name the parameter."""

import math
from datetime import UTC, datetime, timedelta

from rest_framework.request import Request

from finishing.services.errors import Fault, InputFaults
from finishing.services.local_times import LocalTimeError, read_local
from finishing.services.typed_numbers import number_of

LONGEST_TEXT = 40


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
        raise InputFaults([Fault(name, said)])
    return value


def yes(request: Request, name: str) -> bool:
    """Return whether a parameter is yes; blank is no."""
    text = request.query_params.get(name, "no")
    if text not in {"yes", "no"}:
        raise InputFaults([Fault(name, f"{text[:LONGEST_TEXT]!r} is neither yes nor no")])
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
        raise InputFaults(faults)
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
