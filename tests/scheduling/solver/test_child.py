"""The child process: plans out line by line, an end when nobody listens."""

import json
import subprocess
import sys

from scheduling.solver.outcome import Limits
from scheduling.solver.serialize import limits_to_json, outcome_from_json, problem_to_json
from scheduling.solver.verify import verify
from tests.scheduling.solver.streets import street

COMMAND = [sys.executable, "-m", "scheduling.solver"]


def start() -> subprocess.Popen[str]:
    return subprocess.Popen(
        COMMAND, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def line(problem, limits) -> str:
    document = {"problem": problem_to_json(problem), "limits": limits_to_json(limits)}
    return json.dumps(document) + "\n"


def test_every_better_plan_and_the_last_come_out_as_json_lines():
    problem = street(houses=2, rooms=2, crews=1)
    with start() as child:
        child.stdin.write(line(problem, Limits(work=50)))
        child.stdin.flush()
        events = [json.loads(answer) for answer in child.stdout]
        errors = child.stderr.read()
        assert child.wait() == 0, errors
    assert [event["event"] for event in events[:-1]] == ["better"] * (len(events) - 1)
    assert events[-1]["event"] == "done"
    scores = [tuple(event["outcome"]["score"]) for event in events]
    assert scores == sorted(scores, reverse=True)
    assert verify(problem, outcome_from_json(events[-1]["outcome"])) == []


def test_it_ends_when_its_input_closes():
    with start() as child:
        child.stdin.write(line(street(), Limits(seconds=600)))
        child.stdin.flush()
        assert json.loads(child.stdout.readline())["event"] == "better"
        child.stdin.close()
        child.stdin = None
        assert child.wait(timeout=20) == 3


def test_it_keeps_to_its_memory():
    child = subprocess.run(
        [*COMMAND, "--memory-mb", "40"],
        input=line(street(), Limits(work=1)),
        capture_output=True,
        text=True,
        check=False,
    )
    assert child.returncode != 0
