"""Plans run forward through many histories, against verify, replay and histories one by one."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduling.solver.by_history import NEVER, Later, Ticks, in_all
from scheduling.solver.construct import construct
from scheduling.solver.evaluate import handover_finishes, score_of
from scheduling.solver.forward import Forward, Histories, handover_ticks, run_forward
from scheduling.solver.outcome import Outcome, Status, Unplaced
from scheduling.solver.problem import (
    Crew,
    Placement,
    Problem,
    ReadyCurve,
    Span,
    Window,
    constant_lag,
)
from scheduling.solver.release import held_to_the_rules
from scheduling.solver.replay import replay
from scheduling.solver.verify import verify
from tests.examples import examples
from tests.scheduling.solver.small_problems import small_problems
from tests.scheduling.solver.streets import street
from tests.scheduling.solver.test_replay import PLANNED, TRUTH

ONE = Histories(1)


def slower(curve: ReadyCurve, more: int) -> ReadyCurve:
    return replace(
        curve,
        lags=tuple(lag + more for lag in curve.lags),
        floors=tuple(floor + more for floor in curve.floors),
    )


def with_slower_air(problem: Problem, more: int) -> Problem:
    return replace(problem, curves={n: slower(c, more) for n, c in problem.curves.items()})


def placements(planned: tuple[Placement, ...], ran: Forward, history: int = 0) -> list[Placement]:
    """Return a history's outcome as a plan."""
    return [
        replace(place, start=int(ran.starts[place.task][history]), end=int(end))
        for place in planned
        if (end := ran.ends[place.task][history]) < NEVER
    ]


def usual(problem: Problem) -> Problem:
    """A problem as services make them: no wait is over before what it waits for has ended, and
    nothing is fixed to a place that breaks a rule."""
    curves = {name: slower(c, 2) for name, c in problem.curves.items()}
    tasks = tuple(replace(task, fixed=None) for task in problem.tasks)
    return replace(problem, curves=curves, tasks=tasks)


@examples(40, soak=150)
@given(problem=small_problems())
def test_in_the_planned_air_the_plan_comes_about_as_planned(problem: Problem) -> None:
    problem = usual(problem)
    planned = construct(problem).placements
    ran = run_forward(problem, planned, ONE)
    assert placements(planned, ran) == list(planned)
    assert ran.in_vain.tolist() == [0]
    finishes = handover_finishes(problem, {place.task: place for place in planned})
    placed = {place.task for place in planned}
    done = handover_ticks(problem, ran, ONE)
    for task in problem.tasks:
        if task.handover and {t.id for t in problem.tasks if t.handover == task.handover} <= placed:
            assert int(done[task.handover][0]) == finishes[task.handover]


@examples(40, soak=150)
@given(problem=small_problems(), more=st.integers(1, 20))
def test_what_comes_about_keeps_the_rules_of_slower_air(problem: Problem, more: int) -> None:
    problem = usual(problem)
    # Equipment stays with a coat until it is dry, and by the policy from the coat's end on: a
    # coat that takes longer in another window may end a little early for it.
    assume(not any(wait.holds for wait in problem.waits))
    truth = with_slower_air(problem, more)
    planned = construct(problem).placements
    found = placements(planned, run_forward(truth, planned, ONE))
    missing = {task.id for task in truth.tasks} - {place.task for place in found}
    outcome = Outcome(
        Status.PARTIAL,
        tuple(found),
        score_of(truth, found),
        tuple(Unplaced(task, "no_room") for task in missing),
    )
    assert {violation.code for violation in verify(truth, outcome)} <= {"lag"}


def test_histories_do_not_know_of_each_other() -> None:
    problem = street(houses=4, crews=2)
    planned = construct(problem).placements
    curves = [slower(problem.curves["air"], more) for more in (0, 40, 400, 4000)]
    many = run_forward(problem, planned, Histories(4, ready={"air": side_by_side(curves)}))
    for number, curve in enumerate(curves):
        truth = replace(problem, curves={**problem.curves, "air": curve})
        alone = run_forward(truth, planned, ONE)
        assert placements(planned, many, number) == placements(planned, alone)
        assert many.in_vain[number] == alone.in_vain[0]


def side_by_side(curves: list[ReadyCurve]) -> Later:
    """A wait that has a curve for each history."""

    def ready(ends: Ticks) -> Ticks:
        return np.array([c.ready(int(end)) for c, end in zip(curves, ends, strict=True)])

    return ready


