"""What the first plan does, rule by rule, on plans small enough to see."""

from dataclasses import replace
from typing import Any

import pytest

from scheduling.solver.construct import construct
from scheduling.solver.explain import binding_reasons
from scheduling.solver.outcome import Status
from scheduling.solver.problem import (
    Crew,
    House,
    Placement,
    Problem,
    Span,
    Task,
    Wait,
    Window,
    constant_lag,
)
from scheduling.solver.verify import verify

ANN = Crew("ann", (Window(0, 60, 0), Window(72, 120, 0), Window(288, 348, 1)))


def plan_of(*tasks: Task, **changes: Any) -> tuple[Problem, dict[str, Placement], dict[str, str]]:
    problem = Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=400,
        crews=(ANN,),
        houses=(House("a"), House("b")),
        tasks=tasks,
        curves={"day": constant_lag(100), "none": constant_lag(0)},
        travel={("a", "b"): 5, ("b", "a"): 5},
        setup_ticks=2,
        washup_ticks=3,
    )
    problem = replace(problem, **changes)
    outcome = construct(problem)
    assert verify(problem, outcome) == []
    places = {place.task: place for place in outcome.placements}
    return problem, places, {item.task: item.code for item in outcome.unplaced}


def test_setup_washup_and_travel_stand_around_work() -> None:
    problem, places, _ = plan_of(Task("x", "a", "a", 50), Task("y", "b", "b", 50))
    assert (places["x"].start, places["y"].start) == (2, 12 + 3 + 5 + 2)
    reasons = binding_reasons(problem, places.values())
    assert (reasons["x"].code, reasons["x"].tick) == ("window", 2)
    assert (reasons["y"].code, reasons["y"].other) == ("travel", "x")


def test_a_room_is_one_room_whatever_house_has_work_alone_in_it() -> None:
    # Two tasks name the same room, each in another house, of which one has work alone in it.
    early = (Task("x", "a", "hall", 50), Task("y", "b", "hall", 50))
    alone = Task("tower", "a", "stair", 50, alone=True, release=100)
    bob = replace(ANN, id="bob")
    pinned = replace(early[1], fixed=Placement("y", "bob", 2, 12))
    _, places, _ = plan_of(early[0], pinned, alone, crews=(ANN, bob))
    assert places["x"].start == 12


def test_batches_end_before_the_wash_up() -> None:
    # 50 ticks of work fit a window of 60 with 2 + 3 around, but three batches of 20 do not.
    _, _, unplaced = plan_of(Task("mix", "a", "a", 250, batch_ticks=20))
    assert unplaced == {"mix": "too_long"}
    _, places, _ = plan_of(Task("mix", "a", "a", 250, batch_ticks=25))
    assert places["mix"].start == 2


def test_a_run_goes_on_next_morning_with_its_crew() -> None:
    rooms = [Task(f"r{n}", "a", f"a{n}", 200, run="run") for n in range(3)]
    _, places, _ = plan_of(*rooms, crews=(ANN, replace(ANN, id="bob")))
    assert [places[f"r{n}"].start for n in range(3)] == [2, 74, 290]
    assert len({place.crew for place in places.values()}) == 1


def test_waits_starts_and_doors_are_kept_and_named() -> None:
    problem, places, _ = plan_of(
        Task("coat", "a", "a", 50),
        Task("next", "a", "a", 50, starts=(Span(300, 310),)),
        Task("door", "b", "b", 50),
        waits=(Wait("coat", "next", "day", "air"),),
        houses=(House("a"), House("b", (Span(30, 50),))),
    )
    assert (places["next"].start, places["door"].start) == (300, 30)
    reasons = binding_reasons(problem, places.values())
    assert (reasons["next"].code, reasons["door"].code) == ("starts", "access")


def test_a_wait_is_named_with_the_task_behind_it() -> None:
    problem, places, _ = plan_of(
        Task("coat", "a", "a", 50),
        Task("next", "a", "a", 50),
        curves={"day": constant_lag(80)},
        waits=(Wait("coat", "next", "day", "air"),),
    )
    reason = binding_reasons(problem, places.values())["next"]
    assert (reason.code, reason.other, reason.tick) == ("air", "coat", 92)


