"""Proposals against a current plan."""

from dataclasses import replace
from time import monotonic

from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.change import Current, change_between
from scheduling.solver.construct import construct
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import (
    Crew,
    Handover,
    House,
    Placement,
    Problem,
    Span,
    Task,
    Wait,
    Window,
    constant_lag,
)
from scheduling.solver.proposals import propose
from scheduling.solver.verify import verify
from tests.examples import examples
from tests.scheduling.solver.small_problems import small_problems
from tests.scheduling.solver.streets import street


def no_time() -> float:
    return 0.0


def proposals(
    problem: Problem, current: tuple[Placement, ...], work: int = 100
) -> tuple[Outcome, ...]:
    return propose(problem, Current(current), Limits(work=work), no_time)


@examples(20, soak=60)
@given(small_problems())
def test_unchanged_problem_keeps_its_plan(problem: Problem) -> None:
    current = construct(problem)
    first = proposals(problem, current.placements)[0]
    if not current.unplaced:
        assert set(first.placements) == set(current.placements)


@examples(20, soak=60)
@given(small_problems(), st.integers(0, 40))
def test_every_proposal_verifies_and_none_is_dominated(problem: Problem, later: int) -> None:
    current = construct(problem).placements
    changed = replace(
        problem, tasks=tuple(replace(task, release=task.release + later) for task in problem.tasks)
    )
    shown = proposals(changed, current)
    assert 1 <= len(shown) <= 3
    for outcome in shown:
        assert not verify(changed, outcome)
    sizes = [change_between(changed, current, outcome.placements).size for outcome in shown]
    lateness = [outcome.score.lateness for outcome in shown]
    assert sizes == sorted(set(sizes))
    assert lateness == sorted(set(lateness), reverse=True)


def test_same_rounds_and_seed_give_the_same_proposals() -> None:
    problem = street(houses=3, rooms=3)
    current = construct(problem).placements
    late = replace(problem, tasks=(replace(problem.tasks[0], release=500), *problem.tasks[1:]))
    assert proposals(late, current) == proposals(late, current)


def test_late_house_in_a_street_moves_few_visits_and_then_trades() -> None:
    problem = street(houses=4, rooms=3, slack=4)
    current = construct(problem).placements
    late = replace(
        problem,
        tasks=tuple(
            replace(task, release=3 * 288) if task.house == "h0" else task for task in problem.tasks
        ),
    )
    found = proposals(late, current, 600)
    visits = {(p.crew, p.task.split("-")[0], p.start // 288) for p in current}
    moved = change_between(late, current, found[0].placements).visits_moved
    assert 0 < moved < len(visits)
    assert found[-1].score.lateness <= construct(late).score.lateness
    assert all(not verify(late, outcome) for outcome in found)


def test_search_ends_by_the_stopwatch() -> None:
    problem = street(houses=3, rooms=3, slack=1)
    began = monotonic()
    current = Current(construct(problem).placements)
    propose(problem, current, Limits(seconds=0.2), lambda: monotonic() - began)
    assert monotonic() - began < 5


def test_unseen_work_stays_where_it_can_and_moving_it_is_no_change() -> None:
    problem = street(houses=3, rooms=3)
    current = construct(problem).placements
    unseen = frozenset(place.task for place in current if place.task.startswith("h0"))
    late = replace(
        problem,
        tasks=tuple(
            replace(task, release=3 * 288) if task.id in unseen else task for task in problem.tasks
        ),
    )
    known = Current(current, unseen)
    same = propose(problem, known, Limits(work=10), no_time)
    assert set(same[0].placements) == set(current)
    moved = propose(late, known, Limits(work=10), no_time)[0]
    assert moved.placements != current
    assert change_between(late, known.seen, moved.placements).visits_moved == 0


def test_a_task_is_not_left_out_from_under_one_that_waits_for_it() -> None:
    # One of two tasks has the first day. "second" waits for "first"; "other" is late without it.
    first_day = (Span(0, 1),)
    problem = Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=40,
        crews=(Crew("ann", (Window(0, 10, 0), Window(20, 40, 1))),),
        houses=(House("mill"),),
        tasks=(
            Task("first", "mill", "r0", 50, starts=first_day),
            Task("second", "mill", "r1", 50),
            Task("other", "mill", "r2", 50, starts=first_day, handover="mill"),
        ),
        handovers=(Handover("mill", "mill", 10),),
        waits=(Wait("first", "second", "none"),),
        curves={"none": constant_lag(0)},
    )
    current = (Placement("first", "ann", 0, 10), Placement("second", "ann", 20, 30))
    for outcome in proposals(problem, current, 2000):
        assert verify(problem, outcome) == []
