"""The planning page: where plans stand, what has changed since crews were told, the last runs."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from api.web.standing import Standing, company_standing
from finishing.models import Company
from finishing.queries.companies import can_plan
from scheduling.jobs import answer_for_page
from scheduling.models import PlanRun
from scheduling.queries.pins import pins_to_come
from scheduling.queries.runs import last_runs, unfinished_run
from scheduling.run_wording import failure_sentence, made_sentence, standing_sentence
from scheduling.services.since_published import since_published
from scheduling.since_wording import since_sentence
from scheduling.wording import moment

RUNS_SHOWN = 10


@dataclass(frozen=True)
class RunLine:
    """A run: when it was asked for, how it stands, what came of it."""

    run: PlanRun
    asked: str
    standing: str
    made: str
    failed: bool


@dataclass(frozen=True)
class PlanningPage:
    """All that the page shows at once."""

    standing: Standing
    run: PlanRun | None
    runs: list[RunLine]
    can_plan: bool
    pins: int


def planning_page(company: Company, *, now: datetime) -> PlanningPage:
    """Return the page as things stand."""
    return PlanningPage(
        standing=company_standing(company),
        run=unfinished_run(company),
        runs=[_run_line(run) for run in last_runs(company, RUNS_SHOWN)],
        can_plan=can_plan(company),
        pins=pins_to_come(company, now).count(),
    )


def changed_lines(company: Company, *, now: datetime) -> list[str] | None:
    """Return what a plan would have to follow since crews were told; None where they were told
    nothing. It takes a moment."""
    since = answer_for_page(since_published, company=company, now=now)
    return [since_sentence(one.code, one.values) for one in since.differences] if since else None


def _run_line(run: PlanRun) -> RunLine:
    failed = run.status == PlanRun.Status.FAILED
    plans = list(run.plans.all())
    return RunLine(
        run=run,
        asked=moment(run.requested_at, ZoneInfo(run.company.zone)),
        standing=standing_sentence(run),
        made=failure_sentence(run.error) if failed else made_sentence(plans),
        failed=failed,
    )
