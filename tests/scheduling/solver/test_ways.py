"""Waits that hold equipment, and tasks left in one of several ways: worked out by hand, counted
out, and against the two-machine shop without waiting."""

from dataclasses import replace
from itertools import pairwise, permutations
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.change import Current
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import construct, first_draft
from scheduling.solver.evaluate import score_of
from scheduling.solver.explain import binding_reasons
from scheduling.solver.feasibility import impossible_lags
from scheduling.solver.impossible import proved_impossible
from scheduling.solver.outcome import Limits, Outcome, Status
from scheduling.solver.problem import (
    TICK_MINUTES,
    Crew,
    Equipment,
    Handover,
    House,
    Placement,
    Problem,
    Task,
    Wait,
    Window,
    constant_lag,
)
from scheduling.solver.problem_faults import problem_faults
from scheduling.solver.proposals import propose
from scheduling.solver.solve import solve
from scheduling.solver.verify import verify
from scheduling.solver.walk import Walk
from tests.examples import examples
from tests.scheduling.solver.counting import Counting
from tests.scheduling.solver.small_problems import small_problems
from tests.scheduling.solver.test_soak import up_to_six_tasks

HOUR = 60 // TICK_MINUTES
DRY, WITH_DRYER = 24 * HOUR, 8 * HOUR
CREWS = tuple(Crew(name, (Window(0, 2000, 0),)) for name in ("ann", "bob"))


def no_time() -> float:
    return 0.0


def two_coats(dryers: int = 1, **changes: object) -> Problem:
    """Two houses, each with a coat of an hour and a next one; either dries by itself in 24 hours
    or in 8 with a dryer."""
    problem = Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=2000,
        crews=CREWS,
        houses=(House("mill"), House("barn")),
        tasks=tuple(
            Task(f"{house} {coat}", house, house, 60, handover=house if coat == "next" else None)
            for house in ("mill", "barn")
            for coat in ("coat", "next")
        ),
        handovers=(Handover("mill", "mill", 0), Handover("barn", "barn", 0)),
        waits=tuple(
            wait
            for house in ("mill", "barn")
            for wait in (
                Wait(f"{house} coat", f"{house} next", "slow", "air", way="by itself"),
                Wait(f"{house} coat", f"{house} next", "quick", "air", None, "dryer", ("dryer",)),
            )
        ),
        curves={"slow": constant_lag(DRY), "quick": constant_lag(WITH_DRYER)},
        equipment=(Equipment("dryer", dryers),),
    )
    return replace(problem, **changes)  # type: ignore[arg-type]  # any of its fields


def places_of(outcome: Outcome) -> dict[str, Placement]:
    return {place.task: place for place in outcome.placements}


def broken(problem: Problem, *placements: Placement) -> list[tuple[str, str, str]]:
    outcome = Outcome(Status.FEASIBLE, placements, score_of(problem, placements))
    return [(v.code, v.task, v.other) for v in verify(problem, outcome)]


def plan(*, mill: str, barn: str, barn_at: int = 0, barn_next: int = 0) -> list[Placement]:
    """The mill's next coat as early as its way allows, the barn's at a given tick."""
    lag = {"by itself": DRY, "dryer": WITH_DRYER}.get(mill, DRY)
    return [
        Placement("mill coat", "ann", 0, 12, mill),
        Placement("mill next", "ann", 12 + lag, 24 + lag),
        Placement("barn coat", "bob", barn_at, barn_at + 12, barn),
        Placement("barn next", "bob", barn_next, barn_next + 12),
    ]


