"""``manage.py extra CREW DAYS``: a crew works an extra day, or an hour more."""

from datetime import time
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from finishing.management.asked import Asked, days_in_words
from finishing.management.base import CompanyCommand
from finishing.models import Company
from finishing.services.company_log import OF_CREWS, logged
from finishing.services.day_list import asked_days
from finishing.services.errors import Fault, InputFaults
from finishing.services.staffing import add_extra_hours, crew_named, end_extra_hours


class Command(CompanyCommand):
    help = "Let a crew work more on some days, at the company's price for it; replan then."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("crew", metavar="CREW", help="the crew's name")
        parser.add_argument("days", metavar="DAYS", help='"2026-03-07; 2026-03-09..2026-03-11"')
        parser.add_argument(
            "--hours",
            metavar="07:00-12:00",
            help="on its clock; else an hour after its last on a working day, on any other day "
            "the hours of the working day before",
        )
        parser.add_argument("--back", action="store_true", help="no extra hours after all")

    def work(self, company: Company, options: dict[str, Any]) -> None:
        asked, text = Asked(), options["hours"]
        days = asked.read(lambda: asked_days(options["days"]))
        crew = asked.read(lambda: crew_named(company, options["crew"]))
        hours = asked.read(lambda: _hours(text)) if text else None
        asked.end_if_faulty(self.stderr)
        assert crew, "without one there is a fault"
        assert days, "without any there is a fault"
        if options["back"]:
            with logged(company, OF_CREWS, by=None, now=timezone.now()):
                end_extra_hours(crew=crew, days=days)
            self.stdout.write(f"{crew}: no extra hours on {days_in_words(len(days))}")
            return
        with logged(company, OF_CREWS, by=None, now=timezone.now()):
            rows = asked.read(lambda: add_extra_hours(crew=crew, days=days, hours=hours))
        asked.end_if_faulty(self.stderr)
        for row in rows or []:
            self.stdout.write(f"{crew}: {row.day} {row.start:%H:%M}-{row.end:%H:%M} as well")


def _hours(text: str) -> tuple[time, time]:
    """Read "07:00-12:00"; raise InputFaults."""
    try:
        start, end = (time.fromisoformat(part.strip()) for part in text.split("-"))
    except ValueError:
        raise InputFaults([Fault("hours", f"{text!r} is not written as 07:00-12:00")]) from None
    return start, end
