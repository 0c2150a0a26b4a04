"""The child process: plans out line by line, an end when nobody listens."""

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import IO

from scheduling.solver.outcome import Limits
from scheduling.solver.problem import Problem
from scheduling.solver.serialize import limits_to_json, outcome_from_json, problem_to_json
from scheduling.solver.verify import verify
from tests.scheduling.solver.streets import street

COMMAND = [sys.executable, "-m", "scheduling.solver"]


Child = tuple["subprocess.Popen[str]", IO[str], IO[str]]


@contextmanager
def child_at_work(problem: Problem, limits: Limits, *options: str) -> Iterator[Child]:
    """Start a child on a problem; yield it with its input, still open, and its output."""
    document = {"problem": problem_to_json(problem), "limits": limits_to_json(limits)}
    with subprocess.Popen(
        [*COMMAND, *options], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as child:
        assert child.stdin
        assert child.stdout
        with suppress(BrokenPipeError):
            child.stdin.write(json.dumps(document) + "\n")
            child.stdin.flush()
        yield child, child.stdin, child.stdout


def test_every_better_plan_and_the_last_come_out_as_json_lines() -> None:
    problem = street(houses=2, rooms=2, crews=1)
    with child_at_work(problem, Limits(work=50)) as (child, _, answers):
        events = [json.loads(answer) for answer in answers]
        assert child.wait() == 0
    assert [event["event"] for event in events[:-1]] == ["better"] * (len(events) - 1)
    assert events[-1]["event"] == "done"
    scores = [tuple(event["outcomes"][0]["score"]) for event in events]
    assert scores == sorted(scores, reverse=True)
    assert verify(problem, outcome_from_json(events[-1]["outcomes"][0])) == []


def test_it_ends_when_its_input_closes() -> None:
    with child_at_work(street(), Limits(seconds=600)) as (child, document, answers):
        assert json.loads(answers.readline())["event"] == "better"
        document.close()
        assert child.wait(timeout=20) == 3


def test_it_keeps_to_its_memory() -> None:
    # The same document is solved above; 10 MB do not even hold Python.
    problem = street(houses=2, rooms=2, crews=1)
    with child_at_work(problem, Limits(work=50), "--memory-mb=10") as (child, _, answers):
        assert answers.read() == ""
        assert child.wait() not in {0, 3}
