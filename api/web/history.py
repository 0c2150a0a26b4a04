"""What has happened in a house, in one list, the newest first."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.core.paginator import Page, Paginator
from django.utils.translation import gettext_lazy as _

from finishing.models import Company, House, Note
from scheduling.queries.history import Source
from scheduling.services.house_history import Event, house_history
from scheduling.wording import listed, moment

A_PAGE = 30
KINDS = {
    Source.VISIT: _("Visit"),
    Source.REPORT: _("Report"),
    Source.OBSTACLE: _("Obstacle"),
    Source.EXTRA_WORK: _("Extra work"),
    Source.NOTE: _("Note"),
    Source.EDIT: _("Edit"),
    Source.REVISION: _("Published"),
}


@dataclass(frozen=True)
class EventLine:
    """An event as the page shows it. note: the row of a note, which can be struck out; photo: the
    id of an obstacle's, if any; struck, settled: when and by whom, "" where it is not."""

    when: str
    kind: str
    who: str
    text: str
    note: Note | None = None
    struck: str = ""
    settled: str = ""
    photo: object = None


@dataclass(frozen=True)
class HistoryPage:
    """A page of a house's history. page: its number and how many there are."""

    house: House
    events: list[EventLine]
    page: Page[Any]


def history_page(company: Company, house: House, *, number: str, now: datetime) -> HistoryPage:
    """Return a page in a fixed number of queries; number: as typed, the nearest there is."""
    history = house_history(company=company, house=house, now=now)
    page = Paginator(history.index(), A_PAGE).get_page(number)
    zone = ZoneInfo(house.zone)
    return HistoryPage(house, [_line(event, zone) for event in history.events(page)], page)


def _line(event: Event, zone: ZoneInfo) -> EventLine:
    row, is_note = event.row, event.source is Source.NOTE
    has_photo = event.source is Source.OBSTACLE and row.photo
    ended = listed([moment(event.ended_at, zone), event.ended_by]) if event.ended_at else ""
    return EventLine(
        when=moment(event.at, zone),
        kind=str(KINDS[event.source]),
        who=event.who,
        text=event.text,
        note=row if is_note else None,
        struck=ended if is_note else "",
        settled="" if is_note else ended,
        photo=row.public_id if has_photo else None,
    )