@pytest.mark.parametrize(
    ("expected", "changed"),
    [
        ([], {"mill": "dryer", "barn": "by itself", "barn_next": 12 + DRY}),
        # With the dryer from tick 12 + 96 on, when the mill gives it back.
        ([], {"mill": "dryer", "barn": "dryer", "barn_at": 96, "barn_next": 108 + 96}),
        (
            [("equipment", "mill coat", "dryer")],
            {"mill": "dryer", "barn": "dryer", "barn_at": 95, "barn_next": 107 + 96},
        ),
        (
            [("wait", "barn next", "barn coat")],
            {"mill": "dryer", "barn": "by itself", "barn_next": 11 + DRY},
        ),
        # Waits that start in no way or in one nobody knows are not kept by anything.
        ([("way", "barn coat", "")], {"mill": "dryer", "barn": "", "barn_next": 500}),
        ([("way", "barn coat", "oven")], {"mill": "dryer", "barn": "oven", "barn_next": 500}),
    ],
)
def test_broken_plans_are_caught(
    expected: list[tuple[str, str, str]], changed: dict[str, object]
) -> None:
    found = broken(two_coats(), *plan(**changed))  # type: ignore[arg-type]  # as in plan
    assert found == expected


def test_a_way_where_there_is_none_is_caught() -> None:
    places = plan(mill="dryer", barn="by itself", barn_next=12 + DRY)
    places[1] = replace(places[1], way="dryer")
    assert broken(two_coats(), *places) == [("way", "mill next", "dryer")]


def test_a_lag_counts_in_its_way_only() -> None:
    waits = tuple(
        replace(wait, most=DRY + 3) if wait.way == "by itself" else wait
        for wait in two_coats().waits
    )
    problem = two_coats(waits=waits)
    late = {"barn_next": 12 + DRY + 4}
    assert broken(problem, *plan(mill="dryer", barn="by itself", **late)) == [
        ("lag", "barn next", "barn coat")
    ]
    assert broken(problem, *plan(mill="by itself", barn="dryer", **late)) == []


def test_several_waits_hold_one_dryer_until_the_last_is_over() -> None:
    extra = (
        Wait("mill coat", "barn next", "short", way="dryer", holds=("dryer",)),
        Wait("mill coat", "barn next", "long", holds=("dryer",)),
    )
    problem = two_coats()
    curves = {**problem.curves, "short": constant_lag(2), "long": constant_lag(120)}
    problem = replace(problem, waits=(*problem.waits, *extra), curves=curves)
    both = {"mill": "dryer", "barn": "dryer"}
    assert broken(problem, *plan(**both, barn_at=120, barn_next=132 + 96)) == []
    early = broken(problem, *plan(**both, barn_at=119, barn_next=131 + 96))
    assert early == [("equipment", "mill coat", "dryer")]
    assert construct(problem).unplaced == ()


def test_one_dryer_serves_two_coats_in_turn_and_two_serve_both_at_once() -> None:
    one, two = (solve(two_coats(n), Limits(work=300), no_time) for n in (1, 2))
    assert verify(two_coats(1), one) == verify(two_coats(2), two) == []
    # By hand: the first is left with the dryer for 96 ticks, the second for 96 after that, as
    # drying by itself would take 288; each next coat takes 12.
    ends = sorted(p.end for name, p in places_of(one).items() if name.endswith("next"))
    assert ends == [12 + 96 + 12, 12 + 96 + 96 + 12]
    assert one.status is two.status is Status.OPTIMAL
    assert one.bound == one.score.lateness == 5 * sum(ends)
    assert two.score.lateness == 5 * 2 * (12 + 96 + 12)
    assert {p.way for n, p in places_of(two).items() if n.endswith("coat")} == {"dryer"}


def test_the_dryer_is_not_waited_for_where_drying_by_itself_is_sooner() -> None:
    problem = two_coats()
    curves = {**problem.curves, "slow": constant_lag(150)}
    outcome = solve(replace(problem, curves=curves), Limits(work=300), no_time)
    # By hand: 12 + 150 is before 12 + 96 + 96.
    assert sorted(p.way for p in outcome.placements) == ["", "", "by itself", "dryer"]
    assert outcome.score.lateness == 5 * (12 + 96 + 12 + 12 + 150 + 12)


