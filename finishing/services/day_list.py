"""Days as a person writes them: "2026-12-24; 2026-12-27..2027-01-03"."""

from datetime import date, timedelta

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
