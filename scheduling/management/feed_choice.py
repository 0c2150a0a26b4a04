"""Which calendar feed a command is about: of a crew, a house, a person or the whole company."""

from typing import Any

from django.core.management.base import CommandError, CommandParser

from finishing.management.base import find_house
from finishing.models import Company, Crew
from finishing.services.errors import InputFaults
from finishing.services.staffing import members_named
from scheduling.models import FeedLink
from scheduling.services.links import blank_link


def add_subject(parser: CommandParser) -> None:
    """Let a command be told which feed it is about."""
    one = parser.add_mutually_exclusive_group(required=True)
    one.add_argument("crew", metavar="CREW", nargs="?", help="the crew's name")
    one.add_argument("--house", metavar="HOUSE", help="a house, for its builder")
    one.add_argument("--person", metavar="PERSON", help="somebody of a crew, wherever lent")
    one.add_argument("--all-crews", action="store_true", help="the whole company")


def chosen_feed(company: Company, options: dict[str, Any]) -> FeedLink:
    """Return the feed that the options name, not stored, with what is usual for one of its kind;
    end the command where there is nothing of that name."""
    if options["house"]:
        return blank_link(company=company, house=find_house(company, options["house"]))
    if options["person"]:
        try:
            members_named(company, options["person"])
        except InputFaults as error:
            raise CommandError(str(error.faults[0])) from None
        return blank_link(company=company, person=options["person"])
    if options["all_crews"]:
        return blank_link(company=company)
    return blank_link(company=company, crew=_crew(company, options["crew"]))


def _crew(company: Company, name: str) -> Crew:
    crews = {crew.name: crew for crew in Crew.objects.filter(company=company)}
    if name not in crews:
        known = ", ".join(crews) or "none yet"
        raise CommandError(f"{company} has no crew {name!r}; its crews: {known}")
    return crews[name]
