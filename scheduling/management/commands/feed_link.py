"""``manage.py feed_link CREW``: the secret address of a calendar, another, or none."""

import argparse
from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from finishing.management.base import CompanyCommand
from finishing.models import Company, Crew
from finishing.services.errors import InputFaults
from scheduling.management.feed_choice import add_subject, chosen_feed
from scheduling.models import FeedLink
from scheduling.services.link_secrets import Secretive
from scheduling.services.links import (
    OPTIONS,
    edit_link,
    feed_address,
    make_page,
    page_address,
    renew_link,
    revoke_link,
    stored_like,
    webcal_address,
)
from scheduling.services.new_feeds import add_feed


class Command(CompanyCommand):
    help = (
        "Show, make, change, renew or revoke the secret address of a calendar feed; of a crew's "
        "own, also that of its page."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        add_subject(parser)
        tick = argparse.BooleanOptionalAction
        parser.add_argument("--for", dest="for_whom", metavar="WHOM", default="")
        parser.add_argument("--weeks", type=int, help="how far ahead; 0 for all that is planned")
        parser.add_argument("--language", choices=Crew.Language.values)
        parser.add_argument("--alarms", dest="has_alarms", action=tick)
        parser.add_argument("--drying", dest="shows_drying", action=tick)
        parser.add_argument("--name-crews", dest="names_crews", action=tick)
        change = parser.add_mutually_exclusive_group()
        change.add_argument("--renew", action="store_true", help="another address instead")
        change.add_argument("--revoke", action="store_true", help="end the address")

    def work(self, company: Company, options: dict[str, Any]) -> None:
        link = self._link(company, options)
        rows: list[Secretive] = [link]
        if link.crew and not link.for_whom:
            rows.append(make_page(crew=link.crew))
        if options["revoke"]:
            for row in rows:
                revoke_link(link=row, now=timezone.now())
            self.stdout.write(f"{link}: the feed's address has ended; --renew gives another")
            return
        if options["renew"]:
            rows = [renew_link(link=row) for row in rows]
        if link.revoked_at:
            raise CommandError(f"{link}: the feed's address has ended; --renew gives another")
        for row in rows:
            self._show(row)

    def _link(self, company: Company, options: dict[str, Any]) -> FeedLink:
        described = chosen_feed(company, options)
        described.for_whom = options["for_whom"]
        values = {name: options[name] for name in OPTIONS if options[name] is not None}
        if "weeks" in values:
            values["weeks"] = values["weeks"] or None
        try:
            link = stored_like(described) or add_feed(link=described, now=timezone.now())
            if any(getattr(link, name) != value for name, value in values.items()):
                edit_link(link=link, version=link.version, values=values, now=timezone.now())
        except InputFaults as error:
            raise CommandError("; ".join(str(fault) for fault in error.faults)) from None
        return link

    def _show(self, row: Secretive) -> None:
        gone = f"{row}: made with a key that is no longer set; it works, --renew gives another"
        if isinstance(row, FeedLink):
            self.stdout.write(feed_address(row) or gone)
            self.stdout.write(webcal_address(row) or gone)
        else:
            address = page_address(row)
            self.stdout.write(f"{address} (its page for a phone)" if address else gone)
