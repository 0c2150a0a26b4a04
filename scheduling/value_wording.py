"""What a value of a house's or its site's field is called."""

from collections.abc import Callable, Mapping
from datetime import date, time
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from scheduling.wording import day, figure, moment, stage_name


def value_text(name: str, value: Any, zone: ZoneInfo) -> str:
    """Return a field's value in words, moments on the clock of a zone.

    value: as the row has it, or as JSON keeps it.
    """
    if name == "ended_at" and value:
        return moment(value, zone)
    words = _WORDS.get(name, _by_type)
    return words(value) if value not in (None, "") else gettext("nothing")


def _by_type(value: Any) -> str:
    if isinstance(value, bool):
        return gettext("yes") if value else gettext("no")
    if isinstance(value, int | float):
        return figure(value)
    if isinstance(value, list):
        return ngettext("%(n)s entry", "%(n)s entries", len(value)) % {"n": len(value)}
    return str(value)


def _day(value: str | date) -> str:
    return day(value)


def _clock(value: str | time) -> str:
    return f"{value:%H:%M}" if isinstance(value, time) else value[:5]


HEATING = {"unheated": _("not heated"), "heated": _("heated")}
SKILLS = {
    "coating": _("coating"),
    "sanding": _("sanding"),
    "skimming": _("skimming"),
    "cornice": _("cornice"),
    "odd_jobs": _("odd jobs"),
}
ROOM_KINDS = {"room": _("room"), "stairwell": _("stairwell")}
EDGES = {"square_set": _("taped corner"), "cornice": _("cornice")}
CORNER_TOOLS = {
    "flat_knife": _("flat knife: one face, then the other"),
    "corner_tool": _("corner tool: both faces at once"),
}
TAKEOFFS = {
    "rooms": _("from the room's sizes"),
    "measured": _("measured"),
    "rough": _("rough, from m² until measured"),
}


def _chosen(words: Mapping[str, Promise]) -> Callable[[Any], str]:
    return lambda value: str(words.get(value, value))


_WORDS: Mapping[str, Callable[[Any], str]] = {
    "handover_on": _day,
    "opens_on": _day,
    "closed_from": _day,
    "heated_from": _day,
    "expected_on": _day,
    "first_day": _day,
    "last_day": _day,
    "day": _day,
    "since": _day,
    "agreed_on": _day,
    "stage": stage_name,
    "heating": _chosen(HEATING),
    "skill": _chosen(SKILLS),
    "kind": _chosen(ROOM_KINDS),
    "edge": _chosen(EDGES),
    "takeoff": _chosen(TAKEOFFS),
    "corner_tool": _chosen(CORNER_TOOLS),
    "person_minutes": lambda value: figure(value / 60),
    "start": _clock,
    "end": _clock,
}
