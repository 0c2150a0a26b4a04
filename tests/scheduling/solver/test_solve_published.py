"""The solver against optima that others have proved."""

from time import monotonic

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.outcome import Limits, Status
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
from scheduling.solver.solve import solve
from scheduling.solver.verify import verify
from tests.examples import examples
from tests.scheduling.solver.shops import benchmark, job_shop


def no_time() -> float:
    return 0.0


@pytest.mark.parametrize(
    ("name", "optimum"),
    [
        ("ft06", 55),  # Fisher, Thompson 1963
        ("la01", 666),  # Lawrence 1984
    ],
)
def test_job_shop_optimum_is_reached_and_proved(name: str, optimum: int) -> None:
    assert benchmark(name)["metadata"]["optimum"] == optimum
    problem = job_shop(name)
    outcome = solve(problem, Limits(work=2000), no_time)
    assert verify(problem, outcome) == []
    assert outcome.status is Status.OPTIMAL
    assert outcome.bound == outcome.score.lateness == optimum * TICK_MINUTES


NO_WAIT = Limits(seconds=60, workers=4)
"""More than is needed: the solve ends when the optimum is proved."""


@pytest.mark.parametrize(
    ("name", "optimum", "limits"),
    [
        # Proved beforehand, outside this project; no published table was at hand.
        ("ft06", 73, Limits(work=2000)),
        pytest.param("la01", 971, NO_WAIT, marks=pytest.mark.soak),
        pytest.param("la03", 820, NO_WAIT, marks=pytest.mark.soak),
    ],
)
def test_no_wait_job_shop_optimum_is_reached(name: str, optimum: int, limits: Limits) -> None:
    problem = job_shop(name, no_wait=True)
    began = monotonic()
    outcome = solve(problem, limits, lambda: monotonic() - began)
    assert verify(problem, outcome) == []
    assert outcome.score.lateness == optimum * TICK_MINUTES
    assert outcome.bound <= outcome.score.cost


def two_coats(houses: int, length: int, wait: int) -> Problem:
    """One crew, two coats of one length in every house, at least ``wait`` between them."""
    horizon = 2 * houses * length + wait + 1
    tasks = tuple(
        Task(f"{house}-{coat}", f"{house}", f"{house}", length * TICK_MINUTES, handover="all")
        for house in range(houses)
        for coat in (1, 2)
    )
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=horizon,
        crews=(Crew("crew", (Window(0, horizon, 0),)),),
        houses=tuple(House(f"{house}") for house in range(houses)),
        tasks=tasks,
        handovers=(Handover("all", "0", 0),),
        waits=tuple(Wait(f"{house}-1", f"{house}-2", "wait") for house in range(houses)),
        curves={"wait": constant_lag(wait)},
    )


@examples(20, soak=60)
@given(houses=st.integers(1, 5), length=st.integers(1, 6), wait=st.integers(0, 40))
def test_two_coats_by_one_crew_reach_the_closed_form(houses: int, length: int, wait: int) -> None:
    # One machine, two operations per job, a minimum delay: the machine is busy for 2np, and
    # idle only as long as the first wait outlasts the other houses' first coats (a common
    # result for coupled operations of equal length).
    makespan = 2 * houses * length + max(0, wait - (houses - 1) * length)
    problem = two_coats(houses, length, wait)
    outcome = solve(problem, Limits(work=300), no_time)
    assert verify(problem, outcome) == []
    assert outcome.score.lateness == makespan * TICK_MINUTES
    assert outcome.status is Status.OPTIMAL
