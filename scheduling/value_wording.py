"""What a value of a house's or its site's field is called."""

from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from scheduling.wording import day, figure, stage_name


def value_text(name: str, value: Any) -> str:
    """Return a field's value in words; value: as the row has it, or as JSON keeps it."""
    if value is None or value == "":
        return gettext("nothing")
    if isinstance(value, bool):
        return gettext("yes") if value else gettext("no")
    if words := _WORDS.get(name):
        return words(value)
    if isinstance(value, int | float):
        return figure(value)
    return str(value)


def _day(value: str | date) -> str:
    return day(value)


def _moment(value: str | datetime) -> str:
    """A moment's day: on which clock its hours are read, its row does not say."""
    at = datetime.fromisoformat(value) if isinstance(value, str) else value
    return day(at.date())


HEATING = {"unheated": _("not heated"), "heated": _("heated")}
SKILLS = {
    "coating": _("coating"),
    "sanding": _("sanding"),
    "skimming": _("skimming"),
    "cornice": _("cornice"),
    "odd_jobs": _("odd jobs"),
}
_WORDS: Mapping[str, Callable[[Any], str]] = {
    "handover_on": _day,
    "opens_on": _day,
    "closed_from": _day,
    "heated_from": _day,
    "expected_on": _day,
    "first_day": _day,
    "last_day": _day,
    "ended_at": _moment,
    "stage": stage_name,
    "heating": lambda value: str(HEATING.get(value, value)),
    "skill": lambda value: str(SKILLS.get(value, value)),
    "person_minutes": lambda value: figure(value / 60),
}
