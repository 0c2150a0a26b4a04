"""Odds of plans whose waits are normally distributed, against the closed form."""

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from scheduling.solver.by_history import NEVER, Later
from scheduling.solver.forward import Histories, handover_ticks, run_forward
from scheduling.solver.odds import odds_of, tick_that_holds
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
)

DRAWN = 20_000
MEAN, SPREAD = 300.0, 40.0
Z80 = NormalDist().inv_cdf(0.8)
ALWAYS = (Window(0, 5000, 0),)


def problem(*, crews: int) -> Problem:
    """By crew a room with three coats of one tick each and a wait between them; crews never rest,
    and the house is handed over when the last of all is done."""
    rooms = [f"room{number}" for number in range(crews)]
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=5000,
        crews=tuple(Crew(f"crew{number}", ALWAYS) for number in range(crews)),
        houses=(House("h"),),
        tasks=tuple(Task(f"{r}:{n}", "h", r, 5, handover="h") for r in rooms for n in range(3)),
        handovers=(Handover("h", "h", 0),),
        waits=tuple(
            Wait(f"{r}:{n}", f"{r}:{n + 1}", f"{r}:{n}", "air") for r in rooms for n in range(2)
        ),
        curves={f"{r}:{n}": constant_lag(0) for r in rooms for n in range(2)},
    )


def planned(of: Problem) -> list[Placement]:
    crews = {f"room{number}": crew.id for number, crew in enumerate(of.crews)}
    return [Placement(t.id, crews[t.room], n % 3, n % 3 + 1) for n, t in enumerate(of.tasks)]


def done(of: Problem, seed: int = 1) -> np.ndarray:
    """Return when the house is done in each history."""
    random = np.random.default_rng(seed)
    waits = {name: random.normal(MEAN, SPREAD, DRAWN) for name in of.curves}

    def drying(hours: np.ndarray) -> Later:
        return lambda ends: ends + np.ceil(hours).astype(np.int64)

    histories = Histories(DRAWN, ready={name: drying(w) for name, w in waits.items()})
    return handover_ticks(of, run_forward(of, planned(of), histories), histories)["h"]


@pytest.mark.parametrize("crews", [1, 2, 3])
def test_odds_and_the_date_that_holds_are_those_of_the_closed_form(crews: int) -> None:
    """A room is done at the sum of two normal waits, the house at the largest of such sums, so
    that its distribution is that of one room to the power of their number."""
    room = NormalDist(2 * MEAN + 3 + 1, SPREAD * 2**0.5)  # rounding up adds a half tick a wait
    found = done(problem(crews=crews))
    error = 4 * (0.25 / DRAWN) ** 0.5
    for due in (500, 570, 604, 640, 700):
        wanted = room.cdf(due + 0.5) ** crews
        assert odds_of(found, due, 5000).in_time == pytest.approx(wanted, abs=error)
    holds = odds_of(found, 0, 5000).holds
    assert holds == pytest.approx(room.inv_cdf(0.8 ** (1 / crews)), abs=2.5)


def test_one_crew_at_two_houses_waits_for_both() -> None:
    """A crew that stays with the order of its plan: the second house is done after the largest of
    the first's wait and its own, both counted from the start."""
    one = replace(
        problem(crews=2),
        crews=(Crew("crew0", ALWAYS),),
        houses=(House("a"), House("b")),
        handovers=(Handover("b", "b", 0),),
    )
    tasks = (
        Task("a:0", "a", "a", 5),
        Task("b:0", "b", "b", 5, handover="b"),
        Task("a:1", "a", "a", 5),
        Task("b:1", "b", "b", 5, handover="b"),
    )
    one = replace(
        one,
        tasks=tasks,
        waits=(Wait("a:0", "a:1", "a", "air"), Wait("b:0", "b:1", "b", "air")),
        curves={"a": constant_lag(0), "b": constant_lag(0)},
    )
    plan = [Placement(task.id, "crew0", n, n + 1) for n, task in enumerate(tasks)]
    random = np.random.default_rng(2)
    a, b = (np.rint(random.normal(MEAN, SPREAD, DRAWN)).astype(np.int64) for _ in "ab")
    histories = Histories(DRAWN, ready={"a": lambda ends: ends + a, "b": lambda ends: ends + b})
    found = handover_ticks(one, run_forward(one, plan, histories), histories)["b"]
    # a:1 starts at 1 + A and takes a tick; b:1 starts at 2 + B or after that. So b is done at
    # max(A, B) + 3.
    assert found.tolist() == (np.maximum(a, b) + 3).tolist()
    wait = NormalDist(MEAN, SPREAD)
    expected = wait.cdf(330 - 3 + 0.5) ** 2
    assert odds_of(found, 330, 5000).in_time == pytest.approx(expected, abs=0.015)


def test_the_tick_that_holds_is_reached_in_eight_of_ten() -> None:
    ticks = np.array([5, 1, 4, 2, 3, 9, 8, 7, 6, 10])
    assert tick_that_holds(ticks) == 8
    assert tick_that_holds(ticks, 0.81) == 9
    assert tick_that_holds(np.array([3])) == 3


def test_what_is_never_done_in_three_of_ten_holds_at_no_date() -> None:
    ticks = np.array([1] * 7 + [NEVER] * 3)
    odds = odds_of(ticks, 5, horizon=105)
    assert (odds.in_time, odds.holds) == (0.7, None)
    assert odds.late_minutes == pytest.approx(0.3 * 100 * 5)
