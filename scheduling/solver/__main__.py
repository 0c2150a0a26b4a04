"""The child process: one JSON document in on the first line, JSON lines with plans out.

A document with the ``current`` plan asks for proposals against it: its lines carry up to three
plans each. One with ``changed`` problems too asks for a plan of each (``again.solve_again``), a
line each.

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

from scheduling.solver.outcome import Outcome
from scheduling.solver.serialize import (
    current_from_json,
    limits_from_json,
    outcome_to_json,
    problem_from_json,
)

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


def _answer(document: dict[str, Any], stopwatch: Callable[[], float]) -> None:
    # Imported under the limit just set: most of the memory of a small solve is this import.
    from scheduling.solver.again import solve_again  # noqa: PLC0415
    from scheduling.solver.proposals import propose  # noqa: PLC0415
    from scheduling.solver.solve import solve  # noqa: PLC0415

    problem = problem_from_json(document["problem"])
    limits = limits_from_json(document.get("limits", {}))
    plans: tuple[Outcome, ...] = ()
    if "changed" in document:
        changed = [problem_from_json(other) for other in document["changed"]]
        places = current_from_json(document["current"]).places
        for plan in solve_again(problem, changed, places, limits, stopwatch):
            _write("solved", plan)
    elif "current" in document:
        current = current_from_json(document["current"])
        plans = propose(
            problem, current, limits, stopwatch, lambda better: _write("better", *better)
        )
    else:
        plans = (solve(problem, limits, stopwatch, lambda better: _write("better", better)),)
    _write("done", *plans)


def _write(event: str, *outcomes: Outcome) -> None:
    line = {"event": event, "outcomes": [outcome_to_json(outcome) for outcome in outcomes]}
    sys.stdout.write(json.dumps(line) + "\n")
    sys.stdout.flush()


def _end_with_input() -> None:
    while sys.stdin.readline():
        pass
    os._exit(ABANDONED)


if __name__ == "__main__":
    main()
