"""Measures of change between two plans."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.change import Change, WorkingTime, change_between
from scheduling.solver.construct import construct
from scheduling.solver.outcome import Limits
from scheduling.solver.problem import Crew, House, Placement, Problem, Task, Window
from scheduling.solver.solve import solve
from tests.scheduling.solver.small_problems import small_problems

# Two days of work from 0 to 10 and 20 to 30, with a break from 4 to 6 on the first.
ONE = Crew("one", (Window(0, 4, 0), Window(6, 10, 0), Window(20, 30, 1)))
OTHER = Crew("other", (Window(0, 10, 0), Window(20, 30, 1)))
PAIR = Problem(
    "2026-01-01T00:00:00+00:00",
    30,
    (ONE, OTHER),
    (House("h"),),
    (Task("a", "h", "h1", 10), Task("b", "h", "h2", 10)),
)


def at(task: str, start: int, crew: str = "one") -> Placement:
    return Placement(task, crew, start, start + 2)


def test_shift_counts_working_time_only() -> None:
    # From 2 to 21: two ticks to the break, four after it, one of the next day: 7 x 5 minutes.
    change = change_between(PAIR, [at("a", 2), at("b", 6)], [at("a", 21), at("b", 6)])
    assert change == Change(1, 1, 0, 35, 35, 1)


def test_same_day_is_a_shift_and_no_move() -> None:
    change = change_between(PAIR, [at("a", 0), at("b", 6)], [at("a", 8), at("b", 6)])
    assert change == Change(0, 0, 0, 30, 30, 1)


def test_two_tasks_of_one_visit_are_one_visit_moved() -> None:
    change = change_between(PAIR, [at("a", 0), at("b", 2)], [at("a", 20), at("b", 22)])
    assert (change.visits_moved, change.tasks_moved, change.reversals) == (1, 2, 0)


def test_other_crew_at_the_same_time_is_a_move_without_shift() -> None:
    change = change_between(PAIR, [at("a", 0)], [at("a", 0, "other")])
    assert change == Change(1, 1, 1, 0, 0, 0)


def test_only_the_first_days_are_counted_when_asked() -> None:
    before, after = [at("a", 0), at("b", 20)], [at("a", 1), at("b", 24)]
    assert change_between(PAIR, before, after, until=20).total_shift_minutes == 5
    assert change_between(PAIR, before, after).total_shift_minutes == 25


def test_place_of_a_crew_that_is_away_that_day_counts_as_moved() -> None:
    away = replace(PAIR, crews=(replace(ONE, windows=ONE.windows[:2]), OTHER))
    change = change_between(away, [at("a", 20)], [at("a", 0)])
    assert change.visits_moved == 1


@given(small_problems())
def test_nothing_changed_is_nothing(problem: Problem) -> None:
    places = construct(problem).placements
    assert change_between(problem, places, places) == Change()


@given(small_problems(), st.integers(0, 3))
def test_counts_are_the_same_both_ways(problem: Problem, seed: int) -> None:
    before = construct(problem).placements
    limits = Limits(seconds=None, work=5, workers=1, seed=seed)
    after = solve(problem, limits, lambda: 0.0, lambda _: None).placements
    there, back = change_between(problem, before, after), change_between(problem, after, before)
    same = ("tasks_moved", "crews_changed", "reversals")
    assert all(getattr(there, name) == getattr(back, name) for name in same)
    assert there.visits_moved <= there.tasks_moved


@given(st.integers(-5, 40), st.integers(-5, 40), st.integers(-5, 40))
def test_working_time_is_a_distance(one: int, two: int, three: int) -> None:
    time = WorkingTime((ONE,))
    assert time.between("one", one, two) == time.between("one", two, one)
    assert time.between("one", one, three) <= time.between("one", one, two) + time.between(
        "one", two, three
    )
    assert time.between("one", one, two) == sum(
        any(w.start <= tick < w.end for w in ONE.windows)
        for tick in range(min(one, two), max(one, two))
    )
