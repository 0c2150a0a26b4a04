"""Long random runs. COATWEAVE_SOAK says how many instances; 200 by default, 2000 for a release."""

import os

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.solver.compiled import compile_problem
from scheduling.solver.exact import gaps_are_exact
from scheduling.solver.outcome import Limits, Status
from scheduling.solver.problem import (
    Crew,
    Equipment,
    Handover,
    House,
    Problem,
    ReadyCurve,
    Task,
    Wait,
    Window,
    constant_lag,
)
from scheduling.solver.problem_faults import problem_faults
from scheduling.solver.solve import solve
from scheduling.solver.verify import verify
from tests.scheduling.solver.counting import Counting
from tests.scheduling.solver.small_problems import small_problems

pytestmark = pytest.mark.soak

INSTANCES = int(os.environ.get("COATWEAVE_SOAK", "200"))
SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example]
HORIZON = 16
PRICES = st.sampled_from([0, 3, 20])
SPLITS = st.sampled_from([0, 0, 1, 2])


def a_wait(before: str, after: str) -> st.SearchStrategy[list[Wait]]:
    """A wait, one that holds the dryer, or waiting long by itself or briefly with the dryer."""
    dryer = ("dryer",)
    return st.one_of(
        st.sampled_from(["step", "short"]).map(lambda curve: [Wait(before, after, curve)]),
        st.just([Wait(before, after, "step", holds=dryer)]),
        st.sampled_from(["step", "long"]).map(
            lambda curve: [
                Wait(before, after, curve, way="by itself"),
                Wait(before, after, "short", way="dryer", holds=dryer),
            ]
        ),
    )


@st.composite
def up_to_six_tasks(draw: st.DrawFn, most: int = 6) -> Problem:
    """Two crews, two houses, waits, a dryer, dust beside wet, grades, runs, travel, set-up, work
    that may be split, a window at a price and a house released late."""
    count = draw(st.integers(1, most))
    noon = draw(st.integers(5, 8))
    tasks = []
    for number in range(count):
        house, dusty = f"h{draw(st.integers(0, 1))}", draw(st.integers(0, 3)) == 0
        tasks.append(
            Task(
                id=f"t{number}",
                house=house,
                room=f"{house}r{draw(st.integers(0, 1))}",
                person_minutes=5 * draw(st.integers(1, 6 if (split := draw(SPLITS)) else 2)),
                split=split,
                air_space=house,
                dusty=dusty,
                wet_curve=None if dusty else draw(st.sampled_from([None, "short"])),
                grade=draw(st.sampled_from([None, None, 1, 2])),
                run=draw(st.sampled_from([None, None, f"{house} run"])),
                crews=draw(st.sampled_from([None, None, ("c0",)])),
                handover=draw(st.sampled_from(["h0", "h1"])),
                needs=draw(st.sampled_from([(), (), (), ("dryer",)])),
                done_curve=draw(st.sampled_from([None, "step"])),
            )
        )
    pairs = draw(st.lists(st.tuples(*[st.integers(0, count - 1)] * 2), max_size=2))
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=HORIZON,
        crews=(
            Crew("c0", (Window(0, noon, 0), Window(noon + 2, HORIZON, 1, 2, price=draw(PRICES)))),
            Crew("c1", (Window(2, HORIZON, 0),)),
        ),
        houses=(House("h0"), House("h1", release=draw(st.integers(0, 3)))),
        tasks=tuple(tasks),
        handovers=tuple(
            Handover(f"h{n}", f"h{n}", draw(st.integers(0, 8)), draw(st.integers(1, 2)))
            for n in range(2)
        ),
        waits=tuple(
            wait
            for pair in pairs
            if pair[0] != pair[1]
            for wait in draw(a_wait(f"t{min(pair)}", f"t{max(pair)}"))
        ),
        equipment=(Equipment("dryer"),),
        curves={
            "step": ReadyCurve((5, 8), (1, 2), (0, 9)),
            "short": constant_lag(2),
            "long": constant_lag(5),
        },
        travel={("h0", "h1"): draw(st.integers(0, 2)), ("h1", "h0"): 1},
        setup_ticks=draw(st.integers(0, 1)),
    )


@pytest.mark.parametrize(("fewest", "most"), [(1, 12), (13, 30), (31, 60)])
def test_every_plan_is_sound_or_says_what_has_no_place(fewest: int, most: int) -> None:
    @settings(max_examples=-(-INSTANCES // 3), deadline=None, suppress_health_check=SLOW)
    @given(problem=small_problems(most, fewest))
    def holds(problem: Problem) -> None:
        assert problem_faults(problem) == []
        outcome = solve(problem, Limits(work=40), lambda: 0.0)
        assert verify(problem, outcome) == []
        assert (outcome.status is Status.PARTIAL) == bool(outcome.unplaced)
        assert outcome.bound <= outcome.score.cost

    holds()


@settings(max_examples=INSTANCES // 8, deadline=None, suppress_health_check=SLOW)
@given(problem=up_to_six_tasks())
def test_tiny_ones_cost_what_counting_says(problem: Problem) -> None:
    outcome = solve(problem, Limits(work=600), lambda: 0.0)
    least = Counting(problem).least_cost()
    assert verify(problem, outcome) == []
    assert gaps_are_exact(compile_problem(problem))
    assert bool(outcome.unplaced) == (least is None)
    if least is not None:
        assert outcome.score.cost == least
        assert outcome.bound <= least
