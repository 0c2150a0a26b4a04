"""The page of a room: what it is, what that comes to, and its boards drawn."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from api.web.board_drawing import RoomPicture, room_picture
from api.web.room_group import RoomGroup
from api.web.totals_table import TotalsTable, totals_table
from finishing.models import Area, Company, House, Room
from finishing.rules.takeoff_faults import TakeoffError
from finishing.services.house_entries import RoomEntry
from finishing.services.surface_takeoff import room_faces
from scheduling.queries.edits import is_edited_since_planned
from scheduling.removal_wording import surfaces_sentence
from scheduling.services.room_work import read_settings
from scheduling.services.work_totals import added, house_totals


@dataclass(frozen=True)
class RoomWork:
    """What a room comes to as typed, beside its area and house; None where it cannot be."""

    totals: TotalsTable | None
    picture: RoomPicture | None


@dataclass(frozen=True)
class RoomPage:
    """All that the page shows. wrong: the forms, if something keeps them from being saved. asks:
    what would go with surfaces to be removed, to be confirmed."""

    house: House
    area: Area
    room: Room
    group: RoomGroup
    wrong: RoomGroup | None
    asks: Sequence[str]
    work: RoomWork
    is_edited_since: bool
    saved: bool


def room_page(
    company: Company, group: RoomGroup, *, wrong: bool = False, saved: bool = False
) -> RoomPage:
    """Return a room's page; forms that were sent show what they come to, stored or not."""
    return RoomPage(
        house=group.house,
        area=group.area,
        room=group.room,
        group=group,
        wrong=group if wrong else None,
        asks=[surfaces_sentence(group.asks)] if group.asks else [],
        work=room_work(company, group),
        is_edited_since=is_edited_since_planned(group.house),
        saved=saved,
    )


def room_work(company: Company, group: RoomGroup) -> RoomWork:
    """Return what a room comes to, as typed."""
    if group.entry is None:
        return RoomWork(None, None)
    by_room = house_totals(
        group.house, read_settings(company), instead={group.room.pk: group.entry}
    )
    in_area = [
        by_room[room.pk]
        for area in group.house.areas.all()
        if area.pk == group.area.pk
        for room in area.rooms.all()
    ]
    columns = [
        (_("This room"), by_room[group.room.pk]),
        (group.area.name, added(in_area)),
        (_("The house"), added(by_room.values())),
    ]
    return RoomWork(totals_table(columns), _picture(group.entry, company))


def _picture(entry: RoomEntry, company: Company) -> RoomPicture | None:
    """Return the boards of a room whose sizes are known and possible, of the surfaces it has."""
    try:
        faces = room_faces(entry, company)
    except TakeoffError:
        return None
    return room_picture(faces) if faces else None
