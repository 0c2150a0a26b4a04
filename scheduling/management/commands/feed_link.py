"""``manage.py feed_link CREW``: the secret addresses of a crew's feed and page, others, or none."""

from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from finishing.management.base import CompanyCommand
from finishing.models import Company, Crew
from scheduling.services.links import (
    feed_address,
    make_link,
    page_address,
    renew_link,
    revoke_link,
    webcal_address,
)


class Command(CompanyCommand):
    help = "Show, renew or revoke the secret addresses of a crew's calendar feed and of its page."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("crew", metavar="CREW", help="the crew's name")
        change = parser.add_mutually_exclusive_group()
        change.add_argument("--renew", action="store_true", help="other addresses instead")
        change.add_argument("--revoke", action="store_true", help="end the addresses")

    def work(self, company: Company, options: dict[str, Any]) -> None:
        crew = Crew.objects.filter(company=company, name=options["crew"]).first()
        if crew is None:
            known = ", ".join(row.name for row in Crew.objects.filter(company=company))
            raise CommandError(f"{company} has no crew {options['crew']!r}; its crews: {known}")
        link = make_link(crew=crew)
        if options["revoke"]:
            revoke_link(link=link, now=timezone.now())
            self.stdout.write(f"{crew}: the feed's address has ended; --renew gives another")
            return
        if options["renew"]:
            link = renew_link(link=link)
        if link.revoked_at:
            raise CommandError(f"{crew}: the feed's address has ended; --renew gives another")
        self.stdout.write(feed_address(link))
        self.stdout.write(webcal_address(link))
        self.stdout.write(f"{page_address(link)} (its page for a phone)")
