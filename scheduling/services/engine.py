"""Runs the solver in a child process that can be killed, and believes only what verifies."""

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from threading import Timer
from typing import IO, Any

from django.conf import settings

from scheduling.services.frozen import held_to_the_rules
from scheduling.solver.construct import construct
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Problem
from scheduling.solver.serialize import outcome_from_json, problem_to_json
from scheduling.solver.verify import verify

GRACE_SECONDS = 30.0
"""How much longer than its budget the child may take before it is killed."""

UNTIMED_SECONDS = 3600.0
"""For a work budget, which has no seconds of its own."""


class EngineError(RuntimeError):
    """The first plan itself does not verify: a fault in the solver, never shown as a plan."""


@dataclass(frozen=True)
class Solved:
    """The best verified outcome; ``note`` says what went wrong with the child, if anything."""

    outcome: Outcome
    note: str = ""


def first_plan_holds(problem: Problem) -> bool:
    """Return whether the first plan keeps every rule that work under way is not beyond."""
    return not verify(held_to_the_rules(problem), construct(problem))


def solve(
    problem: Problem, limits: Limits, on_better: Callable[[Outcome], None] = lambda _: None
) -> Solved:
    """Return the best verified plan within the limits.

    The first plan is made and verified here; the child only improves on it, so that a crash, a
    kill or a memory limit leaves a plan all the same.
    """
    strict = held_to_the_rules(problem)
    best = construct(problem)
    if faults := verify(strict, best):
        raise EngineError(f"the first plan breaks {len(faults)} rules, first {faults[0]}")
    on_better(best)
    note = ""
    try:
        for better in _from_child(problem, limits):
            if verify(strict, better):
                note = "a plan of the solver did not verify and was dropped"
            elif (len(better.unplaced), better.score) <= (len(best.unplaced), best.score):
                best = better
                on_better(best)
    except _ChildError as failure:
        note = str(failure)
    return Solved(best, note)


class _ChildError(Exception):
    pass


def _from_child(problem: Problem, limits: Limits) -> Iterator[Outcome]:
    request = {"problem": problem_to_json(problem), "limits": _limits_json(limits)}
    command = [sys.executable, "-m", "scheduling.solver"]
    command += ["--memory-mb", str(settings.SOLVER_MEMORY_MB)]
    with subprocess.Popen(  # noqa: S603 - our own module, no outside words in the command
        command,
        cwd=settings.BASE_DIR,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as child:
        assert child.stdin
        assert child.stdout
        last_resort = Timer((limits.seconds or UNTIMED_SECONDS) + GRACE_SECONDS, child.kill)
        last_resort.start()
        try:
            child.stdin.write(json.dumps(request) + "\n")
            child.stdin.flush()
            yield from _outcomes(child.stdout)
        except BrokenPipeError:
            raise _ChildError("the solver ended before it was asked") from None
        finally:
            last_resort.cancel()
            child.kill()


def _outcomes(lines: IO[str]) -> Iterator[Outcome]:
    for line in lines:
        try:
            event: dict[str, Any] = json.loads(line)
        except json.JSONDecodeError:
            break  # killed in the middle of a line
        yield outcome_from_json(event["outcome"])
        if event["event"] == "done":
            return
    raise _ChildError("the solver ended early; this is the best plan it had found")


def _limits_json(limits: Limits) -> dict[str, Any]:
    return {
        "seconds": limits.seconds,
        "work": limits.work,
        "workers": limits.workers,
        "seed": limits.seed,
    }
