"""Local times as people write them, brought to UTC; the clock change is never guessed."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

YEARS = range(2000, 2101)
"""Days and times outside are slips of a hand."""


class LocalTimeError(ValueError):
    """A local time that cannot be read, does not exist or happens twice."""


class TwiceError(LocalTimeError):
    """A local time that happens twice, when the clock goes back."""


def read_local(text: str) -> datetime:
    """Read "2026-03-02 15:30", with "T", seconds and an offset or "Z" allowed."""
    try:
        if len(text) < len("2026-03-02 15:30"):
            raise ValueError(text)
        found = datetime.fromisoformat(text)
    except ValueError:
        raise LocalTimeError(f"{text!r} is not a time written as 2026-03-02 15:30") from None
    if found.year not in YEARS:
        raise LocalTimeError(f"{text} is not in the years {YEARS[0]} to {YEARS[-1]}")
    return found


def utc_of(local: datetime, zone: ZoneInfo) -> datetime:
    """Return the UTC instant of a local time; one that carries an offset keeps it.

    Raise :class:`LocalTimeError` for a time that the clock jumps over and :class:`TwiceError`
    for one that happens twice.
    """
    if local.tzinfo is not None:
        return local.astimezone(UTC)
    first, second = (local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    if first.astimezone(zone).replace(tzinfo=None) != local:
        raise LocalTimeError(f"{local:%Y-%m-%d %H:%M} does not exist in {zone.key}: clock change")
    if first != second:
        raise TwiceError(
            f"{local:%Y-%m-%d %H:%M} happens twice in {zone.key}: add the offset, such as "
            f"{local.replace(tzinfo=zone).isoformat(timespec='minutes')}"
        )
    return first


def both_utc_of(local: datetime, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the two instants of a local time that happens twice, the earlier first."""
    first, second = (local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    return first, second
