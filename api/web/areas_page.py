"""The page of a house's areas: jointing, the areas in order, and what each comes to."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from api.web.areas_group import AreaForm, AreasGroup
from api.web.totals_table import TotalsTable, totals_sentence, totals_table
from finishing.models import Company, House
from scheduling.queries.edits import is_edited_since_planned
from scheduling.queries.removals import hanging_on
from scheduling.removal_wording import removal_sentences
from scheduling.services.room_work import read_settings
from scheduling.services.work_totals import added, house_for_totals, house_totals


@dataclass(frozen=True)
class AreaRow:
    """A row of the form with what the area comes to, as stored."""

    form: AreaForm
    comes_to: str


@dataclass(frozen=True)
class AreasPage:
    """All that the page shows. asks: what would go with areas to be removed, to be confirmed."""

    house: House
    group: AreasGroup
    rows: Sequence[AreaRow]
    totals: TotalsTable
    wrong: AreasGroup | None
    asks: Sequence[str]
    is_edited_since: bool
    saved: bool


def areas_page(
    company: Company, group: AreasGroup, *, wrong: bool = False, saved: bool = False
) -> AreasPage:
    """Return the page of a house's areas in a fixed number of queries."""
    house = house_for_totals(company, pk=group.house.pk) if group.stale else group.house
    by_room = house_totals(house, read_settings(company))
    by_area = {
        area.pk: added(by_room[room.pk] for room in area.rooms.all()) for area in house.areas.all()
    }
    names = [area.name for area in group.going]
    asks = removal_sentences(names, hanging_on(company, group.asks)) if names else ()
    return AreasPage(
        house=group.house,
        group=group,
        rows=[
            AreaRow(row, totals_sentence(by_area[row.area.pk]) if row.area else "")
            for row in group.rows
        ],
        totals=totals_table([(_("The house"), added(by_room.values()))]),
        wrong=group if wrong else None,
        asks=list(asks),
        is_edited_since=is_edited_since_planned(group.house),
        saved=saved,
    )
