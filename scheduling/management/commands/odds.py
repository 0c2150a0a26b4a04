"""manage.py odds"""

import argparse
import json
from dataclasses import asdict
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandError, CommandParser

from finishing.management.base import CompanyCommand
from finishing.models import Company
from finishing.rules.histories import LEAST_DAYS
from scheduling.management.planning import add_today, counting, moment_of
from scheduling.odds_wording import drawn_from_sentence, odds_sentence
from scheduling.services.odds import HISTORIES, NothingPlannedError, PlanOdds, current_odds
from scheduling.services.source_histories import TooLittleAirError

MOST_HISTORIES = 5_000
"""More take gigabytes of memory and tell nothing new: 5,000 give a share to within 1.4 %."""


class Command(CompanyCommand):
    help = "Say how likely each handover is, given what the air may still do, and what day holds."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        add_today(parser)
        parser.add_argument("--seed", type=counting, default=1, help="seed of the draw")
        parser.add_argument(
            "--histories",
            type=_histories,
            default=HISTORIES,
            help=f"of the air, drawn from its record: {HISTORIES} to {MOST_HISTORIES}",
        )
        parser.add_argument("--json", action="store_true", help="for another program")

    def work(self, company: Company, options: dict[str, Any]) -> None:
        now = moment_of(company, options["today"])
        try:
            odds = current_odds(
                company=company,
                now=now,
                seed=options["seed"],
                histories=options["histories"],
            )
        except NothingPlannedError:
            raise CommandError(
                f"{company} has no work to come: use manage.py replan first"
            ) from None
        except TooLittleAirError as error:
            raise CommandError(f"{error}, at least {LEAST_DAYS} are needed") from None
        if options["json"]:
            self.stdout.write(json.dumps(asdict(odds), default=str, indent=1))
        else:
            self._write(odds, now, ZoneInfo(company.zone))

    def _write(self, odds: PlanOdds, now: datetime, zone: ZoneInfo) -> None:
        for handover in odds.handovers:
            self.stdout.write(odds_sentence(handover))
        self.stdout.write(
            f"in {odds.histories} histories of the air, every crew in the order of its plan: "
            f"{odds.mean_late_days:.1f} weighted days late on average, "
            f"{odds.mean_in_vain:.1f} visits find a coat not ready"
        )
        for ensemble in odds.ensembles:
            self.stdout.write(drawn_from_sentence(ensemble, now, zone))


def _histories(text: str) -> int:
    """Return how many histories are asked for; argparse reports too few and too many."""
    if HISTORIES <= (count := counting(text)) <= MOST_HISTORIES:
        return count
    raise argparse.ArgumentTypeError(f"{text} is not from {HISTORIES} to {MOST_HISTORIES}")
