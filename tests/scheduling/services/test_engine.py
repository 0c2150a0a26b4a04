"""Whatever becomes of the child process, the best verified plan is kept and the note says so."""

import json
import sys
from dataclasses import replace
from time import monotonic

import pytest
from django.conf import LazySettings

from scheduling.services.child import Child
from scheduling.services.engine import Solved, solve
from scheduling.solver.construct import construct
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Problem
from scheduling.solver.serialize import problem_to_json
from scheduling.solver.verify import verify
from tests.scheduling.solver.streets import street

pytestmark = pytest.mark.usefixtures("started_child")

STREET = street(houses=3, rooms=3, crews=2, slack=3)
IMPROVED = """
import json, os, signal, sys
from scheduling.solver.outcome import Limits
from scheduling.solver.serialize import outcome_to_json, problem_from_json
from scheduling.solver.solve import solve
problem = problem_from_json(json.loads(sys.stdin.readline())["problem"])
better = outcome_to_json(solve(problem, Limits(work=150), lambda: 0.0))
say = lambda event, outcome: print(json.dumps({"event": event, "outcomes": [outcome]}), flush=True)
"""
CRASH = "os.kill(os.getpid(), signal.SIGSEGV)\n"


def solve_with(script: str, seconds: float = 60, grace_seconds: float = 30) -> Solved:
    """Solve the street with a child of our own making."""
    child = Child((sys.executable, "-c", script), grace_seconds)
    solved = solve(STREET, Limits(seconds=seconds), child=child)
    assert verify(STREET, solved.outcome) == []
    return solved


def same_plan(one: Outcome, two: Outcome) -> bool:
    return (one.placements, one.score) == (two.placements, two.score)


@pytest.mark.parametrize(
    ("script", "said"),
    [
        (f"import os, signal, sys\nsys.stdin.readline()\n{CRASH}", "by SIGSEGV"),
        ("import os, signal\nos.kill(os.getpid(), signal.SIGKILL)", "by SIGKILL"),
        ("raise SystemExit(7)", "exit status 7"),
        ("import sys\nsys.stdin.readline()\nprint('{\"event')", "no plan"),
        ("import sys\nsys.stdin.readline()\nprint('terminate called')", "no plan"),
        ("import sys\nsys.stdin.readline()\nprint('[1]')", "no plan"),
        ('import sys\nsys.stdin.readline()\nprint(\'{"event": "done"}\')', "no plan"),
    ],
)
def test_a_child_that_fails_at_once_leaves_the_first_plan(script: str, said: str) -> None:
    solved = solve_with(script)
    assert same_plan(solved.outcome, construct(STREET))
    assert said in solved.note
    assert solved.note.endswith("this is the best plan it had found")


@pytest.mark.parametrize(
    ("end", "said"),
    [(CRASH, "by SIGSEGV"), ("print('garbage', flush=True)\n", "no plan"), ("", "exit status 0")],
)
def test_a_better_plan_outlives_the_child(end: str, said: str) -> None:
    solved = solve_with(f"{IMPROVED}say('better', better)\n{end}")
    assert solved.outcome.score < construct(STREET).score
    assert said in solved.note


def test_a_child_out_of_memory_leaves_the_first_plan(settings: LazySettings) -> None:
    settings.SOLVER_MEMORY_MB = 40
    solved = solve(STREET, Limits(work=20))
    assert same_plan(solved.outcome, construct(STREET))
    assert "the solver ended early" in solved.note


def test_a_child_out_of_time_is_stopped() -> None:
    began = monotonic()
    solved = solve_with("import sys\nsys.stdin.read()", seconds=0.1, grace_seconds=0.2)
    assert monotonic() - began < 20
    assert same_plan(solved.outcome, construct(STREET))
    assert "did not end in time" in solved.note


def test_work_may_take_longer_than_seconds_that_come_with_it() -> None:
    solved = solve(STREET, Limits(seconds=0.001, work=20), child=Child(grace_seconds=0.0))
    assert solved.note == ""


def test_a_plan_that_breaks_a_rule_is_dropped() -> None:
    early = "better['placements'][-1][2] -= 1\nbetter['placements'][-1][3] -= 1\n"
    solved = solve_with(f"{IMPROVED}{early}say('done', better)")
    assert same_plan(solved.outcome, construct(STREET))
    assert "did not verify" in solved.note


def test_a_plan_that_moves_a_frozen_task_is_dropped() -> None:
    first = construct(STREET).placements[0]
    tasks = (replace(t, fixed=first if t.id == first.task else None) for t in STREET.tasks)
    later = (
        "from dataclasses import replace\n"
        "tasks = (replace(t, fixed=None, release=t.fixed.start + 288) if t.fixed else t\n"
        "    for t in problem.tasks)\n"
        "moved = solve(replace(problem, tasks=tuple(tasks)), Limits(work=1), lambda: 0.0)\n"
    )
    child = Child((sys.executable, "-c", f"{IMPROVED}{later}say('done', outcome_to_json(moved))"))
    solved = solve(replace(STREET, tasks=tuple(tasks)), Limits(seconds=60), child=child)
    assert first in solved.outcome.placements
    assert "did not verify" in solved.note


def test_a_false_claim_that_nothing_can_be_planned_is_not_believed() -> None:
    claim = (
        "from scheduling.solver.evaluate import score_of\n"
        "nothing = {'status': 'partial', 'placements': [], 'score': score_of(problem, []),\n"
        "  'unplaced': [[t.id, 'no_open_time', ''] for t in problem.tasks], 'bound': 0,\n"
        "  'history': []}\n"
    )
    solved = solve_with(f"{IMPROVED}{claim}say('done', nothing)")
    assert same_plan(solved.outcome, construct(STREET))
    assert solved.outcome.unplaced == ()


def test_a_stop_keeps_the_best_plan_so_far() -> None:
    heard: list[Outcome] = []
    began = monotonic()
    solved = solve(
        STREET, Limits(seconds=600), on_better=heard.append, should_stop=lambda: len(heard) >= 3
    )
    assert monotonic() - began < 60
    assert solved.note.startswith("stopped on request")
    assert len(heard) >= 3
    assert same_plan(solved.outcome, heard[-1])
    assert solved.outcome.score < construct(STREET).score
    assert verify(STREET, solved.outcome) == []


def test_a_stop_is_heard_while_the_child_says_nothing() -> None:
    silent = Child((sys.executable, "-c", "import sys\nsys.stdin.read()"))
    asked: list[float] = []

    def third_time() -> bool:
        asked.append(monotonic())
        return len(asked) == 3

    solved = solve(STREET, Limits(seconds=600), should_stop=third_time, child=silent)
    assert asked[-1] - asked[0] < 20
    assert solved.note.startswith("stopped on request")


def test_a_child_that_never_listens_is_ended_in_time() -> None:
    deaf = Child((sys.executable, "-c", "import time\ntime.sleep(600)"), grace_seconds=0.1)
    # More than a pipe holds.
    long = street(houses=30, rooms=6, crews=3, slack=20)
    assert len(json.dumps(problem_to_json(long))) > 65_536
    solved = solve(long, Limits(seconds=0.1), child=deaf)
    assert "did not end in time" in solved.note


def test_a_problem_without_tasks_has_an_empty_plan() -> None:
    empty = Problem(STREET.origin, STREET.horizon, STREET.crews, STREET.houses, ())
    solved = solve(empty, Limits(work=5))
    assert (solved.outcome.placements, solved.note) == ((), "")
