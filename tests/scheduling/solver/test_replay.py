"""Plans played through other air, worked out by hand and against verify."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.construct import construct
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Status, Unplaced
from scheduling.solver.problem import (
    Crew,
    House,
    Placement,
    Problem,
    Task,
    Wait,
    Window,
    constant_lag,
)
from scheduling.solver.replay import Replay, replay
from scheduling.solver.verify import verify
from tests.examples import examples
from tests.scheduling.solver.small_problems import small_problems

ANN = Crew("ann", (Window(0, 100, 0), Window(288, 388, 1)))
TRUTH = Problem(
    origin="2026-01-01T00:00:00+00:00",
    horizon=400,
    crews=(ANN, replace(ANN, id="bob")),
    houses=(House("a"), House("b")),
    tasks=(
        Task("coat", "a", "a", 50),
        Task("next", "a", "a", 50),
        Task("other", "b", "b", 50),
    ),
    waits=(Wait("coat", "next", "air", "air"),),
    curves={"air": constant_lag(30)},
    travel={("a", "b"): 4, ("b", "a"): 4},
    setup_ticks=2,
    washup_ticks=2,
)
PLANNED = (
    Placement("coat", "ann", 2, 12),
    Placement("next", "ann", 14, 24),
    Placement("other", "ann", 32, 42),
)


def starts(played: Replay) -> dict[str, int]:
    return {place.task: place.start for place in played.placements}


def test_a_crew_that_goes_on_does_its_later_tasks_while_a_coat_dries() -> None:
    played = replay(TRUTH, PLANNED, goes_on=True)
    # The other house from its planned 32 to 42, then wash-up 2, way 4, set-up 2: back at 50. The
    # coat is dry at 42 and the full hour after that, 48, passes on the way.
    assert starts(played) == {"coat": 2, "other": 32, "next": 50}
    assert played.wet_arrivals == 1


def test_a_crew_comes_back_at_its_next_full_hour_after_the_coat_is_dry() -> None:
    played = replay(TRUTH, PLANNED)
    # Dry at 12 + 30 = 42; full hours from the window's start at 0 are 36, 48, ...
    # Then wash-up 2, way 4, set-up 2 to the other house, which keeps its turn.
    assert starts(played) == {"coat": 2, "next": 48, "other": 66}
    assert played.wet_arrivals == 1


def test_after_the_last_hour_it_comes_back_next_morning_after_setting_up() -> None:
    truth = replace(TRUTH, curves={"air": constant_lag(86)})
    played = replay(truth, PLANNED)
    # Dry at 98; the window ends at 100 and the next one opens at 288.
    assert starts(played) == {"coat": 2, "next": 290, "other": 308}
    assert played.wet_arrivals == 1


def test_a_wait_known_beforehand_costs_no_arrival() -> None:
    truth = replace(TRUTH, waits=(Wait("coat", "next", "air", "order"),))
    played = replay(truth, PLANNED)
    assert starts(played) == {"coat": 2, "next": 42, "other": 60}
    assert played.wet_arrivals == 0


def test_crews_that_wait_for_each_other_all_get_done() -> None:
    truth = replace(
        TRUTH,
        tasks=(*TRUTH.tasks, Task("more", "b", "b", 50)),
        waits=(Wait("coat", "next", "air", "order"), Wait("other", "more", "air", "order")),
    )
    planned = (
        Placement("more", "ann", 2, 12),
        Placement("coat", "ann", 20, 30),
        Placement("next", "bob", 2, 12),
        Placement("other", "bob", 20, 30),
    )
    played = replay(truth, planned)
    assert len(played.placements) == 4
    assert played.undone == ()


def test_what_the_windows_no_longer_hold_is_undone() -> None:
    truth = replace(TRUTH, curves={"air": constant_lag(1000)})
    played = replay(truth, PLANNED)
    assert "next" in played.undone
    assert starts(played)["coat"] == 2


@examples(20, soak=60)
@given(problem=small_problems(), more=st.integers(1, 20))
def test_a_replay_keeps_the_rules_of_slower_air(problem: Problem, more: int) -> None:
    slower = {
        name: replace(
            curve,
            lags=tuple(lag + more for lag in curve.lags),
            floors=tuple(floor + more for floor in curve.floors),
        )
        for name, curve in problem.curves.items()
    }
    truth = replace(problem, curves=slower)
    planned = construct(problem)
    played = replay(truth, planned.placements)
    missing = {task.id for task in truth.tasks} - {place.task for place in played.placements}
    outcome = Outcome(
        Status.PARTIAL,
        played.placements,
        score_of(truth, played.placements),
        tuple(Unplaced(task, "no_room") for task in missing),
    )
    # A wait of a fixed task is as it is; all that moved keeps every rule but the maximum lags.
    assert {violation.code for violation in verify(truth, outcome)} <= {"lag"}
    was = {place.task: place.start for place in planned.placements}
    assert all(place.start >= was[place.task] for place in played.placements)
