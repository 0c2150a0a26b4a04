"""Working and access hours as a person writes them: "mon-thu 07:00-15:30; fri 07:00-13:00"."""

import re
from dataclasses import dataclass
from datetime import time
from itertools import pairwise

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_WINDOW = re.compile(r"(\d{1,2}):(\d\d)\s*-\s*(\d{1,2}):(\d\d)")


@dataclass(frozen=True, slots=True, order=True)
class WeeklyWindow:
    """From start to end, local time, on a weekday (0 Monday)."""

    weekday: int
    start: time
    end: time


class HoursError(ValueError):
    """Hours that cannot be read; ``faults`` holds one sentence for each thing wrong."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults
        super().__init__("; ".join(faults))


def parse_hours(text: str) -> tuple[WeeklyWindow, ...]:
    """Read weekly windows: "DAYS WINDOW [WINDOW ...]; DAYS WINDOW ...".

    DAYS is a weekday ("mon"), a range ("mon-fri", "sat-mon" runs over the weekend) or several of
    these joined by "+" or ",". WINDOW is "07:00-15:30"; several windows make a day with a break.
    Blank text gives no windows. The result is in order of weekday and start.
    Raise :class:`HoursError` with every fault: unknown days, times that are none, windows that
    end before they start or overlap.
    """
    windows: list[WeeklyWindow] = []
    faults: list[str] = []
    for group in filter(None, (part.strip() for part in text.lower().split(";"))):
        _read_group(group, windows, faults)
    windows.sort()
    faults.extend(_overlaps(windows))
    if faults:
        raise HoursError(faults)
    return tuple(windows)


def _read_group(group: str, windows: list[WeeklyWindow], faults: list[str]) -> None:
    first_digit = re.search(r"\d", group)
    if first_digit is None:
        faults.append(f"{group!r} has no times such as 07:00-15:30")
        return
    days = _read_days(group[: first_digit.start()], faults)
    for start, end in _read_times(group[first_digit.start() :], faults):
        windows.extend(WeeklyWindow(day, start, end) for day in days)


def _read_days(text: str, faults: list[str]) -> list[int]:
    days: list[int] = []
    parts = [part.strip() for part in re.split(r"[,+]", text) if part.strip()]
    if not parts:
        faults.append('no weekday before the times: write "mon-fri 07:00-15:30"')
    for part in parts:
        ends = [name.strip() for name in part.split("-")]
        unknown = [name for name in ends if name not in WEEKDAYS]
        if unknown or len(ends) > 2:
            faults.append(f"{part!r} is not a weekday or a range of {'/'.join(WEEKDAYS)}")
            continue
        first, last = WEEKDAYS.index(ends[0]), WEEKDAYS.index(ends[-1])
        days.extend((first + step) % 7 for step in range((last - first) % 7 + 1))
    return days


def _read_times(text: str, faults: list[str]) -> list[tuple[time, time]]:
    times: list[tuple[time, time]] = []
    rest = _WINDOW.sub("", text).strip(" ,")
    if rest:
        faults.append(f"{rest!r} is not a time window such as 07:00-15:30")
    for match in _WINDOW.finditer(text):
        hour, minute, end_hour, end_minute = map(int, match.groups())
        try:
            start, end = time(hour, minute), time(end_hour, end_minute)
        except ValueError:
            faults.append(f"{match[0]!r} is not a time of day (00:00-23:59)")
            continue
        if start < end:
            times.append((start, end))
        else:
            faults.append(f"{match[0]!r} ends before it starts")
    return times


def _overlaps(windows: list[WeeklyWindow]) -> list[str]:
    return [
        f"windows overlap on {WEEKDAYS[first.weekday]} at {second.start:%H:%M}"
        for first, second in pairwise(windows)
        if first.weekday == second.weekday and second.start < first.end
    ]
