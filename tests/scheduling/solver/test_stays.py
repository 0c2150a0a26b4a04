"""Where a dryer stands, as waits that verify checks: plans worked out by hand."""

from collections import Counter
from dataclasses import replace

import pytest

from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Status
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
from scheduling.solver.problem_faults import problem_faults
from scheduling.solver.stays import Beside, Dryer, Fleet, Stay, StayFaultsError, with_stays
from scheduling.solver.verify import verify

HOUSES = ("mill", "barn")
PROBLEM = Problem(
    origin="2026-01-01T00:00:00+00:00",
    horizon=1000,
    crews=(Crew("ann", (Window(0, 1000, 0),)), Crew("bob", (Window(0, 1000, 0),))),
    houses=tuple(House(name) for name in HOUSES),
    tasks=tuple(
        Task(f"{house}{n}", house, house, 60, handover=house, wet_curve="slow" if n < 2 else None)
        for house in HOUSES
        for n in range(3)
    ),
    handovers=tuple(Handover(name, name, 0) for name in HOUSES),
    waits=tuple(
        Wait(f"{house}{n}", f"{house}{n + 1}", "slow", "air") for house in HOUSES for n in range(2)
    ),
    curves={"slow": constant_lag(100)},
)
DRYER = Dryer("dry", 1, 10)
WITH_ONE = Beside(("dry",), {"slow": constant_lag(40)})
FLEET = Fleet((DRYER,), (WITH_ONE,))
TWO = Fleet(
    (replace(DRYER, count=2),), (WITH_ONE, Beside(("dry", "dry"), {"slow": constant_lag(20)}))
)
IN_MILL = Stay("dry", 0, "mill0", "mill2", ("mill0", "mill1"))
IN_BARN = Stay("dry", 0, "barn0", "barn1", ("barn0",))


def broken(
    stays: tuple[Stay, ...], mill: tuple[int, ...], barn: tuple[int, ...], fleet: Fleet = FLEET
) -> set[tuple[str, str, str]]:
    """Return what a plan with these starts breaks; a task lasts 12 ticks, 2 more with each move."""
    problem = with_stays(PROBLEM, fleet, stays)
    assert not problem_faults(problem)
    moves = Counter(task for stay in stays for task in (stay.set_in, stay.collect_in))
    starts = {f"mill{n}": start for n, start in enumerate(mill)}
    starts |= {f"barn{n}": start for n, start in enumerate(barn)}
    places = tuple(
        Placement(name, crew, start, start + 12 + 2 * moves[name])
        for name, start in starts.items()
        for crew in ["ann" if name.startswith("mill") else "bob"]
    )
    outcome = Outcome(Status.FEASIBLE, places, score_of(problem, places))
    return {(fault.code, fault.task, fault.other) for fault in verify(problem, outcome)}


SLOW_BARN = (0, 112, 224)


def test_with_the_unit_coats_are_followed_sooner_and_moving_it_takes_time() -> None:
    assert not broken((IN_MILL,), (0, 54, 106), SLOW_BARN)
    assert ("wait", "mill1", "mill0") in broken((IN_MILL,), (0, 53, 106), SLOW_BARN)
    assert ("wait", "mill1", "mill0") in broken((), (0, 54, 206), SLOW_BARN)
    shorter = replace(FLEET, dryers=(Dryer("dry"),))
    assert {code for code, *_ in broken((IN_MILL,), (0, 54, 106), SLOW_BARN, shorter)} == {
        "duration"
    }


def test_it_is_collected_only_when_its_coats_are_dry() -> None:
    # Collected with the second coat, which begins before the tape in the other room is dry.
    tasks = (*PROBLEM.tasks, Task("loft", "mill", "loft", 60, wet_curve="slow"))
    problem = with_stays(
        replace(PROBLEM, tasks=tasks),
        FLEET,
        [replace(IN_MILL, collect_in="mill1", coats=("mill0", "loft"))],
    )

    def faults(loft: int) -> set[tuple[str, str, str]]:
        places = (
            Placement("mill0", "ann", 0, 14),
            Placement("loft", "bob", loft, loft + 12),
            Placement("mill1", "ann", 70, 84),
        )
        outcome = Outcome(Status.FEASIBLE, places, score_of(problem, places))
        found = verify(problem, outcome)
        return {(fault.code, fault.task, fault.other) for fault in found if fault.task in starts}

    starts = {"mill0", "loft", "mill1"}
    assert ("wait", "mill1", "loft") not in faults(18)
    assert ("wait", "mill1", "loft") in faults(19)
    # What begins before the unit has been set down is not helped by it.
    assert ("wait", "loft", "mill0") in faults(13)


