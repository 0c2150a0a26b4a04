"""manage.py stop_run"""

from typing import Any

from django.core.management.base import CommandError

from finishing.management.base import CompanyCommand
from finishing.models import Company
from scheduling.services.stop import stop_runs


class Command(CompanyCommand):
    help = "Stop planning that is going on elsewhere; its best plan so far is kept."

    def work(self, company: Company, options: dict[str, Any]) -> None:  # noqa: ARG002
        asked = stop_runs(company=company)
        if not asked:
            raise CommandError(f"{company}: no planning is going on")
        self.stdout.write(f"{company}: {asked} asked to stop, the best plan so far is kept")
