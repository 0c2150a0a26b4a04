"""``manage.py wet_visits``: published visits that the newest air makes too early."""

from typing import Any

from django.core.management.base import CommandParser

from finishing.management.base import CompanyCommand
from finishing.models import Company
from scheduling.management.planning import add_today, moment_of
from scheduling.management.wet_lines import wet_lines


class Command(CompanyCommand):
    help = "List the published visits that arrive before the coat is dry, by the newest air."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        add_today(parser)

    def work(self, company: Company, options: dict[str, Any]) -> None:
        for line in wet_lines(company, moment_of(company, options["today"])):
            self.stdout.write(line)
