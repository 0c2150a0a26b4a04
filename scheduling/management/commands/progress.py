"""manage.py progress"""

from dataclasses import asdict
from typing import Any
from zoneinfo import ZoneInfo

from finishing.management.base import CompanyCommand
from finishing.models import Company
from scheduling.models import PlanRun
from scheduling.queries.runs import UNFINISHED
from scheduling.run_wording import best_sentence
from scheduling.services.run_progress import best_so_far
from scheduling.wording import moment


class Command(CompanyCommand):
    help = "Show how far the planning is that goes on elsewhere."

    def work(self, company: Company, options: dict[str, Any]) -> None:  # noqa: ARG002
        runs = PlanRun.objects.filter(company=company, status__in=UNFINISHED).order_by("pk")
        for run in runs:
            asked = moment(run.requested_at, ZoneInfo(company.zone))
            self.stdout.write(f"asked for {asked}, {run.status}: {_best(run)}")
        if not runs:
            self.stdout.write(f"{company}: no planning is going on")


def _best(run: PlanRun) -> str:
    """Say what the best plan so far scores, and after how long it was found."""
    best = best_so_far(run)
    return best_sentence(**asdict(best)) if best else "no plan yet"
