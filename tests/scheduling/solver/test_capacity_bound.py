"""The bound that the crews' hours give, against plans counted through and one worked by hand."""

from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.bound import lateness_bound
from scheduling.solver.capacity_bound import capacity_bound
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import construct
from scheduling.solver.problem import (
    TICK_MINUTES,
    Crew,
    Handover,
    House,
    Problem,
    Task,
    Wait,
    Window,
    constant_lag,
)
from tests.examples import examples
from tests.scheduling.solver.counting import Counting
from tests.scheduling.solver.small_problems import small_problems


def houses(lengths: list[tuple[int, ...]], crews: list[int], dues: list[int]) -> Problem:
    """Return houses that each have coats of these person-ticks, one tick apart, all by anyone."""
    windows = (Window(0, 6, 0), Window(8, 16, 0))
    tasks = [
        Task(f"{h}-{c}", f"{h}", f"{h}", length * TICK_MINUTES, handover=f"{h}")
        for h, coats in enumerate(lengths)
        for c, length in enumerate(coats)
    ]
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=16,
        crews=tuple(
            Crew(f"{number}", tuple(Window(w.start, w.end, w.day, heads) for w in windows))
            for number, heads in enumerate(crews)
        ),
        houses=tuple(House(f"{h}") for h in range(len(lengths))),
        tasks=tuple(tasks),
        handovers=tuple(
            Handover(f"{h}", f"{h}", due, weight=1 + h % 2) for h, due in enumerate(dues)
        ),
        waits=tuple(
            Wait(f"{h}-{c}", f"{h}-{c + 1}", "tick")
            for h, coats in enumerate(lengths)
            for c in range(len(coats) - 1)
        ),
        curves={"tick": constant_lag(1)},
    )


def test_one_crew_cannot_be_in_two_houses_at_once() -> None:
    # Two houses of four ticks of work each, due at once; each alone would be done at tick 4. What
    # is done in the n-th tick has its house done at max(4, n): the eight ticks of work end at 1
    # to 6 and, after the break, at 9 and 10. The second house counts double, so the cheapest is
    # to have it first: 2 * 4 for it, and (5 + 6 + 9 + 10) / 4 = 7.5 for the other.
    problem = houses([(4,), (4,)], [1], [0, 0])
    compiled = compile_problem(problem)
    assert lateness_bound(compiled) == (4 + 2 * 4) * TICK_MINUTES
    assert capacity_bound(compiled) == 16 * TICK_MINUTES  # 15.5, in whole ticks


@examples(20, soak=60)
@given(
    st.lists(
        st.lists(st.integers(1, 6), min_size=1, max_size=2).map(tuple), min_size=2, max_size=3
    ),
    st.lists(st.integers(1, 2), min_size=1, max_size=2),
    st.lists(st.integers(0, 6), min_size=3, max_size=3),
)
def test_no_plan_is_less_late(
    lengths: list[tuple[int, ...]], crews: list[int], dues: list[int]
) -> None:
    problem = houses(lengths, crews, dues[: len(lengths)])
    bound = capacity_bound(compile_problem(problem))
    least = Counting(problem).least_cost()
    assert least is None or bound <= least
    assert bound <= construct(problem).score.lateness


@given(small_problems())
def test_a_plan_with_tasks_left_out_is_no_less_late_either(problem: Problem) -> None:
    compiled = compile_problem(problem)
    bound = capacity_bound(compiled)
    assert lateness_bound(compiled) <= bound <= construct(problem).score.lateness
