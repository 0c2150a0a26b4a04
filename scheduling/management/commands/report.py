"""``manage.py report``: what a crew says of its work."""

import argparse
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandParser

from finishing.management.asked import Asked
from finishing.management.base import CompanyCommand
from finishing.models import Company
from finishing.services.staffing import crew_named
from scheduling.management.clocks import latest_moment, time_in
from scheduling.management.planning import add_today
from scheduling.models import Report
from scheduling.services.named_work import WorkName, find_work
from scheduling.services.reported import stage_key_of
from scheduling.services.reports import Statement, report_work
from scheduling.wording import moment

KINDS = {
    "started": Report.Kind.STARTED,
    "done": Report.Kind.DONE,
    "not_done": Report.Kind.NOT_DONE,
    "not_dry": Report.Kind.NOT_DRY,
    "under_way": Report.Kind.LEFT,
}
"""Options, each with a time, and what they say."""
WORDS = {
    Report.Kind.STARTED: "started",
    Report.Kind.LEFT: "under way",
    Report.Kind.DONE: "done",
    Report.Kind.NOT_DONE: "not done",
    Report.Kind.NOT_DRY: "not dry",
}


class Command(CompanyCommand):
    help = "Note what a crew says of its work; the next replan goes by it."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("crew", metavar="CREW", help="the crew's name")
        parser.add_argument("house", metavar="HOUSE", help="the house's name")
        parser.add_argument(
            "work", metavar="WORK", help="a stage (tape, second, finish, sand ...) or an odd job"
        )
        parser.add_argument("--area", action="append", default=[], help="only of this area")
        parser.add_argument("--room", action="append", default=[], help="only of this room")
        parser.add_argument("--part", type=_minutes, help="which part of a long room's work")
        says = parser.add_mutually_exclusive_group(required=True)
        says.add_argument("--started", metavar="TIME", help="work began then")
        says.add_argument("--done", metavar="TIME", help="it was done then")
        says.add_argument("--under-way", metavar="TIME", help="with --left: how far it was then")
        says.add_argument("--not-done", metavar="TIME", help="the crew left without doing it")
        says.add_argument("--not-dry", metavar="TIME", help="this coat was found not dry, or set")
        parser.add_argument("--left", type=_minutes, metavar="MINUTES", help="work still to do")
        parser.add_argument("--again", metavar="TIME", help="with --not-dry: when to look again")
        add_today(parser)

    def work(self, company: Company, options: dict[str, Any]) -> None:
        asked = Asked()
        crew = asked.read(lambda: crew_named(company, options["crew"]))
        zone = crew.zone if crew else company.zone
        said = _statement(asked, zone, options)
        name = WorkName(options["house"], options["work"], options["area"], options["room"])
        work = asked.read(lambda: find_work(company=company, name=name))
        reports: list[Report] | None = None
        if crew and said and work:
            now = latest_moment(zone, options["today"])
            reports = asked.read(
                lambda: report_work(company=company, crew=crew, work=work, said=said, now=now)
            )
        asked.end_if_faulty(self.stderr)
        names = {piece.key: piece.name for piece in work or []}
        for report in reports or []:
            self.stdout.write(f"{names[stage_key_of(report.key)]}: {_said(report, zone)}")
        self.stdout.write("manage.py replan plans with it")


def _statement(asked: Asked, zone: str, options: dict[str, Any]) -> Statement | None:
    option = next(name for name in KINDS if options[name])
    again, today = options["again"], options["today"]
    at = asked.read(lambda: time_in(options[option], zone, today))
    again_at = asked.read(lambda: time_in(again, zone, today)) if again else None
    if at is None:
        return None
    return Statement(KINDS[option], at, options["left"], again_at, options["part"])


def _said(report: Report, zone: str) -> str:
    left = "" if report.minutes_left is None else f", {report.minutes_left} minutes left"
    part = f" (part {report.about['part'][0]})" if report.about.get("part", [1, 1])[1] > 1 else ""
    return f"{WORDS[Report.Kind(report.kind)]}{part} {moment(report.at, ZoneInfo(zone))}{left}"


def _minutes(text: str) -> int:
    """Return a whole number from 0 to a week of minutes; argparse reports anything else."""
    if not text.isdecimal() or int(text) > 7 * 24 * 60:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number")
    return int(text)
