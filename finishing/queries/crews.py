"""Crews with all that planning reads of them."""

from collections.abc import Iterable

from django.db.models import prefetch_related_objects

from finishing.models import Company, Crew

_PEOPLE = ("days_off", "members__days_off", "members__loans", "borrowed__member__days_off")


def crews_for_planning(company: Company) -> list[Crew]:
    """Return the company's crews by name, those that get no new work among them.

    A fixed number of queries, however many crews. Of each: hours, extra hours, days off, members
    and those it borrows, each with the days on which they are away.
    """
    return list(
        Crew.objects.filter(company=company)
        .select_related("company")
        .prefetch_related("hours", "extra_hours", *_PEOPLE)
    )


def read_people(crews: Iterable[Crew]) -> None:
    """Read who works with some crews on which day, in a fixed number of queries."""
    prefetch_related_objects([*crews], *_PEOPLE)
