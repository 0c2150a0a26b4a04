"""Days as a person writes them: "2026-12-24; 2026-12-27..2027-01-03"."""

from datetime import date, timedelta

from finishing.services.errors import Fault, InputFaults

LONGEST_RANGE_DAYS = 366


def read_days(text: str) -> tuple[date, ...]:
    """Read single days and ranges of days, both ends included, in order and each day once.

    Raise ValueError naming each part that cannot be read.
    """
    days: set[date] = set()
    faults: list[str] = []
    for part in filter(None, (piece.strip() for piece in text.split(";"))):
        try:
            days.update(_read_part(part))
        except ValueError:
            faults.append(part)
    if faults:
        listed = ", ".join(map(repr, faults))
        raise ValueError(f"{listed}: days are written as 2026-12-24 or 2026-12-27..2027-01-03")
    return tuple(sorted(days))


def _read_part(part: str) -> list[date]:
    ends = [date.fromisoformat(end.strip()) for end in part.split("..")]
    length = (ends[-1] - ends[0]).days + 1
    if len(ends) > 2 or not 1 <= length <= LONGEST_RANGE_DAYS:
        raise ValueError(part)
    return [ends[0] + timedelta(days=step) for step in range(length)]


def asked_days(text: str) -> tuple[date, ...]:
    """Read days that a command is given; raise InputFaults where there are none or some cannot
    be read."""
    try:
        days = read_days(text)
    except ValueError as error:
        raise InputFaults([Fault("days", str(error))]) from None
    if not days:
        raise InputFaults([Fault("days", "no day is named")])
    return days
