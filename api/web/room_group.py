"""A room with its two surfaces, edited on a page of its own."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import cast

from django import forms
from django.http import QueryDict
from django.utils.functional import cached_property
from django.utils.translation import gettext as _

from api.web.room_form import BOARDS, RoomForm, SurfaceForm, room_initial, surface_initial
from api.web.whole_group import WholeGroup
from finishing.models import Area, House, Room, Surface, User
from finishing.models.owned import Row
from finishing.services.errors import Fault
from finishing.services.house_entries import RoomEntry
from finishing.services.rooms import RoomEdit, name_faults, put_rooms, room_entry
from finishing.services.surface_takeoff import SIZES
from scheduling.value_wording import EDGES
from scheduling.wording import part_name


class RoomGroup(WholeGroup):
    """The room's form first, then one for its ceiling and one for its walls. asks: the surfaces
    that would go, until that is confirmed."""

    def __init__(self, house: House, area: Area, room: Room, data: QueryDict | None = None) -> None:
        self.area, self.room = area, room
        self.asks: list[str] = []
        super().__init__(house, data)

    def build(self) -> list[forms.Form]:
        self.__dict__.pop("entry", None)  # of the forms before
        if self.stale:
            self.room = Room.objects.prefetch_related("surfaces__joints").get(pk=self.room.pk)
        rows = {surface.part: surface for surface in self.room.surfaces.all()}
        shown = room_entry(self.room)
        entries = {surface.part: surface for surface in shown.surfaces}
        first = {**room_initial(shown), "version": self.room.version}
        return [
            RoomForm(self.sent(""), initial=first),
            *(
                SurfaceForm(
                    part,
                    self.sent(part.value),
                    initial={
                        **surface_initial(entries.get(part)),
                        "version": rows[part].version if part in rows else 0,
                    },
                )
                for part in Surface.Part
            ),
        ]

    @property
    def of_room(self) -> RoomForm:
        return cast(RoomForm, self.forms[0])

    @property
    def of_surfaces(self) -> list[SurfaceForm]:
        return cast(list[SurfaceForm], self.forms[1:])

    @cached_property
    def entry(self) -> RoomEntry | None:
        """The room as typed, or as it stands where nothing was sent, with its quantities; None
        where that cannot be, the faults noted on the forms."""
        if not self.of_room.is_bound:
            return room_entry(self.room)
        if not all(form.is_valid() for form in self.forms):
            return None
        surfaces = [surface for form in self.of_surfaces if (surface := form.entry())]
        return self.of_room.measured(self.of_room.room_entry(surfaces), self.house.company)

    def needed(self) -> list[forms.Form]:
        return self.forms

    def kept(self, by: User, now: datetime) -> bool:
        """Save, but ask first where a surface would go."""
        if self.data is not None and "confirmed" not in self.data and not self.clashes:
            there = {surface.part for surface in self.room.surfaces.all()}
            self.asks = [
                part_name(form.part)
                for form in self.of_surfaces
                if form.is_bound and form.part in there and not form["level"].value()
            ]
        return not self.asks and super().kept(by, now)

    def check(self) -> Iterable[Fault]:
        if self.entry is None:
            return []
        return name_faults(self.area, [self._edit(self.entry)])

    def save(self, by: User, now: datetime) -> None:
        assert self.entry is not None  # _is_valid has looked
        rooms = [
            self._edit(self.entry) if room.pk == self.room.pk else _as_it_is(room)
            for room in self.area.rooms.prefetch_related("surfaces__joints")
        ]
        put_rooms(area=self.area, rooms=rooms, by=by, now=now)

    def in_words(self, row: Row) -> str:
        """Say how the row stands now: what is typed stands beside it in the form."""
        if isinstance(row, Surface):
            return f"{part_name(row.part)}: {surface_words(row)}"
        assert isinstance(row, Room)
        return room_words(row)

    def _edit(self, entry: RoomEntry) -> RoomEdit:
        seen = {
            str(form.part): version
            for form in self.of_surfaces
            if (version := form.cleaned_data["version"])
        }
        return RoomEdit("", entry, self.room, self.of_room.cleaned_data["version"], seen)


def _as_it_is(room: Room) -> RoomEdit:
    return RoomEdit("", room_entry(room), room, touched=False)


def room_words(room: Room) -> str:
    """Return a room's own figures in words."""
    shown: Mapping[str, str] = room_initial(room_entry(room))
    sizes = " x ".join(shown[name] or "?" for name in SIZES)
    openings = shown["openings"] or _("none")
    said = _("%(room)s: %(sizes)s m, openings %(openings)s") % {
        "room": room.name,
        "sizes": sizes,
        "openings": openings,
    }
    return f"{said}, {EDGES[room.edge]}, {dict(BOARDS)[shown['boards']]}"


def surface_words(surface: Surface) -> str:
    """Return a surface's level and quantities in words."""
    metres = ", ".join(f"{line.kind} {line.metres:g} m" for line in surface.joints.all())
    level = f"{surface.family} {surface.level}"
    return ", ".join(filter(None, [level, metres, f"{surface.area_m2:g} m²"]))
