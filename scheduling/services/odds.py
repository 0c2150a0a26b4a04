"""The odds of each handover: a plan run forward through histories of the air that may come."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from finishing.models import Company
from scheduling.models import Plan
from scheduling.queries.plans import working_plan
from scheduling.services.air_histories import DrawnHistories, air_histories
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.published import published_to_come
from scheduling.solver.by_history import NEVER
from scheduling.solver.forward import handover_ticks, run_forward
from scheduling.solver.odds import Odds, odds_of
from scheduling.solver.problem import TICK_MINUTES, Handover, Placement, Problem

HISTORIES = 500
ROOM_AFTER = timedelta(weeks=3)
"""How far past the end of a plan its histories go: what is not done then is never done."""


@dataclass(frozen=True)
class TooLittleAir:
    """A source with too few whole days of the season on record to draw a house's air from."""

    air_source: str
    days: int


@dataclass(frozen=True)
class EnsembleUsed:
    """A forecast's ensemble whose members the histories follow until their end (UTC)."""

    air_source: str
    members: int
    fetched_at: datetime
    until: datetime


@dataclass(frozen=True)
class HandoverOdds:
    """A promise and its odds.

    in_time: share of the histories in which it is kept; None where the plan does not hold all of
    its work, or where its house's air is ``lacking``. holds_on: the day by which it is done in 8 of
    10; None where there is none.
    """

    house: str
    areas: tuple[str, ...]
    due_on: date
    in_time: float | None
    holds_on: date | None
    mean_late_minutes: float
    lacking: TooLittleAir | None = None


@dataclass(frozen=True)
class PlanOdds:
    """A plan in many histories. mean_late_days: weighted, over all its handovers;
    mean_in_vain: visits that find a coat wet; mean_end_days: from now to the end of all work.

    In houses whose air is lacking it is as expected in every history; that their handovers may be
    late does not count. ensembles: what the histories follow as long as those reach.
    """

    histories: int
    handovers: tuple[HandoverOdds, ...]
    mean_late_days: float
    mean_in_vain: float
    mean_end_days: float
    ensembles: tuple[EnsembleUsed, ...] = ()

    @property
    def mean_late(self) -> float:
        """How many handovers are missed on average, of those whose work is all planned."""
        return sum(1 - row.in_time for row in self.handovers if row.in_time is not None)

    @property
    def held(self) -> int:
        """How many handovers have work that is not planned."""
        return sum(row.in_time is None and row.lacking is None for row in self.handovers)


class NothingPlannedError(Exception):
    """The company has neither published nor planned anything that is still to come."""


def current_odds(
    *, company: Company, now: datetime, seed: int = 1, histories: int = HISTORIES
) -> PlanOdds:
    """Return the odds of what is published, or else of the working plan.

    Raises NothingPlannedError and TooLittleAirError. Coats done before now dry as planned.
    """
    inputs = build_inputs(company=company, now=now)
    planned = planned_to_come(company, inputs)
    if not planned:
        raise NothingPlannedError
    drawn = histories_of(inputs, planned, now=now, seed=seed, count=histories)
    return odds_in(inputs, planned, drawn)


def planned_to_come(company: Company, inputs: PlanInputs) -> list[Placement]:
    """Return where the tasks still to do are: as published, or else in the working plan."""
    published = published_to_come(company, inputs)
    if published is not None:
        places: Iterable[Placement] = published.current.places
    else:
        plan = working_plan(company)
        places = _places(plan, inputs) if plan else ()
    known = {task.id for task in inputs.problem.tasks}
    return [place for place in places if place.task in known and place.crew in inputs.crews]


def histories_of(
    inputs: PlanInputs, planned: Sequence[Placement], *, now: datetime, seed: int, count: int
) -> DrawnHistories:
    """Return histories that go on for some time after the plan, and after now where that is an old
    one."""
    after = ROOM_AFTER // timedelta(minutes=TICK_MINUTES)
    ends = max(inputs.problem.now, *(place.end for place in planned))
    until = min(inputs.timeline.horizon, ends + after)
    return air_histories(inputs, now=now, until=until, count=count, seed=seed)


def odds_in(inputs: PlanInputs, planned: Sequence[Placement], drawn: DrawnHistories) -> PlanOdds:
    """Return the odds of planned placements in histories drawn for the inputs.

    Raises TooLittleAirError where there is no house whose air could be drawn.
    """
    problem = inputs.problem
    ran = run_forward(problem, planned, drawn.histories)
    done = handover_ticks(problem, ran, drawn.histories)
    rows, late = [], 0.0
    for handover in _promises(inputs):
        if handover.id in inputs.held_handovers or not _all_planned(problem, planned, handover):
            rows.append(_row(inputs, handover, None))
            continue
        if error := drawn.lacking.get(handover.house):
            lacking = TooLittleAir(error.source.name, error.days)
            rows.append(replace(_row(inputs, handover, None), lacking=lacking))
            continue
        odds = odds_of(done[handover.id], handover.due, problem.horizon)
        late += odds.late_minutes * handover.weight
        rows.append(_row(inputs, handover, odds))
    if rows and all(row.lacking for row in rows):
        raise next(iter(drawn.lacking.values()))
    ends = np.array([np.where(end < NEVER, end, problem.horizon) for end in ran.ends.values()])
    return PlanOdds(
        histories=drawn.histories.count,
        handovers=tuple(rows),
        mean_late_days=late / 60 / 24,
        mean_in_vain=float(ran.in_vain.mean()),
        mean_end_days=float((ends.max(axis=0) - problem.now).mean()) * TICK_MINUTES / 60 / 24,
        ensembles=tuple(
            EnsembleUsed(found.source.name, found.count, found.fetched_at, found.until)
            for found in drawn.ensembles
        ),
    )


def _promises(inputs: PlanInputs) -> list[Handover]:
    """Return the handovers with work left, by due day: those that the problem has, and those whose
    work is all held, so that it knows nothing of them."""
    known = {row.id for row in inputs.problem.handovers} | set(inputs.held_handovers)
    rows = (row for row in inputs.handovers.values() if row.id in known)
    return sorted(rows, key=lambda row: (row.due, row.id))


def _row(inputs: PlanInputs, handover: Handover, odds: Odds | None) -> HandoverOdds:
    """Return a handover with its odds; without any, as one that the plan does not meet."""
    holds = odds.holds if odds else None
    return HandoverOdds(
        house=inputs.houses[handover.house].name,
        areas=tuple(area.name for area in inputs.areas_due[handover.id]),
        due_on=date.fromisoformat(handover.id.rpartition(":")[2]),
        in_time=odds.in_time if odds else None,
        holds_on=None if holds is None else _day(inputs, handover, holds),
        mean_late_minutes=odds.late_minutes if odds else 0.0,
    )


def _all_planned(problem: Problem, planned: Sequence[Placement], handover: Handover) -> bool:
    placed = {place.task for place in planned} | {t.id for t in problem.tasks if t.fixed}
    return all(task.id in placed for task in problem.tasks if task.handover == handover.id)


def _day(inputs: PlanInputs, handover: Handover, tick: int) -> date:
    """Return the day in the house's zone on which something is done; midnight ends a day."""
    zone = ZoneInfo(inputs.houses[handover.house].zone)
    return inputs.timeline.instant(tick - 1).astimezone(zone).date()


def _places(plan: Plan, inputs: PlanInputs) -> list[Placement]:
    tick = inputs.timeline.tick_after
    return [
        Placement(row.key, str(row.crew.public_id), tick(row.starts_at), tick(row.ends_at))
        for row in plan.tasks.select_related("crew")
    ]
