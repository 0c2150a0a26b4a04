"""Letting go the fewest published visits, against trying every set of them."""

from collections import defaultdict
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver import release
from scheduling.solver.change import Visit, WorkingTime, visit_of
from scheduling.solver.construct import construct
from scheduling.solver.problem import (
    Crew,
    Equipment,
    House,
    Placement,
    Problem,
    Span,
    Task,
    Wait,
    Window,
    constant_lag,
)
from scheduling.solver.release import held_to_the_rules, keep_what_holds
from scheduling.solver.verify import verify
from tests.examples import examples
from tests.scheduling.solver.small_problems import small_problems

DAYS = tuple(Window(day * 100, day * 100 + 40, day) for day in range(4))


def holds(problem: Problem) -> bool:
    return not verify(held_to_the_rules(problem), construct(problem))


def without(problem: Problem, names: frozenset[str]) -> Problem:
    tasks = (replace(t, fixed=None) if t.id in names else t for t in problem.tasks)
    return replace(problem, tasks=tuple(tasks))


def visits_of(problem: Problem) -> list[frozenset[str]]:
    """Return the frozen tasks by crew, house and day."""
    time = WorkingTime(problem.crews)
    groups: dict[Visit, set[str]] = defaultdict(set)
    for task in problem.tasks:
        if task.fixed and task.fixed.start >= problem.now:
            groups[visit_of(time, task.house, task.fixed)].add(task.id)
    return [frozenset(group) for group in groups.values()]


def fewest_by_trying(problem: Problem) -> int | None:
    """Return how many visits must go at least; None where not even letting all go would do."""
    groups = visits_of(problem)
    for count in range(len(groups) + 1):
        for gone in combinations(groups, count):
            if holds(without(problem, frozenset().union(*gone))):
                return count
    return None


@st.composite
def published(draw: st.DrawFn) -> Problem:
    """A planned problem of which some tasks are frozen, some of them no longer where they fit."""
    problem = draw(small_problems(6))
    places = {place.task: place for place in construct(problem).placements}
    tasks = []
    for task in problem.tasks:
        place, shift = places.get(task.id), draw(st.sampled_from([None, 0, 0, 0, 4]))
        if task.fixed is None and place is not None and shift is not None:
            place = replace(place, start=place.start + shift, end=place.end + shift)
            tasks.append(replace(task, fixed=place))
        else:
            tasks.append(task)
    return replace(problem, tasks=tuple(tasks))


@examples(30, soak=120)
@given(problem=published())
def test_no_smaller_set_of_visits_would_do(problem: Problem) -> None:
    least = fewest_by_trying(problem)
    kept = keep_what_holds(problem)
    if least is not None:
        assert holds(kept.problem)
        assert len(kept.freed) == least


def frozen(name: str, house: str, start: int, ticks: int, **more: object) -> Task:
    place = Placement(name, "ann", start, start + ticks)
    task = Task(name, house, f"{house} {name}", 5 * ticks, fixed=place)
    return replace(task, **more)  # type: ignore[arg-type]  # a test's shorthand


def problem_of(*tasks: Task, **more: object) -> Problem:
    problem = Problem(
        origin="2026-03-02T00:00:00+00:00",
        horizon=400,
        crews=(Crew("ann", DAYS),),
        houses=(House("mill"), House("barn")),
        tasks=tasks,
        curves={"day": constant_lag(60)},
    )
    return replace(problem, **more)  # type: ignore[arg-type]  # a test's shorthand


def test_what_still_holds_stays() -> None:
    problem = problem_of(frozen("tape", "mill", 0, 10), frozen("patch", "barn", 100, 10))
    assert keep_what_holds(problem).freed == ()


def test_one_of_two_visits_at_once_goes_and_never_the_pinned_one() -> None:
    # Ann cannot be in both houses; the visit with less work would go if nobody had pinned it.
    problem = problem_of(
        frozen("long", "mill", 0, 20), frozen("more", "mill", 20, 10), frozen("short", "barn", 5, 5)
    )
    assert [freed.tasks for freed in keep_what_holds(problem).freed] == [("short",)]
    (freed,) = keep_what_holds(problem, pinned={"short"}).freed
    assert (freed.tasks, freed.pinned) == (("long", "more"), False)


def test_the_reason_names_the_rule_and_the_other_task() -> None:
    waits = (Wait("tape", "second", "day"),)
    tape, second = frozen("tape", "mill", 0, 10), frozen("second", "mill", 20, 10)
    closed = (House("mill"), House("barn", access=(Span(200, 300),)))
    problem = problem_of(tape, second, frozen("patch", "barn", 100, 10), waits=waits, houses=closed)
    freed = {one.tasks: (one.code, one.other) for one in keep_what_holds(problem).freed}
    # The two coats are one visit of Monday's: which of them is at fault cannot be told apart.
    assert freed == {("tape", "second"): ("wait", "tape"), ("patch",): ("house_closed", "")}


def test_a_visit_that_leaves_equipment_behind_may_go_for_those_that_need_it() -> None:
    # The dryer stays with the first coat from tick 10 to 110; two visits need it meanwhile.
    dried = (
        frozen("tape", "mill", 0, 10),
        frozen("second", "mill", 305, 10),
        frozen("heat", "barn", 20, 10, needs=("dryer",)),
        frozen("more", "barn", 100, 10, needs=("dryer",)),
    )
    problem = problem_of(
        *dried,
        waits=(Wait("tape", "second", "dry", holds=("dryer",)),),
        curves={"dry": constant_lag(100)},
        equipment=(Equipment("dryer"),),
    )
    for pinned in ((), ("heat", "more")):
        (freed,) = keep_what_holds(problem, pinned).freed
        assert (freed.tasks, freed.code, freed.pinned) == (("tape",), "equipment", False)


def test_of_visits_alike_the_first_by_name_goes(monkeypatch: pytest.MonkeyPatch) -> None:
    # With no looks left visits are let go by turns: the choice must not depend on hashing.
    monkeypatch.setattr(release, "LOOKS", 0)
    names = [f"house {number}" for number in range(8)]
    tasks = [frozen(name, name, 0, 10) for name in reversed(names)]
    problem = problem_of(*tasks, houses=tuple(House(name) for name in names))
    freed = [one.tasks[0] for one in keep_what_holds(problem).freed]
    assert freed == names[:7]
