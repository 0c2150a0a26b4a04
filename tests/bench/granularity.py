"""Room by room against area by area: ``uv run python -m tests.bench.granularity``.

On the demo company, the same search plans the houses twice: with each room's wait counted from
that room's own end, and with the first room of a stage waiting for the last room of the stage
before it, as if the whole area were one task.
"""

import os
import tempfile
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from time import monotonic

from scheduling.solver.problem import Problem

ROUNDS = 4000


def main() -> None:
    with tempfile.TemporaryDirectory() as var:
        os.environ["COATWEAVE_VAR"] = var
        os.environ["DJANGO_SETTINGS_MODULE"] = "finishing.config.settings"
        import django

        django.setup()
        compare()


def compare() -> None:
    """Print lateness, visits, idle and finish of both, and the working seconds."""
    from django.core.management import call_command

    from finishing.services.demo import load_demo
    from scheduling.management.planning import moment_of
    from scheduling.services.inputs import build_inputs
    from scheduling.solver.outcome import Limits
    from scheduling.solver.solve import solve
    from scheduling.solver.verify import verify

    call_command("migrate", verbosity=0)
    today = date(2026, 10, 19)
    company = load_demo(today=today)
    rooms = build_inputs(company=company, now=moment_of(company, today)).problem
    for name, problem in (("room by room", rooms), ("area by area", whole_areas(rooms))):
        seconds = stopwatch()
        outcome = solve(
            problem,
            Limits(seconds=None, work=ROUNDS, workers=1),
            seconds,
        )
        assert not verify(problem, outcome)
        finish = outcome.score.finish / len(problem.handovers) * 5 / 60 / 24
        print(  # noqa: T201 - a bench prints
            f"{name}: lateness {outcome.score.lateness} min, visits {outcome.score.visits}, "
            f"idle {outcome.score.idle} min, mean handover on day {finish:.1f} "
            f"({seconds():.0f} s)"
        )


def stopwatch() -> Callable[[], float]:
    """Return a function that gives the seconds since now."""
    began = monotonic()
    return lambda: monotonic() - began


def whole_areas(problem: Problem) -> Problem:
    """Let each wait between two runs also hold from the last task of the first run on."""
    last_of_run = {task.run: task.id for task in problem.tasks if task.run}
    run_of = {task.id: task.run for task in problem.tasks}
    extra = {
        replace(wait, before=last_of_run[run])
        for wait in problem.waits
        if (run := run_of[wait.before]) and run != run_of[wait.after]
    }
    return replace(problem, waits=tuple(dict.fromkeys([*problem.waits, *sorted(extra, key=str)])))


if __name__ == "__main__":
    main()
