"""Six houses, 240 room coats, three crews: the size of a usual week's planning."""

from dataclasses import replace
from itertools import pairwise

from scheduling.solver.construct import construct
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.replay import replay
from scheduling.solver.solve import solve
from scheduling.solver.verify import verify
from tests.scheduling.solver.streets import DAY, STAGES, street


def no_time() -> float:
    return 0.0


def test_six_houses_are_planned_soundly_and_improved() -> None:
    problem = street(slack=12)
    reported: list[Outcome] = []
    outcome = solve(problem, Limits(work=1200), no_time, reported.append)
    assert verify(problem, outcome) == []
    assert outcome.unplaced == ()
    assert outcome.score < construct(problem).score
    assert outcome.bound <= outcome.score.cost
    steps = [step.score for step in outcome.history]
    assert steps == sorted(steps, reverse=True)
    assert reported[0].score == steps[0]
    assert {better.score for better in reported} <= set(steps)
    assert all(a.score > b.score for a, b in pairwise(reported))


def test_the_same_seed_and_work_give_the_same_plan() -> None:
    # So few days are too few for every house, so CP-SAT has its turn too.
    problem = street(houses=3, rooms=3, crews=2, slack=6)
    limits = Limits(work=600, seed=7)
    one, two = (solve(problem, limits, no_time) for _ in range(2))
    assert "cp-sat" in {step.by for step in one.history}
    assert one.placements == two.placements
    assert one.score == two.score


def test_another_seed_may_give_another_plan() -> None:
    problem = street(houses=3, rooms=3, crews=2, slack=6)
    plans = {solve(problem, Limits(work=100, seed=seed), no_time).placements for seed in range(4)}
    assert len(plans) > 1


def test_without_seconds_or_work_the_first_plan_is_the_answer() -> None:
    problem = street(houses=2, rooms=2, crews=1)
    outcome = solve(problem, Limits(seconds=None), no_time)
    assert outcome.placements == construct(problem).placements


def test_seconds_run_by_the_stopwatch_that_is_handed_in() -> None:
    problem = street(houses=2, rooms=2, crews=1, slack=3)
    ticks = iter(range(10**6))
    outcome = solve(problem, Limits(seconds=0.5), lambda: next(ticks) / 1000)
    assert verify(problem, outcome) == []
    assert all(step.seconds <= 1 for step in outcome.history)


def test_a_task_nobody_can_do_leaves_the_rest_planned() -> None:
    problem = street(houses=2, rooms=2, crews=1)
    tasks = [
        replace(task, skills=frozenset({"rare"})) if task.id == "h0-0-0-second" else task
        for task in problem.tasks
    ]
    outcome = solve(replace(problem, tasks=tuple(tasks)), Limits(work=50), no_time)
    codes = {item.task: item.code for item in outcome.unplaced}
    # The whole run has one crew, so none of it can be done, nor what comes after it.
    assert codes["h0-0-0-second"] == codes["h0-0-1-second"] == "no_crew"
    assert codes["h0-0-0-finish"] == "after_unplaced"
    assert {task for task in codes if not task.startswith("h0-0")} == set()


def test_a_plan_for_a_day_per_coat_meets_wet_coats_in_slower_air() -> None:
    planned_by_rule = street(slack=12)
    by_rule = replace(
        planned_by_rule,
        waits=tuple(wait for wait in planned_by_rule.waits if wait.reason == "rule"),
    )
    planned = solve(by_rule, Limits(work=100), no_time)
    truth = replace(planned_by_rule, horizon=200 * DAY)
    played = replay(truth, planned.placements)
    assert played.wet_arrivals > 0
    assert played.wet_arrivals <= len(truth.tasks)
    starts = {place.task: place.start for place in planned.placements}
    assert all(place.start >= starts[place.task] for place in played.placements)
    crews = {place.task: place.crew for place in planned.placements}
    assert all(place.crew == crews[place.task] for place in played.placements)
    done = {place.task for place in played.placements}
    assert done | set(played.undone) == {task.id for task in truth.tasks}
    assert all(task.split("-")[-1] in STAGES for task in done)
