"""A room as one row of its area: sizes and levels, its turn, and whether it goes."""

from dataclasses import replace
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from api.web.house_edits import typed_version
from api.web.plain_numbers import PlainCount
from api.web.room_form import RoomForm, level_choices, read_level, room_initial
from api.web.touched import is_touched
from finishing.models import Room, Surface
from finishing.queries.levels import level_code
from finishing.services.house_entries import RoomEntry, SurfaceEntry
from finishing.services.rooms import RoomEdit, room_entry

TYPED = ("name", "length_m", "width_m", "openings")
"""What makes a row that may be added one that is wanted; the rest is filled in beforehand."""
LAST = 10_000


class RoomRowForm(RoomForm):
    """A row; room: None on one that adds a room. seen: the versions of its ceiling and walls, 0
    for none."""

    ceiling = forms.ChoiceField(label=_("Ceiling"), required=False)
    walls = forms.ChoiceField(label=_("Walls"), required=False)
    order = PlainCount(
        label=_("Order"),
        required=False,
        min_value=1,
        max_value=LAST,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    remove = forms.BooleanField(label=_("Remove"), required=False)
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, room: Room | None, data: Any = None, **more: Any) -> None:
        super().__init__(data, use_required_attribute=False, **more)
        self.room = room
        for name in ("ceiling", "walls"):
            level = self.fields[name]
            assert isinstance(level, forms.ChoiceField)
            level.choices = level_choices(_("none"))
        if room is None:
            del self.fields["remove"]
            if self.is_bound and not self.is_wanted:
                for field in self.fields.values():
                    field.required = False

    @property
    def is_wanted(self) -> bool:
        """Whether there is such a room, or somebody types one in."""
        return self.room is not None or any(self._sent(name) for name in TYPED)

    @property
    def is_removed(self) -> bool:
        return self.room is not None and bool(self._sent("remove"))

    @property
    def is_touched(self) -> bool:
        """Whether a row was changed on the page that sent it, where only its order does not
        count."""
        return self.room is None or is_touched(self, ROW_FIELDS)

    def turn(self, place: int) -> tuple[int, int, int]:
        """Return what rows are sorted by, so that a row gets the place that is typed: moved up it
        goes before the one that has the number, moved down after it. place: from 0."""
        number = self.cleaned_data.get("order") or LAST
        return number, (number > place + 1) - (number < place + 1), place

    def edit(self, entry: RoomEntry) -> RoomEdit:
        """Return the row's edit, its quantities as they are in the entry."""
        versions = self.cleaned_data["seen"].split(",")
        seen = {
            str(part): version
            for part, text in zip(Surface.Part, versions, strict=False)
            if (version := typed_version(text))
        }
        return RoomEdit(
            str(self.prefix),
            entry,
            self.room,
            self.cleaned_data["version"],
            seen,
            touched=self.is_touched,
            removed=self.is_removed,
        )

    def typed_entry(self) -> RoomEntry:
        """Return the room as typed, without quantities of new surfaces; of a form in order."""
        before = {s.part: s for s in room_entry(self.room).surfaces} if self.room else {}
        said = self.cleaned_data
        surfaces = [
            self._surface(part, said[part], before.get(part)) for part in Surface.Part if said[part]
        ]
        return self.room_entry(surfaces)

    def _surface(self, part: Surface.Part, code: str, before: SurfaceEntry | None) -> SurfaceEntry:
        family, level = read_level(code)
        if before is not None and not _is_blank(before):
            return replace(before, family=family, level=level)
        sized = any(self.cleaned_data[name] for name in ("length_m", "width_m"))
        way = Surface.Takeoff.ROOMS if sized else Surface.Takeoff.ROUGH
        entry = before or SurfaceEntry(part, family, level, way)
        return replace(entry, family=family, level=level, takeoff=way)

    def _sent(self, name: str) -> str:
        return str((self.data or {}).get(self.add_prefix(name), "")).strip()


ROW_FIELDS = (*(n for n in RoomForm.base_fields if n != "version"), "ceiling", "walls")
"""What a row shows of its room."""


def _is_blank(surface: SurfaceEntry) -> bool:
    """Return whether nothing is known of a surface yet but its level."""
    return surface.takeoff == Surface.Takeoff.ROUGH and not surface.area_m2


def row_initial(room: Room, number: int) -> dict[str, Any]:
    """Return what the row of a room shows; number: its turn, from 1."""
    entry = room_entry(room)
    levels = {str(s.part): level_code(s.family, s.level) for s in entry.surfaces}
    versions = {surface.part: surface.version for surface in room.surfaces.all()}
    return {
        "ceiling": "",
        "walls": "",
        **room_initial(entry),
        **levels,
        "order": number,
        "version": room.version,
        "seen": ",".join(str(versions.get(part, 0)) for part in Surface.Part),
    }
