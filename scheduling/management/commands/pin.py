"""``manage.py pin``: work that is to be done by one crew at one time."""

from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from finishing.management.asked import Asked
from finishing.management.base import CompanyCommand
from finishing.models import Company
from finishing.services.staffing import crew_named
from scheduling.management.clocks import time_in
from scheduling.management.planning import add_today, moment_of
from scheduling.services.named_pins import named_pins
from scheduling.services.named_work import WorkName, find_work
from scheduling.services.pins import PinWanted, end_pins, pin_work
from scheduling.wording import listed, moment


class Command(CompanyCommand):
    help = "Pin work to a crew and a time, list what is pinned, or let it move again."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("house", metavar="HOUSE", nargs="?", help="the house's name")
        parser.add_argument(
            "work",
            metavar="WORK",
            nargs="?",
            help="a stage (tape, second, finish, sand ...) or an odd job",
        )
        parser.add_argument("--area", action="append", default=[], help="only of this area")
        parser.add_argument("--room", action="append", default=[], help="only of this room")
        parser.add_argument("--crew", help="the crew's name")
        parser.add_argument("--at", metavar="TIME", help="when its work begins, after set-up")
        parser.add_argument("--end", action="store_true", help="let the work move again")
        parser.add_argument("--list", action="store_true", help="list what is pinned")
        add_today(parser)

    def work(self, company: Company, options: dict[str, Any]) -> None:
        if options["list"]:
            self._list(company, options)
        elif options["end"]:
            self._end(company, _required(options, "house", "work"))
        else:
            self._pin(company, _required(options, "house", "work", "crew", "at"))

    def _list(self, company: Company, options: dict[str, Any]) -> None:
        now = moment_of(company, options["today"])
        pins = named_pins(company=company, now=now)
        for named in pins:
            pin = named.pin
            at = moment(pin.starts_at, ZoneInfo(pin.crew.zone))
            name = listed([named.house, named.work]) or pin.key
            self.stdout.write(f"{name}: {pin.crew}, {at}")
        if not pins:
            self.stdout.write("nothing is pinned")

    def _end(self, company: Company, options: dict[str, Any]) -> None:
        asked = Asked()
        work = asked.read(lambda: find_work(company=company, name=_name(options)))
        asked.end_if_faulty(self.stderr)
        count = end_pins(company=company, work=work or [], now=timezone.now())
        self.stdout.write(f"{count} pins ended")

    def _pin(self, company: Company, options: dict[str, Any]) -> None:
        asked, today = Asked(), options["today"]
        crew = asked.read(lambda: crew_named(company, options["crew"]))
        zone = crew.zone if crew else company.zone
        at = asked.read(lambda: time_in(options["at"], zone, today))
        work = asked.read(lambda: find_work(company=company, name=_name(options)))
        if crew and at and work:
            wanted = PinWanted(company, crew, work, at)
            now = moment_of(company, today)
            pins = asked.read(lambda: pin_work(wanted=wanted, now=now))
        asked.end_if_faulty(self.stderr)
        assert pins, "no pin without a fault"
        first = moment(pins[0].starts_at, ZoneInfo(zone))
        self.stdout.write(f"{len(pins)} tasks pinned: {crew}, from {first}")
        self.stdout.write("manage.py replan plans around it")


def _name(options: dict[str, Any]) -> WorkName:
    return WorkName(options["house"], options["work"], options["area"], options["room"])


def _required(options: dict[str, Any], *names: str) -> dict[str, Any]:
    missing = [name for name in names if not options[name]]
    if missing:
        raise CommandError(f"needed: {', '.join(missing)}")
    return options
