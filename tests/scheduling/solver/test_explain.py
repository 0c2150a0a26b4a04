"""Why a task is not earlier, judged by verify: one tick earlier breaks exactly such a rule."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.construct import construct
from scheduling.solver.evaluate import score_of
from scheduling.solver.explain import binding_reasons
from scheduling.solver.outcome import Limits, Outcome, Status
from scheduling.solver.problem import (
    Crew,
    Equipment,
    House,
    Placement,
    Problem,
    Task,
    Wait,
    Window,
    constant_lag,
    task_ticks,
)
from scheduling.solver.reason import Reason
from scheduling.solver.solve import solve
from scheduling.solver.verify import verify
from tests.examples import examples
from tests.scheduling.solver.small_problems import small_problems

BREAKS: dict[str, set[str]] = {
    "now": {"before_now"},
    "release": {"release"},
    "starts": {"start"},
    "area": {"not_open"},
    "access": {"house_closed"},
    "window": {"outside_window", "skill", "batch", "base"},
    "base": {"base"},
    "crew": {"overlap_crew"},
    "travel": {"travel"},
    "full": {"crews_inside"},
    "alone": {"alone"},
    "room": {"room_overlap"},
    "dust": {"dust_beside_wet"},
    "equipment": {"equipment"},
    "run": {"run_order"},
    "lag": {"lag"},
    **{code: {"wait"} for code in ("order", "set", "rule", "air")},
}
"""By reason the rules of verify of which one is broken where a task starts a tick too early."""


def one_tick_earlier(problem: Problem, places: dict[str, Placement], task: Task) -> set[str]:
    """Return the rules that verify finds broken where one task alone starts a tick earlier."""
    place = places[task.id]
    crew = next(crew for crew in problem.crews if crew.id == place.crew)
    start = place.start - 1
    heads = next((w.heads for w in crew.windows if w.start <= start < w.end), 1)
    end = start + task_ticks(task, crew.id, heads)
    moved = tuple(({**places, task.id: replace(place, start=start, end=end)}).values())
    outcome = Outcome(Status.PARTIAL, moved, score_of(problem, moved))
    return {fault.code for fault in verify(problem, outcome)} - {"missing"}


def check_every_reason(problem: Problem, outcome: Outcome) -> None:
    places = {place.task: place for place in outcome.placements}
    reasons = binding_reasons(problem, places.values())
    for task in problem.tasks:
        # The last piece of a task that may be split is not looked at: see reasons_alone.
        if task.id not in places or task.fixed or task.split:
            continue
        reason, broken = reasons[task.id], one_tick_earlier(problem, places, task)
        if reason.code in {"free", "together"}:
            assert broken == set()
        else:
            assert reason.tick == places[task.id].start
            assert broken & BREAKS[reason.code]


CREWS = (Crew("ann", (Window(0, 40, 0),)), Crew("bob", (Window(0, 40, 0),)))


def reasons_of(*places: Placement, tasks: tuple[Task, ...], **more: object) -> dict[str, Reason]:
    """Return the reasons in a sound plan of two crews and a house."""
    problem = Problem("2026-03-02T00:00:00+00:00", 40, CREWS, (House("a"),), tasks)
    problem = replace(problem, curves={"none": constant_lag(0)})
    problem = replace(problem, **more)  # type: ignore[arg-type]
    outcome = Outcome(Status.FEASIBLE, places, score_of(problem, places))
    assert verify(problem, outcome) == []
    check_every_reason(problem, outcome)
    return binding_reasons(problem, places)


ONE, TWO = Task("one", "a", "r1", 50), Task("two", "a", "r2", 50)
FIRST, SECOND = Placement("one", "ann", 0, 10), Placement("two", "bob", 10, 20)


def test_equipment_in_use_is_told_with_the_task_that_has_it() -> None:
    tasks = tuple(replace(task, needs=("tower",)) for task in (ONE, TWO))
    found = reasons_of(FIRST, SECOND, tasks=tasks, equipment=(Equipment("tower"),))
    assert found["two"] == Reason("equipment", 10, "one", "tower")


def test_a_house_with_room_for_one_crew_is_full() -> None:
    found = reasons_of(FIRST, SECOND, tasks=(ONE, TWO), houses=(House("a", crews_inside=1),))
    assert found["two"] == Reason("full", 10, "one")


def test_a_tower_in_the_stairwell_keeps_others_out_and_waits_for_them() -> None:
    stairs_first = reasons_of(FIRST, SECOND, tasks=(replace(ONE, alone=True), TWO))
    stairs_last = reasons_of(FIRST, SECOND, tasks=(ONE, replace(TWO, alone=True)))
    assert stairs_first["two"] == stairs_last["two"] == Reason("alone", 10, "one")


def test_a_task_stays_near_the_later_one_of_a_maximum_lag() -> None:
    two = Placement("two", "bob", 30, 40)
    one = replace(FIRST, start=15, end=25)
    tasks = (ONE, replace(TWO, release=30))
    found = reasons_of(one, two, tasks=tasks, waits=(Wait("one", "two", "none", "air", 5),))
    assert found["one"] == Reason("lag", 15, "two")


def test_the_way_from_the_base_is_told_apart_from_working_hours() -> None:
    crews = (replace(CREWS[0], base="yard"), CREWS[1])
    one, two = replace(FIRST, start=6, end=16), replace(SECOND, start=0, end=10)
    found = reasons_of(one, two, tasks=(ONE, TWO), crews=crews, travel={("yard", "a"): 6})
    assert (found["one"], found["two"]) == (Reason("base", 6), Reason("window", 0))


def test_a_task_after_a_longer_fixed_one_waits_for_the_crew_to_be_free() -> None:
    long = Placement("long", "ann", 0, 30)
    short = Placement("short", "ann", 2, 5)
    tasks = (
        Task("long", "a", "r3", 150, fixed=long),
        Task("short", "a", "r4", 15, fixed=short),
        ONE,
    )
    found = reasons_of(long, short, replace(FIRST, start=30, end=40), tasks=tasks)
    assert found["one"] == Reason("crew", 30, "long")


def test_what_no_rule_holds_is_free_or_kept_together_with_the_days_work() -> None:
    late = Placement("two", "ann", 20, 30)
    lone = reasons_of(late, tasks=(TWO,))
    assert lone["two"] == Reason("free", 0)
    fixed = replace(ONE, fixed=Placement("one", "ann", 30, 40))
    beside = reasons_of(late, replace(FIRST, start=30, end=40), tasks=(TWO, fixed))
    assert beside["two"] == Reason("together", 0)


@examples(20, soak=60)
@given(problem=small_problems(), seed=st.integers(1, 3))
def test_one_tick_earlier_breaks_a_rule_of_the_kind_told(problem: Problem, seed: int) -> None:
    check_every_reason(problem, construct(problem))
    check_every_reason(problem, solve(problem, Limits(work=30, seed=seed), lambda: 0.0))
