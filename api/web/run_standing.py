"""How a run that goes on beside the plan to work on stands, on the page of what it is for."""

from dataclasses import dataclass
from datetime import datetime

from scheduling.models import PlanRun
from scheduling.queries.runs import UNFINISHED
from scheduling.run_wording import failure_sentence, standing_sentence, step_sentence
from scheduling.services.run_steps import search_seconds_left


@dataclass(frozen=True)
class Progress:
    """How the newest run of a scenario or a quote stands, in words. over: nothing goes on."""

    over: bool
    standing: str
    step: str
    failure: str


def progress_of(run: PlanRun | None, now: datetime) -> Progress | None:
    """Return how a run stands; None where none was ever asked for."""
    if run is None:
        return None
    going_on = run.status == PlanRun.Status.RUNNING and run.steps
    step = step_sentence(run.steps[-1]["code"], search_seconds_left(run, now)) if going_on else ""
    failed = run.status == PlanRun.Status.FAILED
    return Progress(
        over=run.status not in UNFINISHED,
        standing=standing_sentence(run),
        step=step,
        failure=failure_sentence(run.error) if failed else "",
    )
