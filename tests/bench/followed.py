"""Calendars that are followed, thousands of them, with the bytes of a few."""

from typing import TYPE_CHECKING

from tests.bench.copies import copy_company

if TYPE_CHECKING:
    from finishing.models import Company


def followed_companies(template: "Company", feeds: int) -> list[str]:
    """Copy a company with its crews and their calendars, which were rendered today, until there are
    so many calendars; return the addresses of all."""
    from finishing.models import Company, Crew
    from scheduling.models import FeedLink
    from scheduling.services.links import feed_address

    of_one = FeedLink.objects.filter(company=template).count()
    copy_company(template, -(-feeds // of_one) - 1, [Company, Crew, FeedLink])
    return [feed_address(link) for link in FeedLink.objects.order_by("pk")[:feeds]]
