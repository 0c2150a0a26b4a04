"""The fewest changes, against counting through every plan of small cases with every start."""

from dataclasses import replace
from itertools import pairwise
from random import Random

from hypothesis import assume, given
from hypothesis import strategies as st

from scheduling.solver.change import Current, change_between
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import construct, outcome_of
from scheduling.solver.fewest import Fewest, fewest_changes, first_fewest
from scheduling.solver.homes import Homes, homes_of
from scheduling.solver.least_change import LeastChange
from scheduling.solver.outcome import Limits
from scheduling.solver.problem import (
    TICK_MINUTES,
    Crew,
    Handover,
    House,
    Placement,
    Problem,
    Task,
    Wait,
    Window,
    constant_lag,
)
from scheduling.solver.proposals import propose
from scheduling.solver.verify import verify
from tests.examples import examples
from tests.scheduling.solver.counting import Counting
from tests.scheduling.solver.streets import street

HORIZON = 30
CREWS = (
    Crew("north", (Window(0, 8, 0), Window(13, 20, 1), Window(25, HORIZON, 2))),
    Crew("south", (Window(2, 9, 0), Window(14, 22, 1))),
    Crew("hill", (Window(0, 6, 0), Window(12, 18, 1))),
)

MANY = 1_000_000
"""Rounds that are never used up."""

Places = tuple[Placement, ...]


@st.composite
def coats(draw: st.DrawFn) -> Problem:
    """Two or three crews, three days of 30 ticks in all; two or three coats at one house and one
    or two at another, waits between them, a way between the houses, set-up, perhaps a run."""
    numbers = (draw(st.integers(2, 3)), draw(st.integers(1, 2)))
    run = draw(st.sampled_from([None, "run"]))
    tasks = tuple(
        Task(
            f"coat {number} of {house}",
            house,
            f"room {number if run else 0} of {house}",
            5 * draw(st.integers(1, 3)),
            run=run and f"{run} of {house}",
            handover=house,
        )
        for house, count in zip("ab", numbers, strict=True)
        for number in range(count)
    )
    waits = tuple(
        Wait(one.id, other.id, "lag")
        for one, other in pairwise(tasks)
        if one.house == other.house and not run
    )
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=HORIZON,
        crews=CREWS[: draw(st.integers(2, 3))],
        houses=(House("a"), House("b")),
        tasks=tasks,
        handovers=(Handover("a", "a", draw(st.integers(2, 20))), Handover("b", "b", 8)),
        waits=waits,
        curves={"lag": constant_lag(draw(st.integers(0, 8)))},
        travel=dict.fromkeys([("a", "b"), ("b", "a")], draw(st.integers(0, 2))),
        setup_ticks=draw(st.integers(0, 1)),
    )


def late_coat(problem: Problem, which: int, ticks: int, *, longer: bool) -> Problem:
    """A coat that cannot start for a while, or takes longer."""
    late = problem.tasks[which % len(problem.tasks)]
    if longer:
        late = replace(late, person_minutes=late.person_minutes + 5 * min(ticks, 4))
    else:
        late = replace(late, release=ticks)
    return replace(problem, tasks=tuple(late if t.id == late.id else t for t in problem.tasks))


def longer_wait(problem: Problem, ticks: int) -> Problem:
    return replace(problem, curves={"lag": constant_lag(ticks)})


def crew_away(problem: Problem, which: int) -> Problem:
    """A crew without its first day."""
    away = problem.crews[which % len(problem.crews)]
    rest = replace(away, windows=away.windows[1:])
    return replace(problem, crews=tuple(rest if c.id == away.id else c for c in problem.crews))


def current_of(problem: Problem) -> Places:
    current = construct(problem)
    assume(not current.unplaced)
    return current.placements


