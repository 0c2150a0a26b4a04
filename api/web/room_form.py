"""A room as it is typed: its sizes, openings, edge and boards, and its two surfaces."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from api.web.form_group import VersionedForm
from api.web.plain_numbers import PlainCount
from api.web.typed_figures import figure_field, shown
from finishing.models import Company, Room, Surface
from finishing.queries.levels import level_code
from finishing.rules.levels import coats_for, levels_of
from finishing.rules.room_shapes import Opening
from finishing.rules.takeoff_faults import TakeoffError
from finishing.rules.vocabulary import Family, JointKind, RoomKind
from finishing.services.house_entries import RoomEntry, SurfaceEntry
from finishing.services.opening_text import opening_text, read_openings
from finishing.services.surface_takeoff import SIZES, taken_off
from finishing.services.takeoff_sheet import METRE_COLUMNS
from scheduling.value_wording import EDGES, ROOM_KINDS, TAKEOFFS

BOARDS = (("along", _("along")), ("across", _("across")))
FLAGS = ("critical_light", "wet_area", "tiled_later", "plastic_beads")
METRES: Mapping[str, JointKind] = METRE_COLUMNS


def level_choices(empty: object) -> list[tuple[str, Any]]:
    """Return the levels of every family, each under its family's name, after an empty choice."""
    families = [
        (family.value, [(level_code(family, n), level_text(family, n)) for n in levels_of(family)])
        for family in Family
    ]
    return [("", empty), *families]


def level_text(family: Family, level: str) -> str:
    """Return a level with its family behind it: narrow boxes show the beginning."""
    return level if level.startswith(family) else f"{level} {family}"


def read_level(code: str) -> tuple[Family, str]:
    """Return family and level of a choice; neither is ever made into another."""
    family, level = code.rsplit(" ", 1)
    coats_for(Family(family), level)
    return Family(family), level


class RoomForm(VersionedForm):
    """What a room itself is."""

    name = forms.CharField(
        label=_("Room"), max_length=120, error_messages={"required": _("Give the room a name.")}
    )
    kind = forms.ChoiceField(label=_("Kind"), choices=[*ROOM_KINDS.items()])
    length_m = figure_field(_("Length, m"), above=0, most=100)
    width_m = figure_field(_("Width, m"), above=0, most=100)
    height_m = figure_field(_("Height, m"), above=0, most=30)
    openings = forms.CharField(label=_("Openings"), required=False, max_length=500)
    edge = forms.ChoiceField(label=_("Edge"), choices=[*EDGES.items()])
    boards = forms.ChoiceField(label=_("Boards"), choices=BOARDS)

    def clean_openings(self) -> tuple[Opening, ...]:
        try:
            return read_openings(self.cleaned_data["openings"])
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error

    def room_entry(self, surfaces: Iterable[SurfaceEntry]) -> RoomEntry:
        """Return the room as typed; of a form without faults."""
        said = self.cleaned_data
        return RoomEntry(
            name=said["name"],
            surfaces=tuple(surfaces),
            kind=RoomKind(said["kind"]),
            length_m=said["length_m"],
            width_m=said["width_m"],
            height_m=said["height_m"],
            openings=said["openings"],
            edge=Room.Edge(said["edge"]),
            boards_along=said["boards"] == "along",
        )

    def measured(self, entry: RoomEntry, company: Company) -> RoomEntry | None:
        """Return the room with its quantities; None, with all that is wrong noted, where it cannot
        be."""
        wants_sizes = any(s.takeoff == Surface.Takeoff.ROOMS for s in entry.surfaces)
        missing = [name for name in SIZES if wants_sizes and getattr(entry, name) is None]
        for name in missing:
            self.add_error(name, gettext("Needed for a takeoff from the room's sizes."))
        if missing:
            return None
        try:
            return taken_off(entry, company)
        except TakeoffError as error:
            for fault in error.faults:
                self.add_error(_field_of(fault), fault)
        return None


def _field_of(fault: str) -> str | None:
    """Return the field that a fault of a takeoff is about."""
    place = fault.split(":", maxsplit=1)[0].split(",", maxsplit=1)[0]
    if place in SIZES:
        return place
    return "openings" if place.startswith(("opening", "wall ")) else None


