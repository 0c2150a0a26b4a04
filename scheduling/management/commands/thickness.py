"""``manage.py thickness HOUSE``: coats found wet there, and how slowly coats are taken to dry."""

from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandParser

from finishing.management.asked import Asked
from finishing.management.base import CompanyCommand, find_house
from finishing.models import Company
from scheduling.management.clocks import latest_moment
from scheduling.management.planning import add_today, counting
from scheduling.services.shown_looks import looks_to_show, set_looks_aside
from scheduling.thickness_wording import factor_sentence, look_sentence


class Command(CompanyCommand):
    help = "Show which coats crews found wet in a house, and how much longer coats dry for it."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("house", metavar="HOUSE", help="the house's name")
        change = parser.add_mutually_exclusive_group()
        change.add_argument(
            "--set-aside", nargs="+", type=counting, metavar="NUMBER", help="no longer count these"
        )
        change.add_argument(
            "--count-again", nargs="+", type=counting, metavar="NUMBER", help="count these again"
        )
        add_today(parser)

    def work(self, company: Company, options: dict[str, Any]) -> None:
        house, asked = find_house(company, options["house"]), Asked()
        now = latest_moment(house.zone, options["today"])
        if numbers := options["set_aside"] or options["count_again"]:
            aside = bool(options["set_aside"])
            changed = asked.read(
                lambda: set_looks_aside(house=house, numbers=numbers, aside=aside, now=now)
            )
            asked.end_if_faulty(self.stderr)
            if changed:
                self.stdout.write("manage.py replan plans with it")
        shown = looks_to_show(house=house, now=now)
        if shown is None:
            self.stdout.write(f"{house}: no coat was found wet")
            return
        zone = ZoneInfo(house.zone)
        for look in shown.looks:
            self.stdout.write(f"{look.number}. {look_sentence(look, zone)}")
        self.stdout.write(factor_sentence(shown, zone))
