"""What a pin is held against: the work of its house, and what crews do elsewhere.

Working out the air and the waits of one house takes a fraction of what those of all houses take,
and no rule but those about a crew's time reaches from one house into another. So the work of other
houses is here only where it stays in place: under way, or pinned too.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from finishing.models import Company, House
from scheduling.models import Pin, PlannedTask
from scheduling.queries.pins import pins_to_come
from scheduling.queries.plans import tasks_planned, working_plan
from scheduling.queries.runs import last_done_run
from scheduling.services.inputs import build_inputs
from scheduling.services.pinned import place_of
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.travel import travel_ticks
from scheduling.solver.problem import Crew, Placement, Problem, Task
from scheduling.solver.problem import House as SolverHouse
from scheduling.solver.release import keep_what_holds


@dataclass(frozen=True)
class PinGround:
    """problem: the work of ``inputs`` with all that stays elsewhere, and without the pins that
    cannot hold: only pins and work under way are fixed. pinned: ids of tasks. elsewhere: by id
    the planned tasks of other houses in it."""

    inputs: PlanInputs
    problem: Problem
    pinned: frozenset[str]
    elsewhere: Mapping[str, PlannedTask]


def pin_ground(*, company: Company, house: House | None, now: datetime) -> PinGround:
    """Return the ground of pins at a house; at any house, where that is None."""
    pins = {pin.key: pin for pin in pins_to_come(company, now)}
    pinned = frozenset(pins)
    elsewhere = _Elsewhere(company, house, pins) if house else None
    if elsewhere is None or elsewhere.is_unknown():
        inputs = build_inputs(company=company, now=now)
        return PinGround(inputs, _pins_that_hold(inputs.problem, pinned), pinned, {})
    inputs = build_inputs(company=company, now=now, only=house)
    rows, problem = elsewhere.beside(inputs)
    return PinGround(inputs, _pins_that_hold(problem, pinned), pinned, rows)


def with_rows(
    inputs: PlanInputs, problem: Problem, rows: Mapping[str, PlannedTask], tasks: Iterable[Task]
) -> Problem:
    """Return a problem with the tasks that some planned tasks of other houses come to, and the
    ways between all their houses."""
    known = {house.id for house in problem.houses}
    houses = {str(row.house.public_id): row.house for row in rows.values()}
    everywhere = {**inputs.houses, **houses}
    default = next((house.company.travel_minutes for house in everywhere.values()), 0)
    return replace(
        problem,
        tasks=(*problem.tasks, *tasks),
        houses=(*problem.houses, *(SolverHouse(k, None) for k in houses if k not in known)),
        travel={**problem.travel, **travel_ticks(list(everywhere.values()), default)},
    )


def bare_task(row: PlannedTask, minutes: int = 0, fixed: Placement | None = None) -> Task:
    """Return a planned task of another house as far as a crew's time goes."""
    return Task(row.key, str(row.house.public_id), row.key, person_minutes=minutes, fixed=fixed)


class _Elsewhere:
    """The work of other houses that stays in place."""

    def __init__(self, company: Company, house: House, pins: Mapping[str, Pin]) -> None:
        self._house, self._pins = house, pins
        self._plan = working_plan(company)
        self._rows = self._planned(pins)
        run = last_done_run(company)
        self._aside = {key for visit in (run.freed if run else []) for key in visit["tasks"]}
        self._known_until = run.plan_from if run else None

    def is_unknown(self) -> bool:
        """Return whether some pinned work was in no plan yet: how long it takes is not known."""
        new = (pin for key, pin in self._pins.items() if key not in self._rows)
        return any(self._is_new(pin) for pin in new)

    def beside(self, inputs: PlanInputs) -> tuple[dict[str, PlannedTask], Problem]:
        """Return the rows of what stays in place, and the problem of the house with them."""
        begun = {task.key for rows in inputs.work.started.values() for task in rows}
        under_way = self._planned(begun)
        pinned = {key: row for key, row in self._rows.items() if self._counts(key, begun)}
        rows = {k: row for k, row in {**under_way, **pinned}.items() if self._is_away(row)}
        tasks = [
            self._pinned(inputs, row)
            if key in pinned
            else bare_task(row, fixed=inputs.work.fixed[key])
            for key, row in rows.items()
        ]
        return rows, with_rows(inputs, inputs.problem, rows, tasks)

    def _planned(self, keys: Iterable[str]) -> dict[str, PlannedTask]:
        rows = tasks_planned(self._plan, keys) if self._plan else ()
        return {row.key: row for row in rows}

    def _is_away(self, row: PlannedTask) -> bool:
        return row.house_id != self._house.pk

    def _is_new(self, pin: Pin) -> bool:
        """Return whether no run has known of a pin."""
        return self._known_until is None or pin.made_at > self._known_until

    def _counts(self, key: str, begun: set[str]) -> bool:
        """Return whether a pin stays in place: the last run has not had to set it aside."""
        return key not in begun and (key not in self._aside or self._is_new(self._pins[key]))

    def _pinned(self, inputs: PlanInputs, row: PlannedTask) -> Task:
        pin = self._pins[row.key]
        task = bare_task(row, row.details["person_minutes"])
        key = str(pin.crew.public_id)
        crew = next((one for one in inputs.problem.crews if one.id == key), Crew(key, ()))
        start = inputs.timeline.tick_after(pin.starts_at)
        return replace(task, fixed=place_of(task, crew, start))


def _pins_that_hold(problem: Problem, pinned: frozenset[str]) -> Problem:
    """Return the problem with nothing in place but work under way and the pins that can hold."""
    tasks = tuple(
        replace(task, fixed=None)
        if task.fixed and task.fixed.start >= problem.now and task.id not in pinned
        else task
        for task in problem.tasks
    )
    free = replace(problem, tasks=tasks)
    return keep_what_holds(free, pinned).problem if pinned else free
