"""What a planning run's row says while it goes on, and how it ended."""

from django.utils import timezone

from scheduling.models import PlanRun
from scheduling.services.holding import write_fields
from scheduling.services.run_steps import seconds_since_claimed
from scheduling.solver.outcome import Outcome
from scheduling.solver.problem import Problem
from scheduling.solver.serialize import problem_to_json


class GivenUpError(Exception):
    """A run came to its end after it had been called lost, or was begun anew by somebody else."""


def note_problem(run: PlanRun, problem: Problem) -> None:
    """Keep the problem that a run solves."""
    run.problem = problem_to_json(problem)
    write_fields(run, "problem")


def note_progress(run: PlanRun, better: Outcome) -> None:
    """Add a better plan to those that a run has found."""
    run.progress.append(
        {
            "seconds": better.history[-1].seconds if better.history else 0.0,
            "at": seconds_since_claimed(run),
            "score": list(better.score),
            "bound": better.bound,
            "by": better.history[-1].by if better.history else "construct",
        }
    )
    write_fields(run, "progress")


def finish(run: PlanRun, note: str) -> None:
    """Say that a run is done; raise GivenUpError where it is another's by now: what was found here
    is not to take the place of theirs."""
    run.status, run.error, run.finished_at = PlanRun.Status.DONE, note, timezone.now()
    if not write_fields(run, "freed", "air_rounds", "status", "error", "finished_at"):
        raise GivenUpError("it took longer than a run may, and was called lost: replan")


def note_failure(run: PlanRun, failure: BaseException) -> bool:
    """Say in a run's row why it failed, and return whether that is for this process to say: nobody
    has begun it anew, or stopped it for a newer one. A run that came to its end although it had
    been called failed says that."""
    states = [PlanRun.Status.RUNNING] + [PlanRun.Status.FAILED] * isinstance(failure, GivenUpError)
    mine = PlanRun.all_kinds.filter(pk=run.pk, attempts=run.attempts, overtaken_by=None)
    noted = mine.filter(status__in=states).update(
        status=PlanRun.Status.FAILED,
        finished_at=timezone.now(),
        error=f"{type(failure).__name__}: {failure}",
    )
    return noted == 1
