"""The child process: one JSON document in on the first line, JSON lines out.

A document with the ``current`` plan asks for proposals against it: its lines carry up to three
plans each. One with ``changed`` problems too asks for a plan of each (``again.solve_again``), a
line each. One with ``unplaced`` tasks asks for a set of rules behind each, beside those
``placed``, a line each. One with a ``fleet`` asks where its dryers are to stand, from the current
plan.

It ends itself when standard input closes, so that it never outlives whoever started it, and
takes no more memory than it is allowed.
"""

import argparse
import json
import os
import resource
import sys
import threading
import time
from collections.abc import Callable
from typing import Any

from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.plain import to_plain
from scheduling.solver.problem import Problem
from scheduling.solver.serialize import (
    current_from_json,
    fleet_from_json,
    limits_from_json,
    outcome_to_json,
    problem_from_json,
    stayed_to_json,
)

type Document = dict[str, Any]
type Stopwatch = Callable[[], float]
type Answer = Callable[[Document, Problem, Limits, Stopwatch], None]

ABANDONED = 3
"""Exit status where standard input closed before the answer was out."""


def main() -> None:
    """Solve the problem on standard input and write every better plan to standard output."""
    parser = argparse.ArgumentParser(prog="python -m scheduling.solver", description=__doc__)
    parser.add_argument("--memory-mb", type=int, default=4096, help="limit of the address space")
    memory = parser.parse_args().memory_mb * 2**20
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    os.nice(10)
    start = time.monotonic()
    document = json.loads(sys.stdin.readline())
    threading.Thread(target=_end_with_input, daemon=True).start()
    _answer(document, lambda: time.monotonic() - start)


def _answer(document: Document, stopwatch: Stopwatch) -> None:
    problem = problem_from_json(document["problem"])
    limits = limits_from_json(document.get("limits", {}))
    answer: Answer = _plan
    if "unplaced" in document:
        answer = _conflicts
    elif "fleet" in document:
        answer = _stays
    elif "changed" in document:
        answer = _plans_again
    elif "current" in document:
        answer = _proposals
    answer(document, problem, limits, stopwatch)


# What solves is imported under the limit just set: most of the memory of a small solve is that.


def _plan(_: Document, problem: Problem, limits: Limits, stopwatch: Stopwatch) -> None:
    from scheduling.solver.solve import solve  # noqa: PLC0415

    plan = solve(problem, limits, stopwatch, lambda better: _write("better", better))
    _write("done", plan)


def _proposals(document: Document, problem: Problem, limits: Limits, stopwatch: Stopwatch) -> None:
    from scheduling.solver.proposals import propose  # noqa: PLC0415

    current = current_from_json(document["current"])
    plans = propose(problem, current, limits, stopwatch, lambda better: _write("better", *better))
    _write("done", *plans)


def _plans_again(
    document: Document, problem: Problem, limits: Limits, stopwatch: Stopwatch
) -> None:
    from scheduling.solver.again import solve_again  # noqa: PLC0415

    changed = [problem_from_json(other) for other in document["changed"]]
    places = current_from_json(document["current"]).places
    for plan in solve_again(problem, changed, places, limits, stopwatch):
        _write("solved", plan)
    _write("done")


def _stays(document: Document, problem: Problem, limits: Limits, stopwatch: Stopwatch) -> None:
    from scheduling.solver.stay_search import search_stays  # noqa: PLC0415

    fleet = fleet_from_json(document["fleet"])
    places = current_from_json(document["current"]).places
    found = search_stays(problem, fleet, places, limits, stopwatch)
    _say({"event": "done", "found": stayed_to_json(found)})


def _conflicts(document: Document, problem: Problem, limits: Limits, stopwatch: Stopwatch) -> None:
    from scheduling.solver.conflict import conflict  # noqa: PLC0415

    for task in document["unplaced"]:
        grounds = conflict(problem, task, document["placed"], limits, stopwatch)
        _say({"event": "conflict", "conflicts": [to_plain(grounds)]})
    _say({"event": "done", "conflicts": []})


def _write(event: str, *outcomes: Outcome) -> None:
    _say({"event": event, "outcomes": [outcome_to_json(outcome) for outcome in outcomes]})


def _say(line: Document) -> None:
    sys.stdout.write(json.dumps(line) + "\n")
    sys.stdout.flush()


def _end_with_input() -> None:
    while sys.stdin.readline():
        pass
    os._exit(ABANDONED)


if __name__ == "__main__":
    main()
