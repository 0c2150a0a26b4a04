"""Where dryers stand in a plan: what a plan stores of it, what it is to the air and the solver."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import product
from typing import Any

from finishing.models import Company, Dryer
from scheduling.models import Plan
from scheduling.services.dryers_in_air import Standing
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline
from scheduling.solver import stays as solver
from scheduling.solver.problem import Problem, Wait

STAY, LEAVE_IT = "stay", "leave_it"
"""Codes of the rows of ``Plan.dryers``: a unit in a house, and one that saves nothing."""


type Move = dict[str, Any]
"""Of a unit in a task: code (``set_down``, ``collect``), dryer, kind, person-minutes."""


@dataclass(frozen=True)
class PlannedStay:
    """A stay in the solver's words, its dryer by public id.

    set_at: when it is set down, in the plan that it is read from; None in a plan being made.
    saved_minutes: of lateness, weighted, that the plan would have more without it.
    """

    stay: solver.Stay
    house: str
    saved_minutes: int = 0
    set_at: datetime | None = None

    def of_coats(self, tasks: Collection[str]) -> "PlannedStay":
        """Return the stay with those of its coats that are still to come."""
        coats = tuple(coat for coat in self.stay.coats if coat in tasks)
        return replace(self, stay=replace(self.stay, coats=coats))


def dryers_of(company: Company) -> dict[str, Dryer]:
    """Return a company's dryers by public id."""
    rows = Dryer.objects.filter(company=company, is_active=True).select_related("house")
    return {str(row.public_id): row for row in rows}


def stay_rows(plan: Plan | None) -> list[dict[str, Any]]:
    """Return those rows of a stored plan's dryers that are stays."""
    return [row for row in plan.dryers if row["code"] == STAY] if plan else []


def stays_of(plan: Plan | None) -> tuple[PlannedStay, ...]:
    """Return the stays of a stored plan."""
    return tuple(
        PlannedStay(
            solver.Stay(
                row["dryer"], row["unit"], row["set_in"], row["collect_in"], tuple(row["coats"])
            ),
            row["house_id"],
            row["saved_minutes"],
            datetime.fromisoformat(row["set_at"]),
        )
        for row in stay_rows(plan)
    )


@dataclass(frozen=True)
class Stays:
    """The stays of a problem: ``kept``, both of whose tasks are to come, and ``begun``, which only
    have to be collected."""

    kept: tuple[PlannedStay, ...] = ()
    begun: tuple[PlannedStay, ...] = ()

    @property
    def all(self) -> tuple[PlannedStay, ...]:
        return (*self.begun, *self.kept)

    @classmethod
    def among(
        cls, stays: Iterable[PlannedStay], dryers: Mapping[str, Dryer], problem: Problem
    ) -> "Stays":
        """Return the stays that a problem can have, as it stands: dryers that are gone and work
        that is no more are left out."""
        tasks = {task.id for task in problem.tasks}
        there = [one for one in stays if _is_there(one.stay, dryers, tasks)]
        kept = [
            replace(
                one, stay=replace(one.stay, coats=tuple(c for c in one.stay.coats if c in tasks))
            )
            for one in there
            if one.stay.set_in in tasks
        ]
        return cls(tuple(kept), tuple(one for one in there if one.stay.set_in not in tasks))

    def in_problem(self, problem: Problem, dryers: Mapping[str, Dryer]) -> Problem:
        """Return the problem with the time that moving the units takes, and the order of it."""
        minutes: Counter[str] = Counter()
        for one in self.begun:
            minutes[one.stay.collect_in] += dryers[one.stay.dryer].move_minutes
        tasks = tuple(
            replace(task, person_minutes=task.person_minutes + minutes[task.id])
            if task.id in minutes
            else task
            for task in problem.tasks
        )
        moved = replace(problem, tasks=tasks, waits=(*problem.waits, *self._turns()))
        bare = solver.Fleet(tuple(map(bare_dryer, dryers.values())))
        return solver.with_stays(moved, bare, [one.stay for one in self.kept])

    def _turns(self) -> Iterator[Wait]:
        """Yield what keeps a unit where it stands until it is collected there."""
        for one, following in product(self.begun, self.kept):
            if solver.same_unit(one.stay, following.stay):
                yield solver.moved_on(one.stay, following.stay)


def bare_dryer(row: Dryer) -> solver.Dryer:
    """Return a dryer as the solver knows it, without what it does to the air."""
    return solver.Dryer(str(row.public_id), row.count, row.move_minutes)


def standing_in(
    stays: Iterable[PlannedStay],
    dryers: Mapping[str, Dryer],
    ends: Mapping[str, int],
    timeline: Timeline,
    visited: Mapping[str, frozenset[int]],
) -> list[Standing]:
    """Return where units stand in which hours, those that stand in a house anyway among them.

    ends: by task key the tick at which a plan has it end. visited: by house the hours after which
    somebody has been there, and has emptied the tank.
    """
    always = [
        Standing(
            row,
            str(row.house.public_id),
            row.count,
            0,
            timeline.horizon // TICKS_PER_HOUR,
            visited.get(str(row.house.public_id), frozenset()),
        )
        for row in dryers.values()
        if row.house
    ]
    planned = []
    for one in stays:
        since, until = ends.get(one.stay.set_in), ends.get(one.stay.collect_in)
        if since is None and one.set_at is not None:
            since = timeline.tick_after(one.set_at)
        if since is not None and until is not None and one.stay.dryer in dryers:
            hours = -(-since // TICKS_PER_HOUR), until // TICKS_PER_HOUR
            emptied = visited.get(one.house, frozenset())
            planned.append(Standing(dryers[one.stay.dryer], one.house, 1, *hours, emptied))
    return [*always, *planned]


def _is_there(stay: solver.Stay, dryers: Mapping[str, Dryer], tasks: set[str]) -> bool:
    row = dryers.get(stay.dryer)
    return row is not None and stay.unit < row.count and stay.collect_in in tasks


def moves_by_task(
    stays: Iterable[PlannedStay], dryers: Mapping[str, Dryer]
) -> dict[str, list[Move]]:
    """Return by task (key) what is set down and collected in it: codes and values."""
    moves: dict[str, list[Move]] = {}
    for one in stays:
        row = dryers[one.stay.dryer]
        for code, task in (("set_down", one.stay.set_in), ("collect", one.stay.collect_in)):
            moves.setdefault(task, []).append(
                {"code": code, "dryer": row.name, "kind": row.kind, "minutes": row.move_minutes}
            )
    return moves
