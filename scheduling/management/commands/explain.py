"""manage.py explain"""

import json
from dataclasses import asdict
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandError, CommandParser

from finishing.management.base import CompanyCommand
from finishing.models import Company, House
from scheduling.explain_wording import conflict_sentence, cure_sentence, not_worked_out
from scheduling.management.planning import positive
from scheduling.queries.plans import working_plan
from scheduling.services.explain_house import Explained, WhatHelps, explain_house
from scheduling.solver.outcome import Limits
from scheduling.wording import chain_sentence, handover_sentence, hold_sentence, lateness


class Command(CompanyCommand):
    help = "Say why a house is late, what one thing would help, and why held work has no place."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("house", metavar="HOUSE", help="its name")
        parser.add_argument("--seconds", type=positive, default=20.0, help="for all solves")
        parser.add_argument("--seed", type=int, default=1, help="seed of the search")
        parser.add_argument("--work", type=int, help="rounds instead of seconds: repeatable")
        parser.add_argument("--json", action="store_true", help="for another program")

    def work(self, company: Company, options: dict[str, Any]) -> None:
        house = House.objects.filter(company=company, name=options["house"]).first()
        plan = working_plan(company)
        if house is None:
            raise CommandError(f"{company} has no house {options['house']!r}")
        if plan is None:
            raise CommandError(f"{company} has no plan yet: use manage.py replan first")
        limits = Limits(
            seconds=options["seconds"],
            work=options["work"],
            workers=1 if options["work"] is not None else 2,
            seed=options["seed"],
        )
        explained = explain_house(company=company, house=house, plan=plan, limits=limits)
        holds = [row for row in plan.holds if row["house_id"] == str(house.public_id)]
        if options["json"]:
            self.stdout.write(json.dumps({**asdict(explained), "holds": holds}, indent=1))
            return
        self._write(house, explained, holds)

    def _write(self, house: House, explained: Explained, holds: list[dict[str, Any]]) -> None:
        zone = ZoneInfo(house.zone)
        for promise in explained.promises:
            self.stdout.write(handover_sentence(promise, zone))
            for link in promise.get("chain", []):
                self.stdout.write(f"  {chain_sentence(link, zone)}")
        if explained.promises:
            self._write_what_helps(explained.what_helps, zone)
        elif not holds:
            self.stdout.write(f"{house.name} is in time in the working plan")
        for hold in holds:
            self.stdout.write(f"hold: {hold_sentence(hold)}")
        for conflict in explained.conflicts:
            self.stdout.write(f"  {conflict_sentence(conflict)}")

    def _write_what_helps(self, found: WhatHelps, zone: ZoneInfo) -> None:
        if found.failure:
            self.stdout.write(not_worked_out(found.failure))
            return
        self.stdout.write(
            "worked out in the air of the plan as it is; manage.py replan works the air out anew:"
        )
        if not found.unchanged_minutes:
            self.stdout.write("planning again alone would bring it in time")
            return
        self.stdout.write(
            f"planned again as things are: {lateness(found.unchanged_minutes)} in all; "
            "what would help:"
        )
        for cure in found.cures:
            self.stdout.write(f"  {cure_sentence(cure, zone)}")
        if not found.cures:
            self.stdout.write("  nothing that was tried")