def test_a_hold_without_a_choice_makes_the_second_start_later() -> None:
    waits = tuple(
        Wait(f"{house} coat", f"{house} next", "slow", holds=("dryer",))
        for house in ("mill", "barn")
    )
    places = places_of(construct(two_coats(waits=waits)))
    assert sorted(places[f"{house} coat"].end for house in ("mill", "barn")) == [12, 12 + DRY]
    reasons = binding_reasons(two_coats(waits=waits), places.values())
    later = max(("mill coat", "barn coat"), key=lambda name: places[name].start)
    first = "mill coat" if later == "barn coat" else "barn coat"
    held = reasons[later]
    assert (held.code, held.other, held.tick) == ("equipment", first, DRY)


def test_work_with_equipment_waits_for_what_holds_it_and_the_reverse() -> None:
    problem = two_coats()
    tasks = (*problem.tasks, Task("blow", "barn", "loft", 60, needs=("dryer",), crews=("bob",)))
    waits = tuple(wait for wait in problem.waits if wait.way != "by itself")
    problem = replace(problem, tasks=tasks, waits=waits)
    outcome = solve(problem, Limits(work=300), no_time)
    assert verify(problem, outcome) == []
    spans = sorted(
        (p.start, p.end) if p.task == "blow" else (p.end, p.end + WITH_DRYER)
        for p in outcome.placements
        if p.way == "dryer" or p.task == "blow"
    )
    assert all(one[1] <= two[0] for one, two in pairwise(spans))


def test_a_coat_before_a_pinned_one_is_left_in_the_way_that_is_in_time() -> None:
    pinned = Placement("barn next", "bob", 12 + WITH_DRYER, 24 + WITH_DRYER)
    problem = two_coats()
    tasks = (*problem.tasks[:-1], replace(problem.tasks[-1], fixed=pinned))
    problem = replace(problem, tasks=tasks)
    outcome = solve(problem, Limits(work=100), no_time)
    assert verify(problem, outcome) == []
    assert places_of(outcome)["barn coat"].way == "dryer"


def test_fixed_work_holds_its_dryer() -> None:
    begun = Placement("mill coat", "ann", -6, 6, "dryer")
    problem = two_coats()
    problem = replace(
        problem, tasks=(replace(problem.tasks[0], fixed=begun), *problem.tasks[1:]), now=6
    )
    assert problem_faults(problem) == []
    outcome = solve(problem, Limits(work=300), no_time)
    assert verify(problem, outcome) == []
    assert places_of(outcome)["mill next"].start == 6 + WITH_DRYER
    # By hand: the dryer is back at 102; the barn's coat ends then at the earliest to use it.
    assert places_of(outcome)["barn next"].start == 6 + WITH_DRYER + WITH_DRYER


def test_lags_are_impossible_only_where_every_way_is() -> None:
    slow = Wait("mill coat", "mill next", "slow", most=WITH_DRYER - 1, way="by itself")
    quick = Wait("mill coat", "mill next", "quick", most=WITH_DRYER - 1, way="dryer")
    both = two_coats(waits=(slow, quick))
    assert set(impossible_lags(both)) == {"mill coat", "mill next"}
    assert proved_impossible(both, construct(both))
    one = two_coats(waits=(slow, replace(quick, most=WITH_DRYER)))
    assert impossible_lags(one) == []
    outcome = solve(one, Limits(work=100), no_time)
    assert verify(one, outcome) == []
    assert not outcome.unplaced
    assert places_of(outcome)["mill coat"].way == "dryer"


def test_every_fault_is_named_with_its_place() -> None:
    problem = two_coats()
    waits = (
        replace(problem.waits[0], holds=("fan",)),
        replace(problem.waits[1], way=""),
        *problem.waits[2:],
    )
    fixed = {
        "mill next": Placement("mill next", "ann", 0, 12, "dryer"),
        "barn coat": Placement("barn coat", "ann", 0, 12),
    }
    tasks = tuple(replace(task, fixed=fixed.get(task.id)) for task in problem.tasks)
    assert problem_faults(replace(problem, waits=waits, tasks=tasks)) == [
        "$.waits[0].holds: 'fan' is not defined",
        "$.waits[1].way: is empty",
        "$.tasks[1].fixed.way: 'dryer', but the way to leave 'mill next' has none",
        "$.tasks[2].fixed.way: '', but the way to leave 'barn coat' is one of 'by itself', 'dryer'",
    ]


