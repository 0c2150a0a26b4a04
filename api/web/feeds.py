"""Each crew's calendar and phone page: their addresses, and whether anybody fetches them."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from finishing.models import Company, Crew
from scheduling.models import FeedLink
from scheduling.queries.links import links_of_company
from scheduling.queries.plans import latest_publication
from scheduling.services.links import feed_address, page_address, webcal_address
from scheduling.wording import moment


@dataclass(frozen=True)
class FeedLine:
    """A crew and its link, None where it has none. Addresses are blank where it is revoked.

    fetched: when, in the company's zone, blank for never. is_behind: no calendar has fetched
    what was published last.
    """

    crew: Crew
    link: FeedLink | None
    fetched: str = ""
    revoked: str = ""
    https: str = ""
    webcal: str = ""
    page: str = ""
    is_behind: bool = False


@dataclass(frozen=True)
class FeedsPage:
    """published: when crews were told last, blank where they were not yet."""

    lines: list[FeedLine]
    published: str


def feeds_page(company: Company) -> FeedsPage:
    """Return the page: a line for each crew, those that get no new work last."""
    links = {link.crew_id: link for link in links_of_company(company).defer("body")}
    latest = latest_publication(company)
    told_at = latest.published_at if latest else None
    zone = ZoneInfo(company.zone)
    crews = Crew.objects.filter(company=company).order_by("-is_active", "name")
    return FeedsPage(
        lines=[feed_line(crew, links.get(crew.pk), told_at, zone) for crew in crews],
        published=moment(told_at, zone) if told_at else "",
    )


def feed_line(
    crew: Crew, link: FeedLink | None, told_at: datetime | None, zone: ZoneInfo
) -> FeedLine:
    """Return the line of a crew; told_at: when crews were told last."""
    if link is None:
        return FeedLine(crew, None)
    fetched = moment(link.fetched_at, zone) if link.fetched_at else ""
    if link.revoked_at:
        return FeedLine(crew, link, fetched, revoked=moment(link.revoked_at, zone))
    return FeedLine(
        crew,
        link,
        fetched,
        https=feed_address(link),
        webcal=webcal_address(link),
        page=page_address(link),
        is_behind=told_at is not None and (link.fetched_at is None or link.fetched_at < told_at),
    )
