"""Whatever the problem, the plan is sound or says why a task has no place."""

import json
from itertools import pairwise

from hypothesis import given

from scheduling.solver.bound import cost_bound, lateness_bound
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import construct, first_draft
from scheduling.solver.evaluate import score_of
from scheduling.solver.explain import binding_reasons
from scheduling.solver.outcome import Limits, Outcome, Status
from scheduling.solver.problem import Problem, curve_faults
from scheduling.solver.replay import replay
from scheduling.solver.serialize import (
    limits_from_json,
    limits_to_json,
    outcome_from_json,
    outcome_to_json,
    problem_from_json,
    problem_to_json,
)
from scheduling.solver.solve import solve
from scheduling.solver.tally import score_of_draft
from scheduling.solver.verify import verify
from tests.examples import examples
from tests.scheduling.solver.small_problems import small_problems

CODES = {
    "no_crew",
    "too_long",
    "no_open_time",
    "no_room",
    "fixed_clash",
    "after_unplaced",
    "lag_too_long",
    "impossible_lags",
}


def no_time() -> float:
    return 0.0


@examples(25, soak=80)
@given(problem=small_problems())
def test_first_plan_is_sound_and_accounts_for_every_task(problem: Problem) -> None:
    assert not any(curve_faults(curve) for curve in problem.curves.values())
    outcome = construct(problem)
    assert verify(problem, outcome) == []
    assert {item.code for item in outcome.unplaced} <= CODES
    assert (outcome.status is Status.PARTIAL) == bool(outcome.unplaced)


@examples(15, soak=40)
@given(problem=small_problems())
def test_improved_plan_is_sound_and_no_worse(problem: Problem) -> None:
    first = construct(problem)
    outcome = solve(problem, Limits(work=60), no_time)
    assert verify(problem, outcome) == []
    assert len(outcome.unplaced) <= len(first.unplaced)
    if len(outcome.unplaced) == len(first.unplaced):
        assert outcome.score <= first.score or _pins_mended(problem, outcome, first)
    assert outcome.bound <= outcome.score.cost


def _pins_mended(problem: Problem, outcome: Outcome, first: Outcome) -> bool:
    """A pinned task's predecessor in time is worth more than the score."""

    def broken(plan: Outcome) -> int:
        ends = {place.task: place.end for place in plan.placements}
        fixed = {task.id: task.fixed for task in problem.tasks if task.fixed}
        runs: dict[str, list[str]] = {}
        for task in problem.tasks:
            if task.run:
                runs.setdefault(task.run, []).append(task.id)
        return sum(
            ends[one] > fixed[two].start
            for run in runs.values()
            for one, two in pairwise(run)
            if two in fixed and one not in fixed and one in ends
        ) + sum(
            problem.curves[wait.curve].ready(ends[wait.before]) > fixed[wait.after].start
            for wait in problem.waits
            if wait.after in fixed and wait.before not in fixed and wait.before in ends
        )

    return broken(outcome) < broken(first)


@examples(15, soak=40)
@given(problem=small_problems())
def test_quick_score_is_the_plain_score(problem: Problem) -> None:
    draft = first_draft(compile_problem(problem))
    assert score_of_draft(draft) == score_of(problem, draft.placements())


@examples(15, soak=40)
@given(problem=small_problems())
def test_no_plan_is_less_late_than_the_bound(problem: Problem) -> None:
    first = construct(problem)
    assert lateness_bound(compile_problem(problem)) <= first.score.lateness
    assert first.unplaced or cost_bound(compile_problem(problem)) <= first.score.cost


@examples(10, soak=30)
@given(problem=small_problems())
def test_problem_and_outcome_survive_json(problem: Problem) -> None:
    outcome = solve(problem, Limits(work=5), no_time)
    assert problem_from_json(json.loads(json.dumps(problem_to_json(problem)))) == problem
    assert outcome_from_json(json.loads(json.dumps(outcome_to_json(outcome)))) == outcome
    limits = Limits(work=5, seed=9)
    assert limits_from_json(json.loads(json.dumps(limits_to_json(limits)))) == limits


@examples(10, soak=30)
@given(problem=small_problems())
def test_every_placed_task_has_a_reason_not_after_its_start(problem: Problem) -> None:
    placements = construct(problem).placements
    reasons = binding_reasons(problem, placements)
    assert reasons.keys() == {place.task for place in placements}
    for place in placements:
        assert reasons[place.task].tick <= place.start


@examples(15, soak=40)
@given(problem=small_problems())
def test_a_sound_plan_plays_back_without_wet_arrivals(problem: Problem) -> None:
    placements = construct(problem).placements
    played = replay(problem, placements)
    assert played.wet_arrivals == 0
    assert set(played.placements) == set(placements)