def room_initial(entry: RoomEntry) -> dict[str, str]:
    """Return what the fields of a room show."""
    return {
        "name": entry.name,
        "kind": str(entry.kind),
        **{name: shown(getattr(entry, name)) for name in SIZES},
        "openings": opening_text(entry.openings),
        "edge": str(entry.edge),
        "boards": "along" if entry.boards_along else "across",
    }


class SurfaceForm(VersionedForm):
    """A ceiling or the walls: level, how it is taken off, and what was measured."""

    level = forms.ChoiceField(label=_("Finish level"), required=False)
    takeoff = forms.ChoiceField(label=_("Taken off"), choices=[*TAKEOFFS.items()])
    tapered_m = figure_field(_("Flat joints, m"))
    butt_m = figure_field(_("Butt joints, m"))
    internal_m = figure_field(_("Internal corners, m"))
    external_m = figure_field(_("External corners, m"))
    fasteners = PlainCount(
        label=_("Fastener heads"), required=False, min_value=0, max_value=1_000_000
    )
    area_m2 = figure_field(_("Board, m²"))
    cornice_m = figure_field(_("Cornice, m"))
    critical_light = forms.BooleanField(label=_("Critical light"), required=False)
    wet_area = forms.BooleanField(label=_("Wet area"), required=False)
    tiled_later = forms.BooleanField(label=_("Tiled later"), required=False)
    plastic_beads = forms.BooleanField(label=_("Plastic beads"), required=False)

    def __init__(self, part: Surface.Part, data: Any = None, **more: Any) -> None:
        super().__init__(data, prefix=part.value, **more)
        self.part = part
        level = self.fields["level"]
        assert isinstance(level, forms.ChoiceField)
        level.choices = level_choices(_("none: nothing to finish"))
        if part is Surface.Part.WALLS:
            del self.fields["cornice_m"]

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        measured = [*METRES, "fasteners", "cornice_m"]
        way = said.get("takeoff")
        if way and way != Surface.Takeoff.MEASURED and any(said.get(name) for name in measured):
            self.add_error(
                "takeoff",
                gettext("There are measured figures below: choose measured, or clear them."),
            )
        if way == Surface.Takeoff.ROUGH and said.get("level") and not said.get("area_m2"):
            self.add_error("area_m2", gettext("Give the m² that a rough takeoff counts from."))
        return said

    def entry(self) -> SurfaceEntry | None:
        """Return the surface as typed, None where there is none; of a form without faults."""
        said = self.cleaned_data
        if not said["level"]:
            return None
        family, level = read_level(said["level"])
        return SurfaceEntry(
            part=self.part,
            family=family,
            level=level,
            takeoff=Surface.Takeoff(said["takeoff"]),
            metres={kind: said[name] for name, kind in METRES.items() if said[name]},
            fasteners=said["fasteners"] or 0,
            area_m2=said["area_m2"] or 0.0,
            cornice_m=said.get("cornice_m") or 0.0,
            **{name: said[name] for name in FLAGS},
        )


def surface_initial(entry: SurfaceEntry | None) -> dict[str, Any]:
    """Return what the fields of a surface show: figures only where somebody gave them."""
    if entry is None:
        return {"level": "", "takeoff": str(Surface.Takeoff.ROOMS)}
    counted = entry.takeoff == Surface.Takeoff.MEASURED
    given = entry if counted else replace(entry, metres={}, fasteners=0, cornice_m=0.0)
    area_m2 = 0.0 if entry.takeoff == Surface.Takeoff.ROOMS else entry.area_m2
    return {
        "level": level_code(entry.family, entry.level),
        "takeoff": str(entry.takeoff),
        **{name: shown(given.metres.get(kind) or None) for name, kind in METRES.items()},
        "fasteners": given.fasteners or "",
        "area_m2": shown(area_m2 or None),
        "cornice_m": shown(given.cornice_m or None),
        **{name: getattr(entry, name) for name in FLAGS},
    }
