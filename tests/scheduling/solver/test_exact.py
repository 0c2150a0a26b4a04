"""The CP-SAT model and the claims drawn from it, against counting through every plan."""

from dataclasses import replace
from itertools import product
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from scheduling.solver import exact
from scheduling.solver.budget import Effort
from scheduling.solver.compiled import compile_problem
from scheduling.solver.constraints import RULES, one_place_each
from scheduling.solver.construct import first_draft, in_order
from scheduling.solver.draft import Draft
from scheduling.solver.evaluate import score_of
from scheduling.solver.exact import earlier_finish, gaps_are_exact, least_cost
from scheduling.solver.objective import minimise_cost_then_finish
from scheduling.solver.outcome import Limits, Outcome, Status
from scheduling.solver.problem import (
    Crew,
    Handover,
    House,
    Placement,
    Problem,
    ReadyCurve,
    Task,
    Wait,
    Window,
    constant_lag,
    duration_ticks,
)
from scheduling.solver.solve import solve
from scheduling.solver.tally import key_of, score_of_draft
from scheduling.solver.variables import new_variables
from scheduling.solver.verify import verify
from tests.examples import examples
from tests.scheduling.solver.shops import job_shop
from tests.scheduling.solver.small_problems import small_problems
from tests.scheduling.solver.streets import street

HORIZON = 18


def no_time() -> float:
    return 0.0


@st.composite
def tiny_problems(draw: st.DrawFn) -> Problem:
    """Two crews of one or two days, three tasks, a stepped wait, dust, travel and set-up."""
    kinds = st.tuples(
        st.integers(1, 3), st.integers(0, 1), st.booleans(), st.sampled_from([None, 1, 2])
    )
    tasks = tuple(
        Task(
            id=f"t{number}",
            house=f"h{house}",
            room=f"h{house}",
            person_minutes=5 * length,
            air_space=f"h{house}",
            dusty=dusty,
            wet_curve=None if dusty else "step",
            grade=grade,
            run=draw(st.sampled_from([None, "run"])),
            handover=draw(st.sampled_from(["h0", "h1"])),
        )
        for number, (length, house, dusty, grade) in enumerate(draw(st.tuples(*[kinds] * 3)))
    )
    noon = draw(st.integers(5, 9))
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=HORIZON,
        crews=(
            Crew("c0", (Window(0, noon, 0), Window(noon + 2, HORIZON, 1, 2))),
            Crew("c1", (Window(3, HORIZON, 0),)),
        ),
        houses=(House("h0"), House("h1")),
        tasks=tasks,
        handovers=tuple(
            Handover(f"h{n}", f"h{n}", draw(st.integers(0, 8)), draw(st.integers(1, 2)))
            for n in range(2)
        ),
        waits=tuple(
            Wait("t0", "t1", name) for name in draw(st.sampled_from([(), ("step",), ("lag",)]))
        ),
        curves={
            "step": ReadyCurve((5, 8, 12), (2, 3, 0), (0, 12, 13)),
            "lag": constant_lag(3),
        },
        travel={("h0", "h1"): draw(st.integers(0, 2)), ("h1", "h0"): 1},
        setup_ticks=draw(st.integers(0, 1)),
    )


def least_by_counting(problem: Problem) -> int | None:
    """Return the least lateness of all plans that verify accepts, None where there is none."""
    options = [
        [
            Placement(task.id, crew.id, start, start + duration_ticks(task.person_minutes, w.heads))
            for crew in problem.crews
            for w in crew.windows
            for start in range(w.start, w.end)
        ]
        for task in problem.tasks
    ]
    alone = [[place for place in places if _alone(problem, place)] for places in options]
    plans = ((score_of(problem, plan), plan) for plan in product(*alone))
    lateness: int | None = None
    for score, plan in plans:
        if lateness is None or score.lateness < lateness:
            outcome = Outcome(Status.FEASIBLE, plan, score)
            if not verify(problem, outcome):
                lateness = score.lateness
    return lateness


def _alone(problem: Problem, place: Placement) -> bool:
    """Return whether a place breaks no rule but those about other tasks."""
    outcome = Outcome(Status.PARTIAL, (place,), score_of(problem, [place]))
    return {v.code for v in verify(problem, outcome)} <= {"missing", "wait", "run_order"}


@examples(5, soak=10)
@given(problem=tiny_problems())
def test_optimal_means_that_no_plan_at_all_is_less_late(problem: Problem) -> None:
    least = least_by_counting(problem)
    outcome = solve(problem, Limits(work=200), no_time)
    assert verify(problem, outcome) == []
    if outcome.unplaced:
        return
    assert least is not None
    assert outcome.bound <= least <= outcome.score.lateness
    if gaps_are_exact(compile_problem(problem)):
        assert outcome.status is Status.OPTIMAL
        assert outcome.score.lateness == least


