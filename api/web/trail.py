"""What the page of the trail shows: who told crews what, who let whom in, the newest first."""

from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.core.paginator import Page, Paginator
from django.utils.translation import gettext as _

from finishing.models import Company, Deed
from finishing.queries.people import deeds_of
from scheduling.deed_wording import deed_sentence, doer
from scheduling.wording import moment

A_PAGE = 50


@dataclass(frozen=True)
class DeedLine:
    """One deed."""

    when: str
    who: str
    text: str


@dataclass(frozen=True)
class TrailPage:
    """A page of deeds; page: its number and how many there are."""

    zone: str
    deeds: list[DeedLine]
    page: Page[Any]


def trail_page(company: Company, number: str) -> TrailPage:
    """Return a page of the trail; number: as typed, the nearest there is."""
    page = Paginator(deeds_of(company), A_PAGE).get_page(number)
    zone = ZoneInfo(company.zone)
    deeds = [DeedLine(moment(row.at, zone), _who(row), deed_sentence(row, zone)) for row in page]
    return TrailPage(company.zone, deeds, page)


def _who(deed: Deed) -> str:
    return doer(deed.by_email, deed.program) or _("a command, or by itself")
