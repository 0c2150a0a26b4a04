"""Calendars and crews' phone pages: their addresses, who follows them, who has the newest plan."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from api.web.link_form import options_said
from finishing.models import Company, Crew, CrewMember, House
from finishing.queries.houses import by_name
from scheduling.models import CrewPage, FeedLink
from scheduling.queries.links import links_of_company, pages_of
from scheduling.queries.reached import NewestReached, newest_reached
from scheduling.services.links import feed_address, page_address, webcal_address
from scheduling.wording import moment

Kind = FeedLink.Kind


@dataclass(frozen=True)
class FeedLine:
    """A calendar. Addresses are blank where it is revoked, or where they cannot be shown again.

    fetched: when, in the company's zone, blank for never. is_behind: the newest publication has
    not been fetched.
    """

    link: FeedLink
    options: str
    fetched: str
    revoked: str
    https: str
    webcal: str
    is_behind: bool


@dataclass(frozen=True)
class PageLine:
    """A crew with its page for a phone, None where it has none; address: as of ``FeedLine``."""

    crew: Crew
    page: CrewPage | None
    revoked: str
    address: str


@dataclass(frozen=True)
class ReachedLine:
    """A crew that gets work: whether a calendar has the newest publication, and when the crew said
    that it has seen it, blank for not yet."""

    crew: Crew
    has_fetched: bool
    seen: str


@dataclass(frozen=True)
class FeedsPage:
    """published: when crews were told last, blank where they were not yet. groups: calendars under
    the name of what they are of; subjects: what another may be of, by group."""

    published: str
    reached: Sequence[ReachedLine]
    pages: Sequence[PageLine]
    groups: Sequence[tuple[str, Sequence[FeedLine]]]
    subjects: Sequence[tuple[str, Sequence[tuple[str, str]]]]


def feeds_page(company: Company) -> FeedsPage:
    """Return the page, in a fixed number of queries."""
    zone, reached = ZoneInfo(company.zone), newest_reached(company)
    crews = list(Crew.objects.filter(company=company).order_by("-is_active", "name"))
    return FeedsPage(
        published=moment(reached.publication.published_at, zone) if reached else "",
        reached=_reached_lines(reached, zone),
        pages=_page_lines(crews, zone),
        groups=_groups(links_of_company(company), reached, zone),
        subjects=_subjects(company, crews),
    )


def _reached_lines(reached: NewestReached | None, zone: ZoneInfo) -> list[ReachedLine]:
    return [
        ReachedLine(one.crew, one.has_fetched, moment(one.seen_at, zone) if one.seen_at else "")
        for one in (reached.crews if reached else ())
    ]


def _page_lines(crews: Sequence[Crew], zone: ZoneInfo) -> list[PageLine]:
    pages = pages_of(crews)
    return [_page_line(crew, pages.get(crew.pk), zone) for crew in crews]


def _page_line(crew: Crew, page: CrewPage | None, zone: ZoneInfo) -> PageLine:
    if page is None:
        return PageLine(crew, None, "", "")
    if page.revoked_at:
        return PageLine(crew, page, moment(page.revoked_at, zone), "")
    return PageLine(crew, page, "", page_address(page))


def _groups(
    links: Iterable[FeedLink], reached: NewestReached | None, zone: ZoneInfo
) -> list[tuple[str, list[FeedLine]]]:
    names = {
        Kind.CREW: _("Calendars of crews"),
        Kind.HOUSE: _("Calendars of houses, for builders"),
        Kind.PERSON: _("Calendars of people"),
        Kind.COMPANY: _("Calendars of the whole company"),
    }
    newest = reached.publication.revision if reached else 0
    lines = [feed_line(link, newest, zone) for link in links]
    return [
        (name, mine)
        for kind, name in names.items()
        if (mine := [line for line in lines if line.link.kind == kind])
    ]


def feed_line(link: FeedLink, newest: int, zone: ZoneInfo) -> FeedLine:
    """Return the line of a calendar; newest: the newest revision, 0 where there is none."""
    return FeedLine(
        link=link,
        options=options_said(link),
        fetched=moment(link.fetched_at, zone) if link.fetched_at else "",
        revoked=moment(link.revoked_at, zone) if link.revoked_at else "",
        https="" if link.revoked_at else feed_address(link),
        webcal="" if link.revoked_at else webcal_address(link),
        is_behind=not link.revoked_at and link.fetched_revision < newest,
    )


def _subjects(company: Company, crews: Sequence[Crew]) -> list[tuple[str, list[tuple[str, str]]]]:
    """Return what a calendar may be of, by group: its value in an address, and its name."""
    houses = by_name(House.objects.filter(company=company, is_active=True))
    people = CrewMember.objects.filter(company=company, crew__is_active=True)
    names = people.order_by("name").values_list("name", flat=True).distinct()
    return [
        (_("A house, for its builder"), [(f"house:{row.public_id}", row.name) for row in houses]),
        (_("A crew"), [(f"crew:{row.public_id}", row.name) for row in crews if row.is_active]),
        (_("Somebody, wherever lent"), [(f"person:{name}", name) for name in names]),
        (_("All crews"), [("company:", company.name)]),
    ]
