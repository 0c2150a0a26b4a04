"""Invented streets of houses for the solver's tests, all from one seed."""

from itertools import pairwise
from random import Random

from scheduling.solver.problem import (
    Crew,
    Handover,
    House,
    Problem,
    ReadyCurve,
    Task,
    Wait,
    Window,
    constant_lag,
)

DAY = 288
HOUR = 12
STAGES = ("tape", "second", "finish", "sand")


def crew_windows(days: int, heads: int = 2) -> tuple[Window, ...]:
    """Seven to noon and half past twelve to four, five days of seven."""
    windows = []
    for day in range(days):
        if day % 7 < 5:
            start = day * DAY
            windows.append(Window(start + 7 * HOUR, start + 12 * HOUR, day, heads))
            windows.append(Window(start + 12 * HOUR + 6, start + 16 * HOUR, day, heads))
    return tuple(windows)


def air_curve(days: int, rng: Random) -> ReadyCurve:
    """A coat that ends in some hour is dry after 12 to 60 hours, wetter air coming and going."""
    ends, lags, floors, ready = [], [], [], 0
    for hour in range(days * 24):
        end = (hour + 1) * HOUR
        swing = rng.randint(12, 20) if (hour // 72) % 2 else rng.randint(24, 60)
        ready = max(ready, end + swing * HOUR)
        ends.append(end)
        lags.append(0)
        floors.append(ready)
    return ReadyCurve(tuple(ends), tuple(lags), tuple(floors))


def street(
    *,
    houses: int = 6,
    rooms: int = 5,
    crews: int = 3,
    days: int = 45,
    seed: int = 1,
    slack: int = 12,
) -> Problem:
    """Houses of two floors, each stage of a floor one run; three waits per room."""
    rng = Random(seed)
    tasks, waits, handovers = [], [], []
    for h in range(houses):
        handovers.append(Handover(f"h{h}", f"h{h}", (slack + 2 * h) * DAY, rng.randint(1, 3)))
        for floor in range(2):
            sizes = [rng.randint(60, 240) for _ in range(rooms)]
            for stage in STAGES:
                for room, size in enumerate(sizes):
                    tasks.append(_coat(h, floor, room, stage, size))
            for room in range(rooms):
                waits += _room_waits(f"h{h}-{floor}-{room}")
    names = [f"h{h}" for h in range(houses)]
    return Problem(
        origin="2026-03-02T00:00:00+00:00",
        horizon=days * DAY,
        crews=tuple(Crew(f"crew{c}", crew_windows(days)) for c in range(crews)),
        houses=tuple(House(name) for name in names),
        tasks=tuple(tasks),
        handovers=tuple(handovers),
        waits=tuple(waits),
        curves={"day": constant_lag(DAY), "air": air_curve(days, rng)},
        travel={
            (a, b): 3 + 2 * abs(i - j)
            for i, a in enumerate(names)
            for j, b in enumerate(names)
            if a != b
        },
        setup_ticks=3,
        washup_ticks=3,
        worthwhile_ticks=24,
    )


def _coat(house: int, floor: int, room: int, stage: str, size: int) -> Task:
    sanding = stage == "sand"
    return Task(
        id=f"h{house}-{floor}-{room}-{stage}",
        house=f"h{house}",
        room=f"h{house}-{floor}-{room}",
        person_minutes=size // 2 if sanding else size,
        run=f"h{house}-{floor}-{stage}",
        air_space=f"h{house}-{floor}",
        dusty=sanding,
        wet_curve=None if sanding else "day",
        handover=f"h{house}" if sanding else None,
        batch_ticks=6 if stage == "tape" else 0,
    )


def _room_waits(room: str) -> list[Wait]:
    return [
        Wait(f"{room}-{one}", f"{room}-{two}", curve, reason)
        for one, two in pairwise(STAGES)
        for curve, reason in (("day", "rule"), ("air", "air"))
    ]
