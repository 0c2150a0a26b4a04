"""Good plans broken in every way that verify must catch."""

from dataclasses import replace
from typing import Any

import pytest

from scheduling.solver.construct import construct
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Unplaced
from scheduling.solver.problem import (
    Crew,
    Equipment,
    Handover,
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

WINDOWS = (Window(0, 100, 0), Window(200, 300, 1), Window(400, 500, 2, 2, frozenset({"skim"})))
COAT = Task("coat", "mill", "mill 1", 50, air_space="mill", wet_curve="day", grade=1)
PROBLEM = Problem(
    origin="2026-01-01T00:00:00+00:00",
    horizon=500,
    crews=(Crew("ann", WINDOWS, frozenset({"skim"})), Crew("bob", WINDOWS)),
    houses=(House("mill"), House("barn", (Span(0, 250),))),
    tasks=(
        COAT,
        Task("next", "mill", "mill 1", 50, handover="mill"),
        Task("sand", "mill", "mill 2", 50, air_space="mill", dusty=True),
        Task("skim", "barn", "barn 1", 50, skills=frozenset({"skim"}), open=(Span(20, 45),)),
        Task("one", "barn", "barn 2", 50, run="run"),
        Task("two", "barn", "barn 3", 50, run="run", release=30),
        Task("mix", "mill", "mill 3", 50, batch_ticks=8, starts=(Span(0, 90), Span(200, 290))),
        Task("hard", "mill", "mill 4", 50, grade=2),
        Task("soft", "mill", "mill 4", 50, grade=1),
        Task("held", "mill", "mill 5", 50, fixed=Placement("held", "bob", 110, 160)),
        Task("late", "mill", "mill 6", 50, crews=("bob",)),
    ),
    handovers=(Handover("mill", "mill", 0),),
    waits=(Wait("coat", "next", "day"),),
    curves={"day": constant_lag(100)},
    travel={("mill", "barn"): 6, ("barn", "mill"): 6},
    now=4,
    setup_ticks=2,
    washup_ticks=3,
)
GOOD = {
    "coat": ("ann", 4, 14),
    "next": ("ann", 202, 212),
    "sand": ("ann", 214, 224),
    "skim": ("ann", 35, 45),
    "one": ("bob", 6, 16),
    "two": ("bob", 30, 40),
    "mix": ("bob", 60, 70),
    "hard": ("ann", 60, 70),
    "soft": ("ann", 230, 240),
    "held": ("bob", 110, 160),
    "late": ("bob", 202, 212),
}


def outcome(**moved: Any) -> Outcome:
    places = {**GOOD, **moved}
    placements = tuple(Placement(task, *place) for task, place in places.items() if place)
    known = [place for place in placements if place.task in GOOD]
    score = score_of(PROBLEM, known)
    return replace(construct(PROBLEM), placements=placements, score=score, unplaced=())


def test_the_good_plan_is_good() -> None:
    assert verify(PROBLEM, outcome()) == []


@pytest.mark.parametrize(
    ("code", "moved"),
    [
        ("crew_unknown", {"late": ("eve", 202, 212)}),
        ("skill", {"skim": ("bob", 45, 55)}),
        ("skill", {"late": ("ann", 250, 260)}),
        ("duration", {"late": ("bob", 202, 213)}),
        ("duration", {"late": ("bob", 402, 412)}),
        ("outside_window", {"late": ("bob", 102, 112)}),
        ("outside_window", {"late": ("bob", 201, 211)}),
        ("outside_window", {"late": ("bob", 288, 298)}),
        ("overlap_crew", {"mix": ("bob", 35, 45)}),
        ("travel", {"mix": ("bob", 50, 60)}),
        ("room_overlap", {"soft": ("bob", 62, 72), "mix": ("bob", 80, 90)}),
        ("wait", {"next": ("ann", 86, 96)}),
        ("wait", {"coat": None}),
        ("start", {"mix": ("ann", 90, 100)}),
        ("not_open", {"skim": ("ann", 36, 46)}),
        ("not_open", {"skim": ("ann", 16, 26)}),
        ("house_closed", {"two": ("bob", 245, 255)}),
        ("batch", {"mix": ("bob", 82, 92)}),
        ("run_crew", {"two": ("ann", 264, 274)}),
        ("run_order", {"one": ("bob", 44, 54), "mix": ("bob", 75, 85)}),
        ("dust_beside_wet", {"sand": ("ann", 80, 90)}),
        ("dust_beside_wet", {"sand": ("bob", 10, 20)}),
        ("grade", {"hard": ("ann", 244, 254)}),
        ("fixed_moved", {"held": ("bob", 110, 161)}),
        ("before_now", {"coat": ("ann", 2, 12)}),
        ("after_horizon", {"late": ("bob", 495, 505)}),
        ("release", {"two": ("bob", 22, 32)}),
        ("missing", {"late": None}),
        ("unknown_task", {"nobody": ("bob", 240, 250)}),
    ],
)
def test_a_broken_plan_is_caught(code: str, moved: dict[str, Any]) -> None:
    assert code in {violation.code for violation in verify(PROBLEM, outcome(**moved))}


def test_skill_lacking_in_one_window_is_caught() -> None:
    problem = replace(PROBLEM, tasks=(replace(PROBLEM.tasks[3], open=None),), waits=())
    problem = replace(problem, houses=(House("barn"),), handovers=())
    plan = construct(problem)
    placements = (Placement("skim", "ann", 402, 407),)
    plan = replace(plan, placements=placements, score=score_of(problem, placements))
    assert [violation.code for violation in verify(problem, plan)] == ["skill"]


def test_the_same_task_twice_is_caught() -> None:
    plan = outcome()
    twice = replace(plan, placements=(*plan.placements, Placement("late", "ann", 250, 260)))
    assert "twice" in {violation.code for violation in verify(PROBLEM, twice)}
    both = replace(plan, unplaced=(Unplaced("late", "no_room"),))
    assert "twice" in {violation.code for violation in verify(PROBLEM, both)}


def test_a_wrong_score_is_caught() -> None:
    plan = outcome()
    wrong = replace(plan, score=plan.score._replace(idle=plan.score.idle - 5))
    assert [violation.code for violation in verify(PROBLEM, wrong)] == ["score"]


def test_fixed_tasks_may_be_anywhere_but_others_keep_clear_of_them() -> None:
    held = replace(PROBLEM.tasks[9], fixed=Placement("held", "bob", -50, 35))
    problem = replace(PROBLEM, tasks=(*PROBLEM.tasks[:9], held, PROBLEM.tasks[10]))
    plan = outcome(held=("bob", -50, 35))
    plan = replace(plan, score=score_of(problem, plan.placements))
    assert {(v.code, v.task) for v in verify(problem, plan)} == {
        ("overlap_crew", "one"),
        ("overlap_crew", "two"),
    }


def test_work_alone_in_a_house_shares_it_with_nobody() -> None:
    tasks = tuple(replace(task, alone=task.id == "late") for task in PROBLEM.tasks)
    problem = replace(PROBLEM, tasks=tasks)
    assert [(fault.code, fault.task) for fault in verify(problem, outcome())] == [("alone", "next")]
    apart = outcome(late=("bob", 250, 260))
    assert not [fault for fault in verify(problem, apart) if fault.code == "alone"]


def test_a_crews_own_minutes_are_the_length_and_shut_out_the_others() -> None:
    tasks = tuple(
        replace(task, minutes_by_crew={"bob": 60}) if task.id == "late" else task
        for task in PROBLEM.tasks
    )
    problem = replace(PROBLEM, tasks=tasks)
    assert [v.code for v in verify(problem, outcome(late=("bob", 250, 262)))] == []
    codes = {v.code for v in verify(problem, outcome(late=("bob", 402, 408)))}
    assert codes == {"duration"}
    named = replace(problem, tasks=tuple(replace(task, crews=None) for task in tasks))
    assert "skill" in {v.code for v in verify(named, outcome(late=("ann", 250, 262)))}


def test_the_way_from_the_base_and_back_is_within_the_day() -> None:
    ways = {**PROBLEM.travel, ("yard", "mill"): 4, ("mill", "yard"): 5}
    bob = replace(PROBLEM.crews[1], base="yard")
    problem = replace(PROBLEM, crews=(PROBLEM.crews[0], bob), travel=ways)
    assert [(v.code, v.task) for v in verify(problem, outcome())] == [("base", "late")]
    assert verify(problem, outcome(late=("bob", 206, 216))) == []
    assert verify(problem, outcome(late=("bob", 282, 292))) == []
    late = verify(problem, outcome(late=("bob", 283, 293)))
    assert [(v.code, v.task, v.other) for v in late] == [("base", "late", "yard")]


def test_starting_before_the_house_is_released_is_caught() -> None:
    barn = replace(PROBLEM.houses[1], release=6)
    problem = replace(PROBLEM, houses=(PROBLEM.houses[0], barn))
    assert verify(problem, outcome()) == []
    early = replace(problem, houses=(PROBLEM.houses[0], replace(barn, release=7)))
    found = [(v.code, v.task, v.other) for v in verify(early, outcome())]
    assert found == [("release", "one", "barn")]


def test_following_too_late_is_caught() -> None:
    problem = replace(PROBLEM, waits=(Wait("coat", "next", "day", most=190),))
    assert verify(problem, outcome()) == []
    late = verify(problem, outcome(next=("ann", 245, 255), soft=("ann", 260, 270)))
    assert [(v.code, v.task, v.other) for v in late] == [("lag", "next", "coat")]


def test_more_crews_in_a_house_than_may_be_is_caught() -> None:
    barn = replace(PROBLEM.houses[1], crews_inside=1)
    problem = replace(PROBLEM, houses=(PROBLEM.houses[0], barn))
    assert {(v.code, v.other) for v in verify(problem, outcome())} == {("crews_inside", "barn")}
    two = replace(problem, houses=(PROBLEM.houses[0], replace(barn, crews_inside=2)))
    assert verify(two, outcome()) == []


def test_more_work_with_equipment_than_there_is_is_caught() -> None:
    tasks = tuple(
        replace(task, needs=("tower",)) if task.id in {"mix", "hard"} else task
        for task in PROBLEM.tasks
    )
    problem = replace(PROBLEM, tasks=tasks, equipment=(Equipment("tower"),))
    assert {(v.code, v.other) for v in verify(problem, outcome())} == {("equipment", "tower")}
    apart = outcome(mix=("bob", 70, 80))
    assert verify(problem, apart) == []
    two = replace(problem, equipment=(Equipment("tower", 2),))
    assert verify(two, outcome()) == []
