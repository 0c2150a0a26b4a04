"""Proposals against a current plan, and the fewest changes against counting through every plan."""

from dataclasses import replace
from itertools import product
from random import Random
from time import monotonic

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.solver.change import Current, change_between
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import construct, outcome_of
from scheduling.solver.evaluate import score_of
from scheduling.solver.fewest import fewest_changes, first_fewest
from scheduling.solver.homes import homes_of
from scheduling.solver.outcome import Limits, Outcome, Status
from scheduling.solver.problem import (
    Crew,
    Handover,
    House,
    Placement,
    Problem,
    Task,
    Wait,
    Window,
    constant_lag,
    duration_ticks,
)
from scheduling.solver.proposals import propose
from scheduling.solver.verify import verify
from tests.scheduling.solver.small_problems import small_problems
from tests.scheduling.solver.streets import street

HORIZON = 24


def no_time() -> float:
    return 0.0


def proposals(
    problem: Problem, current: tuple[Placement, ...], work: int = 100
) -> tuple[Outcome, ...]:
    return propose(problem, Current(current), Limits(work=work), no_time)


@st.composite
def tiny(draw: st.DrawFn) -> Problem:
    """Two crews, two days of at most 24 ticks, four tasks in two houses, a chain of waits."""
    tasks = tuple(
        Task(
            f"t{n}",
            f"h{n % 2}",
            f"r{n}",
            5 * draw(st.integers(1, 3)),
            handover=f"h{n % 2}",
            run=draw(st.sampled_from([None, None, f"run{n % 2}"])),
        )
        for n in range(4)
    )
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=HORIZON,
        crews=(
            Crew("c0", (Window(0, 7, 0), Window(10, 20, 1))),
            Crew("c1", (Window(2, 8, 0), Window(12, HORIZON, 1))),
        ),
        houses=(House("h0"), House("h1")),
        tasks=tasks,
        handovers=tuple(Handover(f"h{n}", f"h{n}", draw(st.integers(2, 12))) for n in range(2)),
        waits=(Wait("t0", "t2", "lag"), Wait("t1", "t3", "lag")),
        curves={"lag": constant_lag(draw(st.integers(0, 4)))},
        travel={("h0", "h1"): 1, ("h1", "h0"): 1},
    )


def disturbed(problem: Problem, kind: str, late: int) -> Problem:
    """A house released late, a longer wait, or a crew away on its first day."""
    if kind == "release":
        first = replace(problem.tasks[0], release=late)
        return replace(problem, tasks=(first, *problem.tasks[1:]))
    if kind == "wait":
        return replace(problem, curves={"lag": constant_lag(late)})
    away = replace(problem.crews[0], windows=problem.crews[0].windows[1:])
    return replace(problem, crews=(away, *problem.crews[1:]))


def least_by_counting(problem: Problem, current: tuple[Placement, ...]) -> tuple[int, int] | None:
    """Return the least change of all whole plans that verify accepts."""
    options = [
        [
            Placement(task.id, crew.id, start, start + duration_ticks(task.person_minutes, w.heads))
            for crew in problem.crews
            for w in crew.windows
            for start in range(w.start, w.end)
            if start >= task.release
            and start + duration_ticks(task.person_minutes, w.heads) <= w.end
        ]
        for task in problem.tasks
    ]
    lag = problem.curves["lag"].lags[0]
    # Tasks 0 and 2 are at one house, 1 and 3 at the other, so their changes add up.
    halves = [
        sorted(
            (
                (change_between(problem, current, pair).size, pair)
                for pair in product(options[n], options[n + 2])
                if pair[1].start >= pair[0].end + lag
            ),
            key=lambda half: half[0],
        )
        for n in range(2)
    ]
    best: tuple[int, int] | None = None
    for one_size, one in halves[0]:
        for other_size, other in halves[1]:
            size = one_size[0] + other_size[0], one_size[1] + other_size[1]
            if best is not None and size >= best:
                break
            plan = (one[0], other[0], one[1], other[1])
            if not verify(problem, Outcome(Status.FEASIBLE, plan, score_of(problem, plan))):
                best = size
    return best


@settings(max_examples=25, deadline=None)
@given(tiny(), st.sampled_from(["release", "wait", "crew"]), st.integers(1, 8))
def test_fewest_changes_are_the_fewest_there_are(problem: Problem, kind: str, late: int) -> None:
    current = construct(problem).placements
    if len(current) < len(problem.tasks):
        return
    changed = disturbed(problem, kind, late)
    homes = homes_of(compile_problem(changed), Current(current))
    start = first_fewest(homes)
    first = outcome_of(fewest_changes(homes, start, Random(1), lambda: True))
    least = least_by_counting(changed, current)
    assert (least is None) == bool(first.unplaced)
    if least is not None:
        assert change_between(changed, current, first.placements).size == least


@settings(max_examples=60, deadline=None)
@given(small_problems())
def test_unchanged_problem_keeps_its_plan(problem: Problem) -> None:
    current = construct(problem)
    first = proposals(problem, current.placements)[0]
    if not current.unplaced:
        assert set(first.placements) == set(current.placements)


@settings(max_examples=60, deadline=None)
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
