"""manage.py progress"""

from typing import Any
from zoneinfo import ZoneInfo

from finishing.management.base import CompanyCommand
from finishing.models import Company
from scheduling.models import PlanRun
from scheduling.services.stop import STOPPABLE
from scheduling.solver.outcome import Score
from scheduling.wording import figure, moment


class Command(CompanyCommand):
    help = "Show how far the planning is that goes on elsewhere."

    def work(self, company: Company, options: dict[str, Any]) -> None:  # noqa: ARG002
        runs = PlanRun.objects.filter(company=company, status__in=STOPPABLE).order_by("pk")
        for run in runs:
            asked = moment(run.requested_at, ZoneInfo(company.zone))
            self.stdout.write(f"asked for {asked}, {run.status}: {_best(run)}")
        if not runs:
            self.stdout.write(f"{company}: no planning is going on")


def _best(run: PlanRun) -> str:
    """Say what the best plan so far scores, and after how long it was found."""
    if not run.progress:
        return "no plan yet"
    best = run.progress[-1]
    score = Score(*best["score"])
    return (
        f"{score.cost} weighted minutes of lateness and extra hours (none below "
        f"{best['bound']}), {score.visits} visits, {score.idle} idle minutes, "
        f"found after {figure(best['seconds'])} s"
    )
