"""Cures whose worth can be worked out by hand."""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from scheduling.solver.again import solve_again, solve_from
from scheduling.solver.cures import Change, Cures, cures, late_ticks, with_crew_day, with_overtime
from scheduling.solver.outcome import Limits
from scheduling.solver.problem import Crew, Handover, House, Placement, Problem, Task, Window
from scheduling.solver.solve import solve
from scheduling.solver.verify import verify
from tests.scheduling.solver.streets import DAY, street

WORK = Limits(work=60, workers=1)
"""For one solve."""


def no_time() -> float:
    return 0.0


def window(day: int) -> Window:
    return Window(day * DAY + 84, day * DAY + 180, day)


# Three rooms of a day each, one crew that works on days 0 to 4 and 7 to 11; due after day 5.
ANN = Crew("ann", tuple(map(window, (3, 4, 7, 8))))
IDLE = Crew("bob", tuple(map(window, (3, 4))), frozenset({"rare"}))
PROBLEM = Problem(
    origin="2026-03-02T00:00:00+00:00",
    horizon=14 * DAY,
    crews=(ANN, IDLE),
    houses=(House("a"),),
    tasks=tuple(Task(f"room{n}", "a", f"a{n}", 96 * 5, crews=("ann",)) for n in range(3)),
    handovers=(Handover("a", "a", 6 * DAY),),
)
LATE = replace(PROBLEM, tasks=tuple(replace(task, handover="a") for task in PROBLEM.tasks))


def extra_day(crew: str, day: int, price: float = 8.0) -> Change:
    more = with_crew_day(LATE, crew, [window(day)])
    return Change("crew_day", crew, window(day).start, price, more)


def overtime(day: int, price: float = 1.5) -> Change:
    return Change("overtime", "ann", day, price, with_overtime(LATE, "ann", day, 12))


def cures_of(problem: Problem, plan: Sequence[Placement], changes: Sequence[Change]) -> Cures:
    """Return what helps house a, each change solved with the work of one solve."""
    limits = replace(WORK, work=60 * (len(changes) + 2))
    changed = [change.problem for change in changes]
    return cures("a", problem, changes, solve_again(problem, changed, plan, limits, no_time))


def test_the_missing_day_is_found_and_what_is_useless_is_not_shown() -> None:
    plan = solve(LATE, WORK, no_time).placements
    changes = [overtime(3), extra_day("bob", 5), extra_day("ann", 5), extra_day("ann", 9)]
    found = cures_of(LATE, plan, changes)
    # Monday (day 7) 15:00 is two days and 180 - 1 ticks late: two days and a begun one.
    assert found.unchanged == DAY + 180
    assert [(c.change.subject, c.change.tick, c.left, c.days_saved) for c in found.found] == [
        ("ann", window(5).start, 0, 2)
    ]


def test_equal_days_are_ranked_by_price() -> None:
    plan = solve(LATE, WORK, no_time).placements
    changes = [extra_day("ann", 5, price=8), replace(extra_day("ann", 5), price=3)]
    found = cures_of(LATE, plan, changes)
    assert [cure.change.price for cure in found.found] == [3, 8]


def test_an_hour_more_lets_a_longer_room_fit() -> None:
    tasks = (Task("long", "a", "a", 108 * 5, handover="a", crews=("ann",)), *LATE.tasks[:1])
    problem = replace(LATE, tasks=tasks)
    assert solve(problem, WORK, no_time).unplaced
    more = Change("overtime", "ann", 3, 1.5, with_overtime(problem, "ann", 3, 12))
    found = cures_of(problem, (), [more])
    assert [cure.left for cure in found.found] == [0]


def test_overtime_stops_at_the_next_window() -> None:
    crew = Crew("ann", (Window(0, 10, 0), Window(14, 20, 0), Window(25, 30, 1)))
    changed = with_overtime(replace(LATE, crews=(crew,)), "ann", 0, 12)
    assert [(w.start, w.end) for w in changed.crews[0].windows] == [(0, 10), (14, 25), (25, 30)]


def test_a_house_in_time_needs_no_cure() -> None:
    kept = replace(LATE, handovers=(Handover("a", "a", 12 * DAY),))
    found = cures_of(kept, (), [extra_day("ann", 5)])
    assert (found.unchanged, found.found) == (0, ())


def test_a_house_is_not_helped_at_the_cost_of_another() -> None:
    houses = (House("a"), House("b"))
    other = tuple(
        replace(task, id=f"b{task.id}", house="b", room=f"b{task.room}", handover="b")
        for task in LATE.tasks[:1]
    )
    due = (Handover("a", "a", 6 * DAY, 1), Handover("b", "b", 4 * DAY, 50))
    problem = replace(LATE, houses=houses, tasks=(*LATE.tasks, *other), handovers=due)
    plan = solve(problem, WORK, no_time).placements
    # The other house released a week later: this one could go first, and the other be late.
    delayed = tuple(replace(task, release=7 * DAY) for task in other)
    swap = replace(problem, tasks=(*LATE.tasks, *delayed))
    found = cures_of(problem, plan, [Change("swap", "b", 0, 1, swap)])
    assert found.found == ()


@pytest.mark.parametrize("work", [0, 150])
def test_solving_from_a_plan_is_sound_never_worse_and_repeatable(work: int) -> None:
    problem = street(houses=3, rooms=2, crews=2, slack=6)
    before = solve(problem, Limits(work=150), no_time)
    limits = Limits(work=work, workers=1)
    one, two = (solve_from(problem, before.placements, limits, no_time) for _ in range(2))
    assert verify(problem, one) == []
    assert one.score <= before.score
    assert one.placements == two.placements
    assert late_ticks(problem, one, "h0") >= 0
