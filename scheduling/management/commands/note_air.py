"""``manage.py note_air``: a reading taken inside a house."""

from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from finishing.management.asked import Asked
from finishing.management.base import CompanyCommand, find_house
from finishing.models import Company
from finishing.services.readings import checked_reading, note_reading
from scheduling.management.clocks import latest_moment, time_in
from scheduling.management.planning import add_today, figure


class Command(CompanyCommand):
    help = "Note the temperature and humidity read inside a house; it counts for some hours."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("house", metavar="HOUSE", help="the house's name")
        parser.add_argument("temperature", type=figure, metavar="TEMPERATURE")
        parser.add_argument("humidity", type=figure, metavar="PERCENT")
        parser.add_argument("--unit", choices=("C", "F"), default="C", help="of the temperature")
        parser.add_argument("--at", metavar="TIME", help="on the house's clock (default: now)")
        add_today(parser)

    def work(self, company: Company, options: dict[str, Any]) -> None:
        house = find_house(company, options["house"])
        asked, today = Asked(), options["today"]
        latest, at = latest_moment(house.zone, today), timezone.now()
        if options["at"]:
            at = asked.read(lambda: time_in(options["at"], house.zone, today)) or latest
        reading = asked.read(
            lambda: checked_reading(
                temperature=options["temperature"],
                unit=options["unit"],
                humidity_percent=options["humidity"],
                at=at,
                now=latest,
            )
        )
        asked.end_if_faulty(self.stderr)
        if reading:
            note_reading(house=house, reading=reading, at=at)
            self.stdout.write(
                f"{house}: {reading.temperature_c:g} C, {reading.humidity * 100:g} %;"
                " manage.py replan plans with it"
            )