@examples(20, soak=60)
@given(problem=small_problems(), part=st.integers(1, 8))
def test_moving_some_tasks_gives_a_sound_plan_no_later(problem: Problem, part: int) -> None:
    draft = first_draft(compile_problem(problem))
    order = in_order(draft.compiled, lambda task: task)
    free = [t for unit in order for t in unit if not problem.tasks[t].fixed and draft.crew[t] >= 0]
    assume(free)
    moved = earlier_finish(draft, free[:part], Effort(workers=1, seed=1, ticks=0.2))
    if moved is not None:
        placements = moved.placements()
        unplaced = key_of(draft).unplaced
        assert key_of(moved).unplaced == unplaced
        assert score_of_draft(moved).lateness <= score_of_draft(draft).lateness
        outcome = Outcome(Status.PARTIAL, placements, score_of(problem, placements))
        codes = {v.code for v in verify(problem, outcome)}
        assert codes <= ({"missing"} if unplaced else set())


def hint_status(draft: Draft) -> cp_model.CpSolverStatus:
    """Return what CP-SAT says of the model with every variable held at its hint."""
    compiled = draft.compiled
    order = in_order(compiled, lambda task: task)
    free = [
        task
        for unit in order
        for task in unit
        if not compiled.tasks[task].fixed and draft.crew[task] >= 0
    ]
    variables = new_variables(draft, free)
    assert variables is not None
    for rule in RULES:
        rule(variables)
    minimise_cost_then_finish(variables)
    assert len(variables.model.proto.solution_hint.vars) == len(variables.model.proto.variables)
    solver = cp_model.CpSolver()
    solver.parameters.fix_variables_to_their_hinted_value = True
    return solver.solve(variables.model)


def test_the_plan_to_beat_is_a_complete_and_valid_hint_on_a_street() -> None:
    draft = first_draft(compile_problem(street(houses=3, rooms=3, crews=2, slack=6)))
    assert hint_status(draft) == cp_model.OPTIMAL


@examples(20, soak=60)
@given(problem=small_problems())
def test_the_plan_to_beat_is_a_complete_and_valid_hint(problem: Problem) -> None:
    # A fixed task may lie further behind another than a maximum lag allows: no plan keeps that
    # lag, and CP-SAT is not asked.
    fixed = {task.id for task in problem.tasks if task.fixed}
    assume(not any(w.most is not None and {w.before, w.after} & fixed for w in problem.waits))
    # Without travel the model's gaps exclude no plan, however short the breaks are.
    draft = first_draft(compile_problem(replace(problem, travel={})))
    assert gaps_are_exact(draft.compiled)
    assert hint_status(draft) == cp_model.OPTIMAL


def coat_and_next(**more: Any) -> Problem:
    """A coat, done before tick 14 or after tick 23, and what goes over it; dry after 4 ticks
    where it ends by tick 14, and from tick 18 on at once."""
    problem = Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=40,
        crews=(
            Crew("ann", (Window(0, 14, 0), Window(18, 40, 0))),
            Crew("bob", (Window(0, 40, 0),)),
        ),
        houses=(House("mill"),),
        tasks=(
            Task("coat", "mill", "r0", 25, crews=("ann",)),
            Task("next", "mill", "r1", 25, crews=("bob",), handover="mill"),
        ),
        handovers=(Handover("mill", "mill", 0),),
        waits=(Wait("coat", "next", "dry"),),
        curves={"dry": ReadyCurve((14, 29), (4, 0), (0, 18))},
    )
    return replace(problem, **more)


def test_a_wait_holds_even_where_a_later_step_asks_for_less() -> None:
    tasks = tuple(replace(task, handover=None) for task in coat_and_next().tasks)
    draft = first_draft(compile_problem(coat_and_next(tasks=tasks)))
    variables = new_variables(draft, [0, 1])
    assert variables is not None
    for rule in RULES:
        rule(variables)
    variables.model.add(variables.slots[0].end == 11)
    variables.model.add(variables.slots[1].start == 14)
    assert cp_model.CpSolver().solve(variables.model) == cp_model.INFEASIBLE


def test_plans_are_handed_on_while_cp_sat_still_looks() -> None:
    problem = job_shop("ft06")
    draft = first_draft(compile_problem(problem))
    free = [task for piece in in_order(draft.compiled, lambda task: task) for task in piece]
    found: list[Outcome] = []
    answer = least_cost(
        draft,
        free,
        Effort(workers=1, seed=1, ticks=5),
        lambda one: found.append(plan_of(one)),
    )
    assert answer.draft is not None
    assert plan_of(answer.draft) == found[-1]
    costs = [outcome.score.cost for outcome in found]
    assert len(costs) > 1
    # Placed anew, a plan may be better than the next that CP-SAT finds.
    assert costs[-1] == min(costs)
    assert not any(verify(problem, outcome) for outcome in found)


def plan_of(draft: Draft) -> Outcome:
    return Outcome(Status.FEASIBLE, draft.placements(), score_of_draft(draft))


def test_what_cp_sat_wants_is_not_taken_on_trust(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(exact, "RULES", (one_place_each,))
    # With a window at a price, tasks stay where CP-SAT has them, if that can be.
    priced = Crew("bob", (Window(0, 30, 0), Window(30, 40, 0, price=1)))
    problem = coat_and_next(crews=(coat_and_next().crews[0], priced))
    draft = first_draft(compile_problem(problem))
    answer = least_cost(draft, [0, 1], Effort(workers=1, seed=1, ticks=1), lambda _: None).draft
    if answer is not None:
        placements = answer.placements()
        assert verify(problem, Outcome(Status.FEASIBLE, placements, score_of_draft(answer))) == []