def test_one_unit_is_in_one_house_at_a_time() -> None:
    then = (IN_BARN, IN_MILL)
    mill = (68, 122, 174)
    assert not broken(then, mill, (0, 54, 168))
    assert ("wait", "mill0", "barn1") in broken(then, (67, *mill[1:]), (0, 54, 168))
    both = (IN_BARN, replace(IN_MILL, unit=1))
    assert not broken(both, (0, 54, 106), (0, 54, 168), TWO)


SECOND = replace(IN_MILL, unit=1)


def test_a_coat_dries_with_both_units_beside_it() -> None:
    both = (IN_MILL, SECOND)
    assert not broken(both, (0, 36, 68), SLOW_BARN, TWO)
    assert ("wait", "mill1", "mill0") in broken(both, (0, 35, 68), SLOW_BARN, TWO)
    assert ("wait", "mill1", "mill0") in broken((IN_MILL,), (0, 36, 106), SLOW_BARN, TWO)


def test_both_stand_until_a_coat_that_dries_with_both_is_dry() -> None:
    early = replace(SECOND, collect_in="mill1", coats=("mill0",))
    # The second coat has one unit beside it, and dries as with one.
    assert not broken((IN_MILL, early), (0, 36, 90), SLOW_BARN, TWO)
    assert ("wait", "mill2", "mill1") in broken((IN_MILL, early), (0, 36, 89), SLOW_BARN, TWO)


def test_two_of_which_nothing_is_known_together_do_not_help() -> None:
    both, ones = (IN_MILL, SECOND), replace(FLEET, dryers=TWO.dryers)
    assert not broken(both, (0, 116, 228), SLOW_BARN, ones)
    assert ("wait", "mill1", "mill0") in broken(both, (0, 115, 228), SLOW_BARN, ones)


def test_each_unit_takes_its_own_minutes() -> None:
    problem = with_stays(PROBLEM, TWO, (IN_MILL, SECOND))
    minutes = {task.id: task.person_minutes for task in problem.tasks if task.house == "mill"}
    assert minutes == {"mill0": 80, "mill1": 60, "mill2": 80}


def test_what_no_curve_is_known_for_is_not_helped() -> None:
    nothing = replace(FLEET, beside=())
    assert ("wait", "mill1", "mill0") in broken((IN_MILL,), (0, 54, 206), SLOW_BARN, nothing)


def test_no_stays_leave_the_problem_as_it_is() -> None:
    assert with_stays(PROBLEM, FLEET, []) is PROBLEM


def test_all_faults_are_named_with_their_place() -> None:
    wrong = [
        Stay("wet", 0, "mill0", "mill2", ("mill0",)),
        Stay("dry", 1, "mill0", "barn1", ("mill0", "attic")),
        Stay("dry", 0, "barn1", "barn1", ("barn1",)),
        Stay("dry", 0, "barn0", "barn2", ("barn1",)),
    ]
    with pytest.raises(StayFaultsError) as caught:
        with_stays(PROBLEM, FLEET, wrong)
    assert caught.value.faults == [
        "$.stays[0].dryer: 'wet' is not known",
        "$.stays[1].unit: 'dry' has 1",
        "$.stays[1]: 'barn1' is in another house than 'mill0'",
        "$.stays[1]: the task 'attic' is not known",
        "$.stays[2].collect_in: 'barn1' is where it is set down",
        "$.stays[2].coats: 'barn1' is where it is collected",
        "$.stays[2].coats: 'barn1' is beside this unit 2 times",
        "$.stays[3].coats: 'barn1' is beside this unit 2 times",
    ]
