"""Sets of rules that leave a task no place, against cases worked out by hand."""

from dataclasses import replace

import pytest

from scheduling.solver.conflict import conflict
from scheduling.solver.construct import construct
from scheduling.solver.loosen import Ground
from scheduling.solver.outcome import Limits
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

CREW = Crew("ann", tuple(Window(day * 100, day * 100 + 40, day) for day in range(3)))
TASK = Task("coat", "a", "a", 50)
HOURS = Ground("hours")
ONE_GO = Ground("one_go", "coat")
LAG = constant_lag(0)
LIMITS = Limits(work=100_000)


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
    return conflict_of(problem, task.id)


def conflict_of(problem: Problem, task: str) -> set[Ground]:
    placed = {place.task for place in construct(problem).placements}
    return set(conflict(problem, task, placed, LIMITS, lambda: 0.0))


@pytest.mark.parametrize(
    ("task", "found"),
    [
        (replace(TASK, skills=frozenset({"rare"})), {Ground("skill", "coat")}),
        (replace(TASK, starts=()), {Ground("starts", "coat")}),
        (replace(TASK, person_minutes=250), {HOURS, ONE_GO}),  # 50 ticks fit no day of 40
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
    assert grounds_of(TASK, houses=houses) == {Ground("opens", "a"), HOURS}


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


SHORT = replace(CREW, windows=CREW.windows[:1])
OTHER = Task("other", "a", "b", 200, fixed=Placement("other", "bob", 0, 40))
BESIDE = Ground("fixed", "other")


@pytest.mark.parametrize(
    ("task", "other", "changes", "found"),
    [
        (TASK, replace(OTHER, room="a"), {}, {Ground("room", "a"), BESIDE}),
        (TASK, replace(OTHER, alone=True), {}, {Ground("alone", "a"), BESIDE}),
        (TASK, OTHER, {"houses": (House("a", None, 1),)}, {Ground("full", "a"), BESIDE}),
        (
            replace(TASK, needs=("tower",)),
            replace(OTHER, needs=("tower",)),
            {"equipment": (Equipment("tower"),)},
            {Ground("equipment", "tower"), BESIDE},
        ),
        (
            replace(TASK, air_space="air", wet_curve="day"),
            replace(OTHER, air_space="air", dusty=True),
            {},
            {Ground("dust", "air"), BESIDE},
        ),
        (
            replace(TASK, grade=2),
            Task("other", "a", "a", grade=1, fixed=Placement("other", "bob", 0, 2)),
            {},
            {Ground("grade", "a"), Ground("room", "a"), BESIDE},
        ),
        (
            replace(TASK, crews=("ann",), run="run"),
            replace(OTHER, crews=("bob",), run="run", person_minutes=50, fixed=None),
            {},
            {Ground("run", "run"), Ground("skill", "coat"), Ground("skill", "other")},
        ),
        (
            replace(TASK, release=30),
            replace(OTHER, fixed=Placement("other", "bob", 0, 20)),
            {"waits": (Wait("other", "coat", "day", "order", 0),), "curves": {"day": LAG}},
            {Ground("release", "coat"), Ground("lag", "coat", "other"), BESIDE},
        ),
        (replace(TASK, batch_ticks=45), OTHER, {}, {Ground("batch", "coat")}),
        (TASK, OTHER, {"setup_ticks": 20, "washup_ticks": 11}, {Ground("setup")}),
        (
            TASK,
            OTHER,
            {
                "crews": (replace(SHORT, base="yard"), replace(SHORT, id="bob", base="yard")),
                "travel": {("yard", "a"): 31},
            },
            {Ground("travel")},
        ),
    ],
)
def test_each_rule_between_tasks(
    task: Task, other: Task, changes: dict[str, object], found: set[Ground]
) -> None:
    """One day of 40 ticks, to its end, for two crews."""
    day = {"crews": (SHORT, replace(SHORT, id="bob")), "horizon": 40}
    assert grounds_of(task, tasks=(other, task), **{**day, **changes}) == found


def test_other_work_is_named_as_one() -> None:
    others = [Task(f"b{n}", "b", f"b{n}", 175) for n in range(3)]
    task = replace(TASK, person_minutes=175)
    assert grounds_of(task, tasks=(*others, task)) == {HOURS, Ground("load", "b")}


def test_a_task_that_can_be_planned_has_no_conflict() -> None:
    problem = Problem("2026-03-02T00:00:00+00:00", 300, (CREW,), (House("a"),), (TASK,))
    assert conflict_of(problem, "coat") == set()
