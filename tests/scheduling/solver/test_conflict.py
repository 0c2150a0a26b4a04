"""Sets of rules that leave a task no place, against cases worked out by hand."""

from dataclasses import replace

import pytest
from hypothesis import given

from scheduling.solver.conflict import Ground, conflict
from scheduling.solver.construct import construct
from scheduling.solver.problem import (
    Crew,
    House,
    Placement,
    Problem,
    Span,
    Task,
    Wait,
    Window,
    constant_lag,
)
from tests.scheduling.solver.small_problems import small_problems

CREW = Crew("ann", tuple(Window(day * 100, day * 100 + 40, day) for day in range(3)))
TASK = Task("coat", "a", "a", 50)
HOURS = Ground("hours")


def grounds_of(task: Task, *others: Task, **changes: object) -> set[Ground]:
    problem = Problem(
        origin="2026-03-02T00:00:00+00:00",
        horizon=300,
        crews=(CREW,),
        houses=(House("a"), House("b")),
        tasks=(task, *others),
        curves={"long": constant_lag(215), "day": constant_lag(100)},
    )
    problem = replace(problem, **changes)  # type: ignore[arg-type]
    assert task.id in {item.task for item in construct(problem).unplaced}
    return set(conflict(problem, task.id))


@pytest.mark.parametrize(
    ("task", "found"),
    [
        (replace(TASK, skills=frozenset({"rare"})), {Ground("skill", "coat")}),
        (replace(TASK, starts=()), {Ground("starts", "coat")}),
        (replace(TASK, person_minutes=250), {HOURS}),  # 50 ticks never fit a day of 40
        (replace(TASK, release=235), {Ground("release", "coat"), HOURS}),
        (replace(TASK, open=(Span(50, 90),)), {Ground("closed", "coat"), HOURS}),
        (
            replace(TASK, open=(Span(0, 90),), starts=(Span(200, 210),)),
            {Ground("closed", "coat"), Ground("starts", "coat")},
        ),
    ],
)
def test_the_rules_of_one_task(task: Task, found: set[Ground]) -> None:
    assert grounds_of(task) == found


def test_a_house_open_in_the_evening_only() -> None:
    houses = (House("a", tuple(Span(n * 100 + 60, n * 100 + 90) for n in range(3))), House("b"))
    assert grounds_of(TASK, houses=houses) == {Ground("access", "a"), HOURS}


def test_a_house_released_too_late() -> None:
    houses = (House("a", release=235), House("b"))
    assert grounds_of(TASK, houses=houses) == {Ground("release", "coat"), HOURS}


def test_a_wait_that_outlasts_the_plan_from_an_opening_far_down_the_line() -> None:
    first = Task("tape", "a", "a", 50, release=20)
    waits = (Wait("tape", "coat", "long", "air"),)
    found = grounds_of(TASK, first, waits=waits)
    # Without any of the three the coat is in time: tape 0-10, coat 225-235 on the last day.
    assert found == {Ground("wait", "coat", "tape"), Ground("release", "tape"), HOURS}


def test_work_that_stays_where_it_is() -> None:
    busy = [
        Task(f"b{n}", "b", f"b{n}", 200, fixed=Placement(f"b{n}", "ann", n * 100, n * 100 + 40))
        for n in range(3)
    ]
    found = grounds_of(TASK, *busy)
    # Any one of the three set aside would do, and so would the nights.
    assert found == {HOURS, *(Ground("fixed", f"b{n}") for n in range(3))}


def test_other_work_is_named_as_one() -> None:
    others = [Task(f"b{n}", "b", f"b{n}", 175) for n in range(3)]
    task = replace(TASK, person_minutes=175)
    assert grounds_of(task, tasks=(*others, task)) == {HOURS, Ground("load")}


def test_a_task_that_can_be_planned_has_no_conflict() -> None:
    problem = Problem("2026-03-02T00:00:00+00:00", 300, (CREW,), (House("a"),), (TASK,))
    assert conflict(problem, "coat") == ()


@given(small_problems(8))
def test_conflicts_are_only_of_unplaced_tasks_and_repeatable(problem: Problem) -> None:
    for item in construct(problem).unplaced[:1]:
        assert conflict(problem, item.task) == conflict(problem, item.task)
