"""The page of an area: a row a room, with what they come to."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from api.web.area_group import AreaGroup
from api.web.room_row import RoomRowForm
from api.web.totals_table import TotalsTable, totals_sentence, totals_table
from finishing.models import Area, Company, House
from scheduling.queries.edits import is_edited_since_planned
from scheduling.queries.removals import hanging_on
from scheduling.removal_wording import removal_sentences, surfaces_sentence
from scheduling.services.room_work import read_settings
from scheduling.services.work_totals import added, house_totals, room_totals


@dataclass(frozen=True)
class RowWork:
    """A row of the form with what its room comes to, "" where that cannot be said."""

    form: RoomRowForm
    comes_to: str


@dataclass(frozen=True)
class AreaWork:
    """What rows come to as typed, one by one, for the area and for the house."""

    rows: Sequence[RowWork]
    totals: TotalsTable


@dataclass(frozen=True)
class AreaPage:
    """All that the page shows. asks: what would go with rooms to be removed, to be confirmed."""

    house: House
    area: Area
    group: AreaGroup
    wrong: AreaGroup | None
    asks: Sequence[str]
    work: AreaWork
    is_edited_since: bool
    saved: bool


def area_page(
    company: Company, group: AreaGroup, *, wrong: bool = False, saved: bool = False
) -> AreaPage:
    """Return an area's page in a fixed number of queries, however many rooms."""
    names = [room.name for room in group.asks]
    asks = list(removal_sentences(names, hanging_on(company, group.asks))) if names else []
    if group.asks_surfaces:
        asks.append(surfaces_sentence(group.asks_surfaces))
    return AreaPage(
        house=group.house,
        area=group.area,
        group=group,
        wrong=group if wrong else None,
        asks=asks,
        work=area_work(company, group),
        is_edited_since=is_edited_since_planned(group.house),
        saved=saved,
    )


def area_work(company: Company, group: AreaGroup) -> AreaWork:
    """Return what the rows come to, as typed."""
    area, settings = group.area, read_settings(company)
    by_row = {key: room_totals(entry, area, settings) for key, entry in group.entries.items()}
    own = {room.pk for room in area.rooms.all()}
    others = [t for pk, t in house_totals(group.house, settings, without=own).items()]
    in_area = list(by_row.values())
    rows = [
        RowWork(row, totals_sentence(by_row[str(row.prefix)]) if str(row.prefix) in by_row else "")
        for row in group.rows
    ]
    columns = [(area.name, added(in_area)), (_("The house"), added([*in_area, *others]))]
    return AreaWork(rows, totals_table(columns))
