"""The score of a small plan, added up by hand."""

import pytest

from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Score
from scheduling.solver.problem import (
    Crew,
    Handover,
    House,
    Placement,
    Problem,
    Task,
    Window,
    constant_lag,
)

MORNING, AFTERNOON, TUESDAY = Window(0, 60, 0), Window(66, 108, 0), Window(288, 348, 1)


def problem(handovers: tuple[Handover, ...]) -> Problem:
    owner = handovers[0].id if handovers else None
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=400,
        crews=(Crew("ann", (MORNING, AFTERNOON, TUESDAY)),),
        houses=(House("a"), House("b")),
        tasks=(
            Task("one", "a", "a1", 100),
            Task("two", "a", "a2", 50),
            Task("three", "b", "b1", 50, handover=owner, done_curve="dry"),
            Task("four", "b", "b2", 100, handover=owner),
        ),
        handovers=handovers,
        curves={"dry": constant_lag(20)},
        travel={("a", "b"): 4},
        setup_ticks=2,
        washup_ticks=3,
        worthwhile_ticks=15,
    )


PLAN = (
    Placement("one", "ann", 2, 22),
    Placement("two", "ann", 25, 35),  # 3 ticks of waiting at house a
    Placement("three", "ann", 46, 56),  # 11 ticks, 3 + 4 + 2 of them wash-up, way, set-up
    Placement("four", "ann", 70, 90),  # 4 + 4 ticks of paid time around lunch, 3 + 2 used
)


@pytest.mark.parametrize(
    ("handovers", "lateness", "finish"),
    [
        ((), 0, 22 + 35 + 56 + 90),
        ((Handover("h", "b", 80, 2),), 2 * 5 * 10, 90),
        ((Handover("h", "b", 100),), 0, 90),
    ],
)
def test_score_is_as_added_up(handovers: tuple[Handover, ...], lateness: int, finish: int) -> None:
    score = score_of(problem(handovers), PLAN)
    # Two visits, both worth their while: 30 and 30 ticks. Idle: 3 + (11 - 9) + (8 - 5) ticks.
    assert score == Score(lateness, 2, 5 * (3 + 2 + 3), finish)


def test_a_small_visit_counts_twice_and_nights_are_not_idle() -> None:
    plan = (*PLAN[:3], Placement("four", "ann", 290, 310))
    score = score_of(problem((Handover("h", "b", 80),)), plan)
    # House a 30 ticks, house b 10 on the first day (counted twice) and 20 on the second.
    assert score == Score(5 * (310 - 80), 4, 5 * (3 + 2), 310)


def test_drying_after_the_last_coat_counts() -> None:
    plan = (*PLAN[:2], Placement("four", "ann", 46, 66), Placement("three", "ann", 80, 90))
    assert score_of(problem((Handover("h", "b", 80),)), plan).lateness == 5 * (90 + 20 - 80)


def test_a_task_left_out_ends_at_the_horizon() -> None:
    score = score_of(problem((Handover("h", "b", 80),)), PLAN[:3])
    assert score.lateness == 5 * (400 - 80)
    assert score.finish == 400
