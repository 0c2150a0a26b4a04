"""``manage.py absent CREW DAYS``: a crew, or one member of it, is ill or away."""

from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from finishing.management.asked import Asked, days_in_words
from finishing.management.base import CompanyCommand
from finishing.models import Company, Crew, CrewMember
from finishing.services.company_log import OF_CREWS, logged
from finishing.services.day_list import asked_days
from finishing.services.errors import Fault, InputFaults
from finishing.services.staffing import crew_named, mark_away, mark_back


class Command(CompanyCommand):
    help = "Note that a crew, or one member of it, does not work on some days; replan then."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("crew", metavar="CREW", help="the crew's name")
        parser.add_argument("days", metavar="DAYS", help='"2026-03-05; 2026-03-09..2026-03-11"')
        parser.add_argument("--member", metavar="NAME", help="only this member of the crew")
        parser.add_argument("--reason", default="", help="such as: ill")
        parser.add_argument("--back", action="store_true", help="there after all on these days")

    def work(self, company: Company, options: dict[str, Any]) -> None:
        asked = Asked()
        days = asked.read(lambda: asked_days(options["days"]))
        crew = asked.read(lambda: crew_named(company, options["crew"]))
        member = asked.read(lambda: member_of(crew, options["member"])) if crew else None
        asked.end_if_faulty(self.stderr)
        assert crew, "without one there is a fault"
        assert days, "without any there is a fault"
        who = f"{member} of {crew}" if member else f"{crew}"
        if options["back"]:
            with logged(company, OF_CREWS, by=None, now=timezone.now()):
                count = mark_back(crew=crew, member=member, days=days)
            self.stdout.write(f"{who}: {days_in_words(count)} off taken back")
            return
        reason = options["reason"]
        with logged(company, OF_CREWS, by=None, now=timezone.now()):
            asked.read(lambda: mark_away(crew=crew, member=member, days=days, reason=reason))
        asked.end_if_faulty(self.stderr)
        self.stdout.write(f"{who}: away on {days_in_words(len(days))}")


def member_of(crew: Crew, name: str | None) -> CrewMember | None:
    """Return a crew's member, None where none is asked for; raise InputFaults with those there
    are."""
    members = list(crew.members.all())
    for member in members:
        if member.name == name:
            return member
    if not name:
        return None
    known = ", ".join(member.name for member in members) or "none yet"
    raise InputFaults([Fault("member", f"no {name!r} in {crew}; known: {known}")])