def test_one_name_alone_is_a_way_too() -> None:
    waits = tuple(wait for wait in two_coats().waits if wait.way == "dryer")
    assert problem_faults(two_coats(waits=waits)) == []
    ways = {p.task: p.way for p in construct(two_coats(waits=waits)).placements}
    assert ways["mill coat"] == ways["barn coat"] == "dryer"


def test_unchanged_problem_keeps_the_ways_too() -> None:
    problem = two_coats()
    current = tuple(plan(mill="by itself", barn="dryer", barn_next=12 + WITH_DRYER))
    assert broken(problem, *current) == []
    first = propose(problem, Current(current), Limits(work=20), no_time)[0]
    assert set(first.placements) == set(current)


@examples(10, soak=25)
@given(problem=small_problems(), seed=st.integers(0, 9))
def test_a_refused_round_leaves_the_ways_as_they_were(problem: Problem, seed: int) -> None:
    walk = Walk(first_draft(compile_problem(problem)), Random(seed))
    for _ in range(8 if walk.pieces.tasks else 0):
        before = walk.draft.placements()
        if not walk.step(1.0):
            assert walk.draft.placements() == before


@examples(4, soak=8)
@given(problem=up_to_six_tasks(most=4))
def test_no_plan_costs_less_than_one_called_optimal(problem: Problem) -> None:
    outcome = solve(problem, Limits(work=200), no_time)
    assert verify(problem, outcome) == []
    if not outcome.unplaced:
        assert outcome.score.cost == Counting(problem).least_cost() == outcome.bound


def shop(jobs: list[tuple[int, int]]) -> Problem:
    """One crew, then at once one oven: a job's second time is a wait that holds the oven."""
    names = [f"job {number}" for number in range(len(jobs))]
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=2 * sum(map(sum, jobs)),
        crews=(Crew("crew", (Window(0, 2 * sum(map(sum, jobs)), 0),)), CREWS[0]),
        houses=(House("works"),),
        tasks=(
            *(
                Task(name, "works", name, TICK_MINUTES * first, crews=("crew",), handover="all")
                for name, (first, _) in zip(names, jobs, strict=True)
            ),
            *(Task(f"{name} out", "works", name, 1, crews=("ann",)) for name in names),
        ),
        handovers=(Handover("all", "works", 0),),
        waits=tuple(Wait(name, f"{name} out", name, holds=("oven",)) for name in names),
        curves={name: constant_lag(second) for name, (_, second) in zip(names, jobs, strict=True)},
        equipment=(Equipment("oven"),),
    )


@examples(3, soak=6)
@given(st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9)), min_size=2, max_size=5))
def test_two_machines_without_waiting(jobs: list[tuple[int, int]]) -> None:
    """Jobs that go from a crew straight into one oven are the two-machine flow shop without
    waiting: in the order of the sequence, its length is the first job's first time, the larger of
    each job's second and the next one's first, and the last job's second (P. C. Gilmore, R. E.
    Gomory: Sequencing a one state-variable machine, Operations Research 12, 1964)."""
    shortest = min(
        order[0][0] + sum(max(a[1], b[0]) for a, b in pairwise(order)) + order[-1][1]
        for order in permutations(jobs)
    )
    problem = shop(jobs)
    tasks = tuple(
        replace(task, done_curve=task.id) if task.handover else task for task in problem.tasks
    )
    problem = replace(problem, tasks=tasks)
    outcome = solve(problem, Limits(work=400), no_time)
    assert verify(problem, outcome) == []
    assert outcome.score.lateness == TICK_MINUTES * shortest