def test_more_humid_histories_are_never_earlier() -> None:
    problem = street(houses=5, crews=2, days=90)
    planned = construct(problem).placements
    curves = [slower(problem.curves["air"], more) for more in range(0, 600, 30)]
    histories = Histories(len(curves), ready={"air": side_by_side(curves)})
    ran = run_forward(problem, planned, histories)
    assert all(np.all(np.diff(ends) >= 0) for ends in ran.ends.values())
    assert any(np.any(np.diff(ends) > 0) for ends in ran.ends.values())


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("more", [0, 30, 200])
def test_waits_known_beforehand_go_as_in_a_replay(seed: int, more: int) -> None:
    """With one crew, no dust and no coat found wet, replay's policy is the same."""
    problem = street(houses=3, crews=1, days=120, seed=seed)
    problem = replace(
        problem,
        tasks=tuple(replace(task, dusty=False) for task in problem.tasks),
        waits=tuple(replace(wait, reason="order") for wait in problem.waits),
    )
    planned = construct(problem).placements
    truth = with_slower_air(problem, more)
    ran = run_forward(truth, planned, ONE)
    replayed = {place.task: place for place in replay(truth, planned).placements}
    assert {place.task: place for place in placements(planned, ran)} == replayed


def test_a_crew_waits_at_a_wet_coat_and_all_its_tasks_shift() -> None:
    ran = run_forward(TRUTH, PLANNED, ONE)
    # Dry at 12 + 30 = 42; then 10 of work, and wash-up 2, way 4, set-up 2 to the other house.
    starts = {task: int(start[0]) for task, start in ran.starts.items()}
    assert starts == {"coat": 2, "next": 42, "other": 60}
    assert ran.in_vain.tolist() == [1]


def test_a_coat_starts_only_where_its_history_lets_it() -> None:
    def not_before_noon_or_never(floor: Ticks) -> Ticks:
        return np.asarray(np.maximum(floor, np.array([0, 300, NEVER])))

    problem = replace(TRUTH, waits=())
    histories = Histories(3, may_start={"next": not_before_noon_or_never})
    ran = run_forward(problem, PLANNED, histories)
    # Tomorrow's window opens at 288. What never can be done holds up nobody.
    assert ran.starts["next"].tolist() == [14, 300, NEVER]
    assert ran.starts["other"].tolist() == [32, 318, 32]


def test_allowed_starts_of_histories_take_the_place_of_the_planned_ones() -> None:
    tasks = tuple(replace(task, starts=(Span(0, 50),)) for task in TRUTH.tasks)
    problem = replace(TRUTH, tasks=tasks, waits=(), crews=(Crew("ann", (Window(0, 400, 0),)),))
    late = np.array([0, 200])
    ran = run_forward(
        problem, PLANNED, Histories(2, may_start={"next": lambda at: np.maximum(at, late)})
    )
    assert ran.starts["next"].tolist() == [14, 200]
    assert ran.starts["other"].tolist() == [32, NEVER]  # the plan's own closure holds for it


def test_work_under_way_stays_and_frozen_work_shifts() -> None:
    under_way = replace(TRUTH.tasks[0], fixed=Placement("coat", "ann", 2, 12))
    frozen = replace(TRUTH.tasks[1], fixed=Placement("next", "ann", 14, 24))
    problem = replace(TRUTH, tasks=(under_way, frozen, TRUTH.tasks[2]), now=5)
    ran = run_forward(problem, PLANNED[2:], ONE)
    assert [int(ran.starts[task][0]) for task in ("coat", "next", "other")] == [2, 42, 60]


@examples(20, soak=60)
@given(problem=small_problems(), ends=st.lists(st.integers(-20, 300), min_size=1))
def test_curves_answer_many_ticks_as_one_by_one(problem: Problem, ends: list[int]) -> None:
    for curve in [*problem.curves.values(), constant_lag(7)]:
        assert in_all(curve)(np.array(ends)).tolist() == [curve.ready(end) for end in ends]


def test_frozen_work_that_holds_comes_about_as_planned() -> None:
    problem = street(houses=3, crews=2)
    planned = construct(problem).placements
    fixed = {place.task: place for place in planned[: len(planned) // 2]}
    frozen = replace(
        problem, tasks=tuple(replace(task, fixed=fixed.get(task.id)) for task in problem.tasks)
    )
    assert not verify(
        held_to_the_rules(frozen), Outcome(Status.FEASIBLE, planned, score_of(frozen, planned))
    )
    assert placements(planned, run_forward(frozen, planned, ONE)) == list(planned)