def test_dust_keeps_off_wet_air_both_ways() -> None:
    wet = Task("wet", "a", "a1", 50, air_space="a", wet_curve="day")
    dusty = Task("dusty", "a", "a2", 50, air_space="a", dusty=True)
    _, places, _ = plan_of(wet, dusty)
    assert places["dusty"].start == 290
    _, places, _ = plan_of(replace(wet, release=13), dusty)
    assert (places["dusty"].start, places["wet"].start) == (2, 13)


def test_nothing_hard_goes_over_something_soft() -> None:
    soft, hard = Task("soft", "a", "a", 50, grade=1), Task("hard", "a", "a", 50, grade=2)
    _, places, _ = plan_of(soft, hard)
    assert places["hard"].end <= places["soft"].start
    done = replace(soft, fixed=Placement("soft", "ann", -20, -10))
    _, places, unplaced = plan_of(done, hard)
    assert unplaced == {"hard": "fixed_clash"}


def test_a_pinned_task_is_prepared_for_in_time() -> None:
    pinned = Task("pinned", "a", "a", 50, fixed=Placement("pinned", "ann", 290, 300))
    others = [Task(f"o{n}", "b", f"b{n}", 150) for n in range(2)]
    _, places, _ = plan_of(
        *others, Task("coat", "a", "a", 50), pinned, waits=(Wait("coat", "pinned", "day"),)
    )
    assert places["coat"].end + 100 <= 290
    assert places["pinned"] == pinned.fixed


def test_a_fixed_place_stays_though_it_breaks_every_rule() -> None:
    past = Placement("past", "gone", -30, -5)
    _, places, _ = plan_of(Task("past", "a", "a", 10, fixed=past), Task("next", "a", "a", 50))
    assert places["past"] == past
    assert places["next"].start == 2


LONG_AGO = Task("skilled", "a", "a", 50, skills=frozenset({"skim"}))


@pytest.mark.parametrize(
    ("code", "task"),
    [
        ("no_crew", LONG_AGO),
        ("no_crew", Task("x", "a", "a", 50, crews=())),
        ("too_long", Task("x", "a", "a", 60 * 5)),
        ("no_open_time", Task("x", "a", "a", 50, release=345)),
        ("no_open_time", Task("x", "a", "a", 50, open=(Span(61, 70),))),
        ("no_open_time", Task("x", "a", "a", 50, starts=())),
    ],
)
def test_a_task_without_a_place_says_why(code: str, task: Task) -> None:
    _, places, unplaced = plan_of(
        task,
        Task("after", "a", "a", 50),
        Task("free", "b", "b", 50),
        waits=(Wait(task.id, "after", "none"),),
    )
    assert unplaced == {task.id: code, "after": "after_unplaced"}
    assert "free" in places


def test_time_that_is_taken_is_no_room() -> None:
    tasks = [Task(f"t{n}", "a", f"a{n}", 50 * 5, open=(Span(0, 60),)) for n in range(2)]
    _, places, unplaced = plan_of(*tasks)
    assert len(places) == 1
    assert list(unplaced.values()) == ["no_room"]


def test_tasks_in_a_ring_are_named_and_the_rest_is_planned() -> None:
    tasks = [Task(name, "a", name, 50) for name in "xyz"]
    problem, places, unplaced = plan_of(
        *tasks, waits=(Wait("x", "y", "none"), Wait("y", "x", "none"))
    )
    assert unplaced == {"x": "impossible_lags", "y": "impossible_lags"}
    assert places["z"].start == 2
    assert construct(problem).status is Status.PARTIAL


def test_runs_that_wait_for_each_other_room_by_room_are_taken_apart() -> None:
    tasks = [Task(f"{run}{n}", "a", f"a{n}", 50, run=run) for run in "xy" for n in range(2)]
    _, places, unplaced = plan_of(
        *tasks,
        waits=(Wait("x0", "y0", "none"), Wait("y0", "x1", "none")),
        crews=(replace(ANN, id="bob", windows=(Window(30, 60, 0), Window(66, 120, 1))), ANN),
    )
    assert unplaced == {}
    starts = [places[name].start for name in ("x0", "y0", "x1", "y1")]
    assert starts == sorted(starts)
