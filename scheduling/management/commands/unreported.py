"""``manage.py unreported``: past work that counts as done as planned, as nobody said more."""

from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandParser

from finishing.management.base import CompanyCommand
from finishing.models import Company
from scheduling.management.planning import add_today, moment_of
from scheduling.services.unreported import Silent, unreported_work
from scheduling.wording import listed, moment, stage_name


class Command(CompanyCommand):
    help = "List past work without a report: it counts as done as planned."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        add_today(parser)

    def work(self, company: Company, options: dict[str, Any]) -> None:
        now = moment_of(company, options["today"])
        found = list(unreported_work(company=company, now=now))
        for silent in found:
            self.stdout.write(_line(silent))
        if not found:
            self.stdout.write("all past work has been reported")


def _line(silent: Silent) -> str:
    visit = silent.visit
    starts = moment(visit.starts_at, ZoneInfo(visit.crew.zone))
    work = [
        f"{stage_name(stage)} ({listed([row['room'] or row['job'] for row in rows])})"
        for stage, rows in groupby(silent.tasks, key=lambda row: str(row["stage"]))
    ]
    return f"{visit.crew}, {starts}, {visit.house}: {'; '.join(work)}"
