"""``manage.py rekey_links``: addresses made with a former link key get one of the newest."""

from typing import Any

from django.core.management.base import BaseCommand

from scheduling.models import CrewPage, FeedLink
from scheduling.services.link_secrets import Secretive
from scheduling.services.links import rekey_link


class Command(BaseCommand):
    help = (
        "After COATWEAVE_LINK_KEY has changed, make a new address for every feed and crew's page "
        "of all companies. The addresses that were given out work on until they are renewed or "
        "revoked; the former key is not needed any more."
    )

    def handle(self, *_args: Any, **_options: Any) -> None:
        rows: list[Secretive] = [
            *FeedLink.objects.defer("body", "body_gzip"),
            *CrewPage.objects.all(),
        ]
        count = sum(rekey_link(link=row) for row in rows)
        self.stdout.write(f"{count} of {len(rows)} addresses are made with the newest key now")
