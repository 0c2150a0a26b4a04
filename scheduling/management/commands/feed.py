"""``manage.py feed CREW``: a calendar on standard output."""

import sys
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandParser
from django.utils import timezone

from finishing.management.base import CompanyCommand
from finishing.models import Company
from scheduling.management.feed_choice import add_subject, chosen_feed
from scheduling.management.planning import add_today
from scheduling.services.feeds import feed_body


class Command(CompanyCommand):
    help = "Write a published calendar to standard output."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        add_subject(parser)
        add_today(parser)

    def work(self, company: Company, options: dict[str, Any]) -> None:
        link = chosen_feed(company, options)
        today = options["today"] or timezone.localdate(timezone=ZoneInfo(link.zone))
        sys.stdout.buffer.write(feed_body(link=link, today=today))  # bytes: line ends are CRLF
