"""Figures of a plan beside those of doing without one."""

from dataclasses import replace

from scheduling.services.comparison import (
    FIXED_TICKS,
    one_house_at_a_time,
    play,
    with_fixed_waits,
)
from scheduling.services.paid_time import unused_ticks
from scheduling.solver.construct import construct
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
from scheduling.solver.verify import verify

DAY = 288
SEVEN = 7 * 12


def two_houses(*, dry_ticks: int, crews: int = 1) -> Problem:
    """Two houses of two coats, two hours each; a crew works from 7 to 15 for twenty days."""
    windows = tuple(Window(DAY * day + SEVEN, DAY * day + SEVEN + 96, day) for day in range(20))
    tasks = tuple(
        Task(f"{house}:{coat}", house, f"{house} room", 120, handover=house)
        for house in ("A", "B")
        for coat in (1, 2)
    )
    return Problem(
        origin="2026-03-02T00:00:00+00:00",
        horizon=DAY * 20,
        crews=tuple(Crew(f"crew {number}", windows) for number in range(crews)),
        houses=(House("A"), House("B")),
        tasks=tasks,
        handovers=(Handover("A", "A", DAY), Handover("B", "B", 2 * DAY)),
        waits=tuple(Wait(f"{house}:1", f"{house}:2", "dry", "air") for house in ("A", "B")),
        curves={"dry": constant_lag(dry_ticks)},
    )


def test_plan_made_for_the_air_never_finds_a_coat_wet() -> None:
    problem = two_houses(dry_ticks=500)
    played = play(problem, construct(problem).placements)
    assert played.wet_arrivals == 0


def test_plan_made_for_fixed_waits_finds_slow_coats_wet() -> None:
    truth = two_houses(dry_ticks=2 * DAY)
    believed = with_fixed_waits(truth)
    assert believed.curves["fixed:24h"].ready(0) == FIXED_TICKS == DAY
    plan = construct(believed)
    assert verify(believed, plan) == []
    played = play(truth, plan.placements)
    assert played.wet_arrivals == 2
    assert played.days > (max(place.end for place in plan.placements)) / DAY


def test_one_house_at_a_time_ends_a_house_before_the_next() -> None:
    problem = two_houses(dry_ticks=300)
    serial = one_house_at_a_time(problem)
    places = {place.task: place for place in construct(serial).placements}
    assert places["B:1"].start >= places["A:2"].end


def test_one_house_at_a_time_shares_houses_out_over_crews() -> None:
    problem = one_house_at_a_time(two_houses(dry_ticks=300, crews=2))
    crews = {task.house: task.crews for task in problem.tasks}
    assert crews["A"] != crews["B"]


def test_late_handovers_are_counted_and_summed() -> None:
    problem = two_houses(dry_ticks=3 * DAY)
    played = play(problem, construct(problem).placements)
    assert played.late == 2
    assert played.late_days > 0


def test_whole_days_of_waiting_are_unused_time() -> None:
    problem = replace(two_houses(dry_ticks=12), setup_ticks=3, washup_ticks=3)
    placements = [
        Placement("A:1", "crew 0", SEVEN + 3, SEVEN + 27),
        Placement("A:2", "crew 0", 2 * DAY + SEVEN + 3, 2 * DAY + SEVEN + 27),
    ]
    # Day 0: 96 paid, 30 used with set-up and wash-up. Day 1: 96 paid. Day 2: paid until the
    # last task's end, 27, all of it used.
    assert unused_ticks(problem, placements) == (96 - 30) + 96


def test_travel_between_houses_is_used_time() -> None:
    problem = replace(
        two_houses(dry_ticks=12), setup_ticks=3, washup_ticks=3, travel={("A", "B"): 6}
    )
    placements = [
        Placement("A:1", "crew 0", SEVEN + 3, SEVEN + 27),
        Placement("B:1", "crew 0", SEVEN + 40, SEVEN + 64),
    ]
    assert unused_ticks(problem, placements) == 40 - 27 - 3 - 6 - 3
