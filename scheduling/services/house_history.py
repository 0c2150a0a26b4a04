"""What has happened in a house, in words: visits, reports, edits, notes, publications."""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from finishing.models import Company, House, Note
from scheduling.crew_word_wording import extra_work_text, obstacle_text
from scheduling.deed_wording import doer
from scheduling.history_wording import (
    change_sentence,
    report_sentence,
    revision_sentence,
    visit_sentence,
)
from scheduling.queries.history import Index, Place, Source, newest_first, rows_of, work_in
from scheduling.queries.reports import Said, said_of

ITS_OWN: Mapping[Source, tuple[str, ...]] = {
    Source.VISIT: ("crew",),
    Source.REPORT: ("crew",),
    Source.OBSTACLE: ("crew", "settled_by"),
    Source.EXTRA_WORK: ("crew", "settled_by"),
    Source.NOTE: ("area", "by", "struck_by"),
    Source.EDIT: ("by",),
    Source.REVISION: ("publication",),
}
"""What is read along with the rows of each source."""


@dataclass(frozen=True)
class Event:
    """One thing that happened, and the row that tells of it. who: a crew or somebody of the
    office, "" where nobody is known. ended_at, ended_by: when and by whom a note was struck out,
    or what a crew said was settled."""

    at: datetime
    source: Source
    row: Any
    who: str
    text: str
    ended_at: datetime | None = None
    ended_by: str = ""


@dataclass(frozen=True)
class HouseHistory:
    """All that tells of a house. work: names of its rooms and jobs; rows: by their source."""

    house: House
    work: Mapping[str, str]
    rows: Mapping[Source, QuerySet[Any]]

    def index(
        self, sources: Collection[Source] = tuple(Source), *, after: Place | None = None
    ) -> Index:
        """Return of some sources all that happened, or what comes after a place in that list, the
        newest first, as one query."""
        return newest_first({source: self.rows[source] for source in sources}, after)

    def events(self, places: Iterable[Place]) -> list[Event]:
        """Return events by their places in the index, in a query a source and one more."""
        places = list(places)
        found = self._found(places)
        visits = [row for (source, _pk), row in found.items() if source == Source.VISIT]
        keys = {task["key"] for row in visits for task in row.content["tasks"]}
        words = _Words(ZoneInfo(self.house.zone), self.work, said_of(self.house.company, keys))
        return [
            words.event(at, Source(source), found[source, pk])
            for at, source, pk in places
            if (source, pk) in found
        ]

    def _found(self, places: Iterable[Place]) -> dict[tuple[str, int], Any]:
        """Return rows by source and primary key."""
        by_source: defaultdict[Source, list[int]] = defaultdict(list)
        for _at, source, pk in places:
            by_source[Source(source)].append(pk)
        return {
            (source, row.pk): row
            for source, keys in by_source.items()
            for row in self.rows[source].select_related(*ITS_OWN[source]).filter(pk__in=keys)
        }


def house_history(*, company: Company, house: House, now: datetime) -> HouseHistory:
    """Return the history of a house up to now, read in two queries as far as it is not asked."""
    work = work_in(company, house)
    return HouseHistory(house, work, rows_of(company, house, work, now))


@dataclass(frozen=True)
class _Words:
    zone: ZoneInfo
    work: Mapping[str, str]
    said: Mapping[str, Said]

    def event(self, at: datetime, source: Source, row: Any) -> Event:
        told: dict[Source, Callable[[Any], dict[str, Any]]] = {
            Source.VISIT: self._visit,
            Source.REPORT: self._report,
            Source.OBSTACLE: self._obstacle,
            Source.EXTRA_WORK: self._extra_work,
            Source.NOTE: self._note,
            Source.EDIT: self._edit,
            Source.REVISION: self._revision,
        }
        return Event(at=at, source=source, row=row, **told[source](row))

    def _visit(self, row: Any) -> dict[str, Any]:
        return {"who": "", "text": visit_sentence(row, self.said, self.zone)}

    def _report(self, row: Any) -> dict[str, Any]:
        return {"who": row.crew.name, "text": report_sentence(row, self.work)}

    def _obstacle(self, row: Any) -> dict[str, Any]:
        return {**self._from_crew(row), "text": obstacle_text(row)}

    def _extra_work(self, row: Any) -> dict[str, Any]:
        return {**self._from_crew(row), "text": extra_work_text(row)}

    def _from_crew(self, row: Any) -> dict[str, Any]:
        ended = {"ended_at": row.settled_at, "ended_by": _name(row.settled_by)}
        return {"who": row.crew.name, **ended}

    def _note(self, row: Note) -> dict[str, Any]:
        text = f"{row.area.name}: {row.text}" if row.area else row.text
        ended = {"ended_at": row.struck_at, "ended_by": _name(row.struck_by)}
        return {"who": _name(row.by), "text": text, **ended}

    def _edit(self, row: Any) -> dict[str, Any]:
        return {"who": doer(row.by, row.program), "text": change_sentence(row, self.zone)}

    def _revision(self, row: Any) -> dict[str, Any]:
        return {"who": "", "text": revision_sentence(row, self.zone)}


def _name(person: object) -> str:
    return str(person) if person else ""
