"""What a crew is called, where its clock stands, how it is spoken to: by its page, its calendar,
in messages."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from finishing.models import Company, Crew
from finishing.services.company_parts import CREW_FIELDS
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import change_row
from scheduling.models import FeedLink
from scheduling.models.link import retold

FACTS = CREW_FIELDS


def crew_fact_faults(
    company: Company, facts: Mapping[str, Any], crew: Crew | None = None
) -> Iterator[Fault]:
    """Yield what is wrong with facts of a crew, or of a new one; the place is the fact's name."""
    same = Crew.objects.filter(company=company, name=facts.get("name", "")).first()
    if same and same != crew:
        said = _("There is a crew %(name)s already: give this one another name.")
        yield Fault("name", said % {"name": facts["name"]})


@transaction.atomic
def add_crew(*, company: Company, facts: Mapping[str, Any]) -> Crew:
    """Make a crew; facts: values of ``FACTS``. Raises InputFaults for a name that is taken."""
    if faults := list(crew_fact_faults(company, facts)):
        raise InputFaults(faults)
    crew = Crew(company=company, **facts)
    crew.full_clean()
    crew.save()
    return crew


@transaction.atomic
def edit_crew_facts(*, crew: Crew, version: int, facts: Mapping[str, Any], now: datetime) -> Crew:
    """Set some of ``FACTS``; calendars, which say them, are made again.

    Raises InputFaults for a name that is taken, StaleRowsError where the crew has another version.
    """
    if faults := list(crew_fact_faults(crew.company, facts, crew)):
        raise InputFaults(faults)
    if change_row(crew, version=version, values=facts):
        of_all = Q(kind__in=(FeedLink.Kind.PERSON, FeedLink.Kind.COMPANY))
        links = FeedLink.objects.filter(company=crew.company_id)
        links.filter(Q(crew=crew) | of_all).update(**retold(now))
    return crew