def assert_least(problem: Problem, current: Places) -> None:
    """The fewest changes found verify, no plan there is changes less, and that is said. What is
    taken to be the least without looking at the crews' other work is no more than that."""
    homes, fewest = found(problem, current, rounds=MANY)
    first = outcome_of(fewest.draft)
    assert fewest.proved
    assert not verify(problem, first)
    least = Counting(problem).least_change(current)
    assert (least is None) == bool(first.unplaced)
    if least is not None:
        assert change_between(problem, current, first.placements).size == least
        visits, shift = LeastChange(homes).size
        assert (visits, shift * TICK_MINUTES) <= least


@examples(6, soak=15)
@given(coats(), st.integers(0, 4), st.integers(1, 18), st.booleans())
def test_one_late_coat_moves_only_what_must_move(
    problem: Problem, which: int, ticks: int, longer: bool
) -> None:
    assert_least(late_coat(problem, which, ticks, longer=longer), current_of(problem))


@examples(3, soak=5)
@given(coats(), st.integers(1, 12))
def test_longer_wait_moves_only_what_must_move(problem: Problem, ticks: int) -> None:
    assert_least(longer_wait(problem, ticks), current_of(problem))


@examples(3, soak=5)
@given(coats(), st.integers(0, 2))
def test_crew_away_moves_only_what_must_move(problem: Problem, which: int) -> None:
    assert_least(crew_away(problem, which), current_of(problem))


def late_in_a_street(rooms: int) -> tuple[Problem, Places]:
    problem = street(houses=2, rooms=rooms, crews=2)
    current = construct(problem).placements
    first = min(current, key=lambda place: place.start)
    release = first.start + 288
    tasks = (replace(t, release=release) if t.id == first.task else t for t in problem.tasks)
    return replace(problem, tasks=tuple(tasks)), current


def found(problem: Problem, current: Places, rounds: int) -> tuple[Homes, Fewest]:
    left = iter(range(rounds))
    homes = homes_of(compile_problem(problem), Current(current))
    first = first_fewest(homes)
    return homes, fewest_changes(homes, first, Random(1), lambda: next(left, None) is not None)


def test_what_was_not_weighed_is_not_said_to_be_least() -> None:
    problem, current = late_in_a_street(rooms=3)
    homes, fewest = found(problem, current, rounds=3)
    assert homes.size(fewest.draft) > (0, 0)
    assert not fewest.proved


def test_weighing_that_ran_out_of_rounds_proves_nothing() -> None:
    # Both tasks must go to the second day, where they cannot both come first.
    problem = Problem(
        "2026-01-01T00:00:00+00:00",
        HORIZON,
        CREWS[:1],
        (House("a"), House("b")),
        (Task("one", "a", "a", 15), Task("two", "b", "b", 15)),
    )
    current = construct(problem).placements
    assert not found(crew_away(problem, 0), current, rounds=1)[1].proved
    assert found(crew_away(problem, 0), current, rounds=MANY)[1].proved


def late_last_visit() -> tuple[Problem, Places]:
    """One coat of the last visit starts an hour later, and nothing comes after it."""
    problem = street(houses=4, rooms=3)
    current = construct(problem).placements
    last = max(current, key=lambda place: place.start)
    tasks = (
        replace(task, release=last.start + 12) if task.id == last.task else task
        for task in problem.tasks
    )
    return replace(problem, tasks=tuple(tasks)), current


def test_any_size_is_proved_where_only_what_must_move_has_moved() -> None:
    homes, fewest = found(*late_last_visit(), rounds=5)
    assert homes.size(fewest.draft) > (0, 0)
    assert fewest.proved


def test_proposal_says_that_it_is_proved() -> None:
    problem, current = late_last_visit()
    shown = propose(problem, Current(current), Limits(work=20), lambda: 0.0)
    assert [outcome.least_change for outcome in shown] == [True] + [False] * (len(shown) - 1)
    problem, current = late_in_a_street(rooms=3)
    shown = propose(problem, Current(current), Limits(work=20), lambda: 0.0)
    assert not any(outcome.least_change for outcome in shown)
