"""The rooms of an area in rows, edited and added to together."""

import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, cast

from django import forms
from django.http import QueryDict
from django.utils.functional import cached_property

from api.web.form_group import HouseGroup
from api.web.room_group import room_words, surface_words
from api.web.room_row import RoomRowForm, row_initial
from finishing.models import Area, House, Room, Surface, User
from finishing.models.owned import Row
from finishing.queries.levels import level_code
from finishing.rules.vocabulary import Family, RoomKind
from finishing.services.errors import Fault
from finishing.services.house_entries import RoomEntry
from finishing.services.rooms import RoomEdit, name_faults, put_rooms, room_entry
from scheduling.wording import part_name

BLANK_ROWS = 3
_NEW = re.compile(r"new-(\d{1,3})-version")
_USUAL: Mapping[Family, str] = {Family.GA214: "4", Family.ASNZS2589: "4", Family.QUALITY: "Q2"}
"""The level most rooms are finished to: common practice, no published source."""


class AreaGroup(HouseGroup):
    """A form a room, and a few to add rooms. level: what new rows of an empty area show. asks:
    the rooms that would go, until that is confirmed; asks_surfaces: surfaces of others."""

    def __init__(
        self, house: House, area: Area, data: QueryDict | None = None, *, level: str = ""
    ) -> None:
        self.area = area
        self.level = level
        self.asks: list[Room] = []
        self.asks_surfaces: list[str] = []
        super().__init__(house, data)

    def build(self) -> list[forms.Form]:
        self.__dict__.pop("entries", None)  # of the forms before
        rows = self.area.rooms.all()
        rooms = list(rows.prefetch_related("surfaces__joints") if self.stale else rows)
        return [
            *(self._row(room, number) for number, room in enumerate(rooms, start=1)),
            *(self._new_row(name, rooms) for name in self._new_names()),
        ]

    @property
    def rows(self) -> list[RoomRowForm]:
        return cast(list[RoomRowForm], self.forms)

    @cached_property
    def entries(self) -> dict[str, RoomEntry]:
        """By prefix the rooms in order as typed, with their quantities; faults are noted on the
        rows, which are left out."""
        found = {}
        for row in self.rows:
            if not row.is_bound:
                if row.room:
                    found[str(row.prefix)] = room_entry(row.room)
            elif row.is_valid() and row.is_wanted and not row.is_removed:
                stays = row.room is not None and not row.is_touched
                entry = room_entry(row.room) if stays and row.room else row.typed_entry()
                counted = entry if stays else row.measured(entry, self.house.company)
                if counted is not None:
                    found[str(row.prefix)] = counted
        return found

    def kept(self, by: User, now: datetime) -> bool:
        """Save, but ask first where rooms would go."""
        going = [row.room for row in self.rows if row.is_removed and row.room]
        if self.data is not None and "confirmed" not in self.data and not self.clashes:
            self.asks = going
            self.asks_surfaces = [name for row in self.rows for name in _dropped(row)]
        return not (self.asks or self.asks_surfaces) and super().kept(by, now)

    def check(self) -> Iterable[Fault]:
        entries = self.entries
        return name_faults(
            self.area, [self._edit(r) for r in self._sent() if str(r.prefix) in entries]
        )

    def save(self, by: User, now: datetime) -> None:
        rows = sorted(enumerate(self._sent()), key=lambda pair: pair[1].turn(pair[0]))
        put_rooms(area=self.area, rooms=[self._edit(row) for _n, row in rows], by=by, now=now)

    def in_words(self, row: Row) -> str:
        """Say how the room stands now."""
        if isinstance(row, Surface):
            return f"{row.room.name}, {part_name(row.part)}: {surface_words(row)}"
        assert isinstance(row, Room)
        return room_words(row)

    def _sent(self) -> list[RoomRowForm]:
        return [row for row in self.rows if row.is_bound and row.is_wanted]

    def _edit(self, row: RoomRowForm) -> RoomEdit:
        entry = self.entries.get(str(row.prefix))
        return row.edit(entry or room_entry(cast(Room, row.room)))

    def _row(self, room: Room, number: int) -> RoomRowForm:
        prefix = f"room-{room.public_id}"
        return RoomRowForm(
            room, self.sent(prefix), prefix=prefix, initial=row_initial(room, number)
        )

    def _new_names(self) -> list[str]:
        if self.data is None:
            return [f"new-{number}" for number in range(1, BLANK_ROWS + 1)]
        numbers = sorted(int(m[1]) for m in map(_NEW.fullmatch, self.data) if m)
        return [f"new-{number}" for number in numbers]

    def _new_row(self, prefix: str, rooms: list[Room]) -> RoomRowForm:
        return RoomRowForm(None, self.sent(prefix), prefix=prefix, initial=self._usual(rooms))

    def _usual(self, rooms: list[Room]) -> dict[str, Any]:
        """Return what a new row shows: as in the last room that is no stairwell, or as usual."""
        flat = [room for room in rooms if room.kind == RoomKind.ROOM]
        if flat:
            last = row_initial(flat[-1], 0)
            names = ("height_m", "edge", "boards", "ceiling", "walls")
            return {**{name: last[name] for name in names}, "version": 0}
        family = Family(self.house.company.family)
        level = self.level or level_code(family, _USUAL[family])
        return {"ceiling": level, "walls": level, "version": 0}


def _dropped(row: RoomRowForm) -> list[str]:
    """Return the surfaces of a room that stays of which the row wants none any more."""
    if row.room is None or not row.is_bound or row.is_removed:
        return []
    parts = [surface.part for surface in row.room.surfaces.all()]
    return [f"{row.room.name}, {part_name(part)}" for part in parts if not row[part].value()]
