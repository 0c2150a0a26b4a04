"""What the fields of a house and of its site are called, on forms and in its history."""

from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from scheduling.wording import joint_name

FIELDS = {
    "name": _("Name"),
    "address": _("Address"),
    "floor": _("Floor"),
    "zone": _("Time zone"),
    "latitude": _("Latitude"),
    "longitude": _("Longitude"),
    "system": _("Jointing system"),
    "corner_tool": _("Internal corners"),
    "is_active": _("In work"),
    "weight": _("Weight of a late day"),
    "handover_on": _("Handover"),
    "opens_on": _("Opens for finishing work"),
    "access": _("Hours crews may be inside"),
    "is_open": _("No windows yet"),
    "closed_from": _("Closed from"),
    "heating": _("Heating"),
    "setpoint_c": _("Held at, °C"),
    "heated_from": _("Heated from"),
    "heat_kw": _("The most its heaters give, kW"),
    "flame_heater": _("A heater burns gas or oil inside"),
    "volume_m3": _("Volume, m³"),
    "air_changes_per_h": _("Air changes an hour while closed"),
    "fire_rated": _("Fire-rated lining"),
    "old_joints": _("Joints from before about 1980"),
    "done": _("Done"),
    "state": _("State"),
    "expected_on": _("Expected"),
    "owed_by": _("Owed by"),
    "area": _("Area"),
    "first_day": _("First day"),
    "last_day": _("Last day"),
    "reason": _("Who or why"),
    "stage": _("Last stage done"),
    "compound": _("With"),
    "ended_at": _("Ended"),
    "done_by": _("By whom"),
    "person_minutes": _("Person-hours"),
    "skill": _("Skill"),
    "text": _("Note"),
    "kind": _("Kind"),
    "length_m": _("Length, m"),
    "width_m": _("Width, m"),
    "height_m": _("Height, m"),
    "openings": _("Openings"),
    "edge": _("Wall to ceiling"),
    "boards_along": _("Boards along the room"),
    "family": _("Family of levels"),
    "level": _("Level"),
    "takeoff": _("Taken off"),
    "critical_light": _("Critical light"),
    "wet_area": _("Wet area"),
    "tiled_later": _("Tiled later"),
    "plastic_beads": _("Plastic beads"),
    "area_m2": _("Board, m²"),
    "cornice_m": _("Cornice, m"),
    "copy_of": _("Copy of"),
}


def field_name(code: str) -> str:
    """Return what a field is called; one without words is shown as it is."""
    if code in FIELDS:
        return str(FIELDS[code])
    return capfirst(joint_name(code).replace("_", " "))  # a surface's metres are by joint kind
