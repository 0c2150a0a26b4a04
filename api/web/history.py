"""What has happened in a house, in one list, the newest first."""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from api.web.crew_words import extra_work_text, obstacle_words
from finishing.models import Company, House, Note
from scheduling.deed_wording import doer
from scheduling.history_wording import (
    change_sentence,
    report_sentence,
    revision_sentence,
    visit_sentence,
)
from scheduling.queries.history import Source, newest_first, rows_of, work_in
from scheduling.queries.reports import Said, said_of
from scheduling.wording import listed, moment

A_PAGE = 30
KINDS = {
    Source.VISIT: _("Visit"),
    Source.REPORT: _("Report"),
    Source.OBSTACLE: _("Obstacle"),
    Source.EXTRA_WORK: _("Extra work"),
    Source.NOTE: _("Note"),
    Source.CHANGE: _("Edit"),
    Source.REVISION: _("Published"),
}
ITS_OWN: Mapping[Source, tuple[str, ...]] = {
    Source.VISIT: ("crew",),
    Source.REPORT: ("crew",),
    Source.OBSTACLE: ("crew", "settled_by"),
    Source.EXTRA_WORK: ("crew", "settled_by"),
    Source.NOTE: ("area", "by", "struck_by"),
    Source.CHANGE: ("by",),
    Source.REVISION: ("publication",),
}
"""What is read along with the rows of each source."""


@dataclass(frozen=True)
class Event:
    """One thing that happened. who: a crew or somebody of the office, "" where nobody is known.
    note: the row of a note, which can be struck out; photo: the id of an obstacle's, if any;
    struck, settled: when and by whom, "" where it is not."""

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
    events: list[Event]
    page: Page[Any]


def history_page(company: Company, house: House, *, number: str, now: datetime) -> HistoryPage:
    """Return a page in a fixed number of queries; number: as typed, the nearest there is."""
    work = work_in(company, house)
    rows = rows_of(company, house, work, now)
    page = Paginator(newest_first(rows), A_PAGE).get_page(number)
    index = list(page)
    found = _found(index, rows)
    words = _Words(ZoneInfo(house.zone), work, _said(company, found))
    events = [words.event(Source(source), found[source, pk]) for _when, source, pk in index]
    return HistoryPage(house, events, page)


type Found = dict[tuple[str, int], Any]


def _found(
    index: Sequence[tuple[datetime, str, int]], rows: Mapping[Source, QuerySet[Any]]
) -> Found:
    """Return the rows of a page by source and primary key, in a query a source."""
    by_source: defaultdict[str, list[int]] = defaultdict(list)
    for _when, source, pk in index:
        by_source[source].append(pk)
    return {
        (source, row.pk): row
        for source, keys in by_source.items()
        for row in rows[Source(source)].select_related(*ITS_OWN[Source(source)]).filter(pk__in=keys)
    }


def _said(company: Company, found: Found) -> Mapping[str, Said]:
    visits = [row for (source, _pk), row in found.items() if source == Source.VISIT]
    return said_of(company, {task["key"] for row in visits for task in row.content["tasks"]})


@dataclass(frozen=True)
class _Words:
    zone: ZoneInfo
    work: Mapping[str, str]
    said: Mapping[str, Said]

    def event(self, source: Source, row: Any) -> Event:
        told: dict[Source, Callable[[Any], dict[str, Any]]] = {
            Source.VISIT: self._visit,
            Source.REPORT: self._report,
            Source.OBSTACLE: self._obstacle,
            Source.EXTRA_WORK: self._extra_work,
            Source.NOTE: self._note,
            Source.CHANGE: self._change,
            Source.REVISION: self._revision,
        }
        at = row.ends_at if source is Source.VISIT else row.at
        return Event(when=moment(at, self.zone), kind=str(KINDS[source]), **told[source](row))

    def _visit(self, row: Any) -> dict[str, Any]:
        return {"who": "", "text": visit_sentence(row, self.said, self.zone)}

    def _report(self, row: Any) -> dict[str, Any]:
        return {"who": row.crew.name, "text": report_sentence(row, self.work)}

    def _obstacle(self, row: Any) -> dict[str, Any]:
        photo = row.public_id if row.photo else None
        return {**self._from_crew(row), "text": obstacle_words(row), "photo": photo}

    def _extra_work(self, row: Any) -> dict[str, Any]:
        return {**self._from_crew(row), "text": extra_work_text(row)}

    def _from_crew(self, row: Any) -> dict[str, Any]:
        settled = self._moment_and_name(row.settled_at, row.settled_by)
        return {"who": row.crew.name, "settled": settled}

    def _note(self, row: Note) -> dict[str, Any]:
        text = f"{row.area.name}: {row.text}" if row.area else row.text
        struck = self._moment_and_name(row.struck_at, row.struck_by)
        return {"who": _name(row.by), "text": text, "note": row, "struck": struck}

    def _moment_and_name(self, at: datetime | None, by: object) -> str:
        return listed([moment(at, self.zone), _name(by)]) if at else ""

    def _change(self, row: Any) -> dict[str, Any]:
        return {"who": doer(row.by, row.program), "text": change_sentence(row, self.zone)}

    def _revision(self, row: Any) -> dict[str, Any]:
        return {"who": "", "text": revision_sentence(row, self.zone)}


def _name(person: object) -> str:
    return str(person) if person else ""
