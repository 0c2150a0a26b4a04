"""manage.py accept"""

from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandError, CommandParser

from finishing.management.base import CompanyCommand
from finishing.models import Company
from scheduling.change_wording import kind_name, refusal_sentence
from scheduling.management.planning import add_today, counting, moment_of
from scheduling.queries.plans import proposals_of
from scheduling.services.proposals import ProposalError, accept_proposal


class Command(CompanyCommand):
    help = "Make a proposal of the latest replan the working plan; publish then tells the crews."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        add_today(parser)
        parser.add_argument("number", type=counting, help="1, 2 or 3, as replan has printed them")

    def work(self, company: Company, options: dict[str, Any]) -> None:
        found, number = proposals_of(company), options["number"]
        if number > len(found):
            raise CommandError(
                f"{company}: no proposal {number}, the latest replan made {len(found)}"
            )
        try:
            plan = accept_proposal(
                company=company, plan=found[number - 1], now=moment_of(company, options["today"])
            )
        except ProposalError as error:
            why = refusal_sentence(error.code, error.values, ZoneInfo(company.zone))
            raise CommandError(f"{company}: proposal {number}: {why}") from None
        self.stdout.write(
            f"{company}: proposal {number} ({kind_name(plan.kind)}) is the working plan"
        )
        self.stdout.write("manage.py publish shows it to the crews")
