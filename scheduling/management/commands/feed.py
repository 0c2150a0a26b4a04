"""``manage.py feed CREW``: a crew's calendar on standard output."""

import sys
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from finishing.management.base import CompanyCommand
from finishing.models import Company, Crew
from scheduling.management.planning import add_today
from scheduling.services.feeds import crew_feed


class Command(CompanyCommand):
    help = "Write a crew's published calendar to standard output."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("crew", metavar="CREW", help="the crew's name")
        add_today(parser)

    def work(self, company: Company, options: dict[str, Any]) -> None:
        crews = {crew.name: crew for crew in Crew.objects.filter(company=company)}
        crew = crews.get(options["crew"])
        if crew is None:
            known = ", ".join(crews) or "none yet"
            raise CommandError(f"{company} has no crew {options['crew']!r}; its crews: {known}")
        today = options["today"] or timezone.localdate(timezone=ZoneInfo(crew.zone))
        sys.stdout.buffer.write(crew_feed(crew=crew, today=today))  # bytes: line ends are CRLF
