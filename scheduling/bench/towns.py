"""Invented towns of houses from a seed: the instances the engine is measured on.

Each house has two areas, each area a chain of coats with a wait after every one. Only lateness
counts; there is no set-up, no dust and no run, so that a plain model can say all of it.
"""

from dataclasses import replace
from itertools import pairwise
from random import Random

from scheduling.solver.problem import (
    TICK_MINUTES,
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

HOUR = 60 // TICK_MINUTES
DAY = 24 * HOUR
AREAS = 2
WAIT_HOURS = (2, 4, 12, 16, 24)
WORKING_DAY_HOURS = 8.5


def town(
    *,
    tasks: int,
    crews: int,
    seed: int,
    travel: bool = True,
    pressure: float = 0.6,
    able: int | None = None,
) -> Problem:
    """Return a town of about so many tasks (a multiple of ten, or of eight below a hundred).

    ``pressure`` scales the due dates: at 1 the last is about when crews without a pause would
    have done all the work. ``able``: how many crews, by lot, may do a task; None for all.
    """
    rng = Random(seed)  # noqa: S311 (invented towns, no secret)  # nosec B311
    coats = 5 if tasks >= 100 else 4
    names = [f"house {number}" for number in range(tasks // (AREAS * coats))]
    ids = [f"crew {number}" for number in range(crews)]
    heads = [rng.randint(2, 3) for _ in ids]
    work = [task for name in names for task in _house(name, coats, rng)]
    if able is not None:
        work = [replace(task, crews=tuple(sorted(rng.sample(ids, able)))) for task in work]
    hours = sum(task.person_minutes for task in work) / 60
    span = hours / (sum(heads) * WORKING_DAY_HOURS) * 7 / 5
    days = round(3 * span) + 30
    return Problem(
        origin="2026-03-02T00:00:00+00:00",
        horizon=days * DAY,
        crews=tuple(
            Crew(name, _windows(days, some)) for name, some in zip(ids, heads, strict=True)
        ),
        houses=tuple(House(name) for name in names),
        tasks=tuple(work),
        handovers=tuple(_handover(name, span / pressure, coats, rng) for name in names),
        waits=tuple(_waits(work, rng)),
        curves=_curves(),
        travel=_travel(names, rng) if travel else {},
    )


def _windows(days: int, heads: int) -> tuple[Window, ...]:
    """Seven to noon and one to half past four, five days of seven."""
    return tuple(
        Window(day * DAY + round(opens * HOUR), day * DAY + round(closes * HOUR), day, heads)
        for day in range(days)
        if day % 7 < 5
        for opens, closes in ((7, 12), (13, 16.5))
    )


def _house(name: str, coats: int, rng: Random) -> list[Task]:
    release = rng.randint(0, 5) * DAY
    return [
        Task(
            id=f"{name}, area {area}, coat {coat}",
            house=name,
            room=f"{name}, area {area}",
            person_minutes=rng.randint(24, 60) * 2 * TICK_MINUTES,
            release=release,
            crews=None,
            handover=name,
        )
        for area in range(AREAS)
        for coat in range(coats)
    ]


def _handover(name: str, span: float, coats: int, rng: Random) -> Handover:
    due = 1.3 * coats + rng.uniform(0, span)
    return Handover(name, name, round(due * DAY), rng.randint(1, 3))


def _curves() -> dict[str, ReadyCurve]:
    return {f"{hours} h": constant_lag(hours * HOUR) for hours in WAIT_HOURS}


def _waits(work: list[Task], rng: Random) -> list[Wait]:
    return [
        Wait(one.id, two.id, f"{rng.choice(WAIT_HOURS)} h", "rule")
        for one, two in pairwise(work)
        if one.room == two.room
    ]


def _travel(names: list[str], rng: Random) -> dict[tuple[str, str], int]:
    """Return the ticks between houses on a square of 25 by 25 minutes: any way fits a break."""
    spots = {name: (rng.uniform(0, 25), rng.uniform(0, 25)) for name in names}
    return {
        (a, b): int(1 + (abs(spots[a][0] - spots[b][0]) + abs(spots[a][1] - spots[b][1])) // 5)
        for a in names
        for b in names
        if a != b
    }
