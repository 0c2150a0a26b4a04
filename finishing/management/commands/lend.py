"""``manage.py lend MEMBER CREW DAYS``: somebody works with another crew for a day."""

from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from finishing.management.asked import Asked, days_in_words
from finishing.management.base import CompanyCommand
from finishing.models import Company
from finishing.services.company_log import OF_CREWS, logged
from finishing.services.day_list import asked_days
from finishing.services.staffing import crew_named, end_loan, lend_member, members_named


class Command(CompanyCommand):
    help = "Lend a member of one crew to another on some days; replan then."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("member", metavar="MEMBER", help="who is lent")
        parser.add_argument("crew", metavar="CREW", help="the crew that is helped")
        parser.add_argument("days", metavar="DAYS", help='"2026-03-05; 2026-03-09..2026-03-11"')
        parser.add_argument("--back", action="store_true", help="not lent after all")

    def work(self, company: Company, options: dict[str, Any]) -> None:
        asked, name = Asked(), options["member"]
        days = asked.read(lambda: asked_days(options["days"]))
        crew = asked.read(lambda: crew_named(company, options["crew"]))
        if asked.read(lambda: members_named(company, name)) and crew and days:
            if options["back"]:
                with logged(company, OF_CREWS, by=None, now=timezone.now()):
                    count = end_loan(crew=crew, name=name, days=days)
                said = f"{name}: {days_in_words(count)} with {crew} taken back"
            else:
                with logged(company, OF_CREWS, by=None, now=timezone.now()):
                    asked.read(
                        lambda: lend_member(company=company, name=name, crew=crew, days=days)
                    )
                said = f"{name}: with {crew} on {days_in_words(len(days))}"
        asked.end_if_faulty(self.stderr)
        self.stdout.write(said)
