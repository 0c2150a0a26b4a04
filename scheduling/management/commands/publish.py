"""``manage.py publish``: the working plan becomes what the crews see."""

from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandError, CommandParser

from finishing.management.base import CompanyCommand
from finishing.models import Company
from scheduling.management.planning import add_today, moment_of
from scheduling.queries.links import links_of_company
from scheduling.services.links import feed_address
from scheduling.services.publish import PublishError, PublishResult, publish_plan
from scheduling.wording import listed, moment, readiness_name


class Command(CompanyCommand):
    help = "Publish the working plan to the crews' calendars."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        add_today(parser)

    def work(self, company: Company, options: dict[str, Any]) -> None:
        try:
            result = publish_plan(company=company, now=moment_of(company, options["today"]))
        except PublishError as error:
            raise CommandError(str(error)) from None
        for line in _summary(result):
            self.stdout.write(line)
        for link in links_of_company(company):
            state = "ended" if link.revoked_at else feed_address(link)
            self.stdout.write(f"{link}: {state}")


def _summary(result: PublishResult) -> list[str]:
    revision = result.publication.revision
    first = f"published revision {revision}" if result.is_new else f"revision {revision} stands"
    counts = {
        "new": len(result.new),
        "moved": len(result.moved),
        "cancelled": len(result.cancelled),
        "unchanged": result.unchanged,
        "held back": len(result.held_back),
    }
    lines = [f"{first}: " + ", ".join(f"{count} {word}" for word, count in counts.items())]
    for held in result.held_back:
        block = held.block
        starts = moment(block.starts_at, ZoneInfo(block.crew.zone))
        missing = listed([readiness_name(item) for item in held.items])
        reason = f"not ready: {missing}" if missing else "comes after work that is held back"
        lines.append(f"held back: {block.crew}, {block.house}, {starts}: {reason}")
    return lines
