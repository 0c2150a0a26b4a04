"""Scenarios in words: what each change is, what it would ask of the company, why one cannot be
worked on, and what plans come to beside each other."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from scheduling.rule_wording import rule_sentence
from scheduling.services.scenario_changes import (
    CrewLess,
    CrewMore,
    FixedHandover,
    HeatedHouses,
    MoreDryers,
    OtherSystem,
    OtherWeather,
    Saturdays,
    ScenarioChange,
)
from scheduling.wording import Codes, day, figure, listed, moment, stage_name

type Names = Mapping[UUID, str]
"""What rows are called, by public id."""

KIND_NAMES: Mapping[str, Promise] = {
    "crew_more": _("A crew more"),
    "crew_less": _("A crew less"),
    "saturdays": _("Saturday work"),
    "other_system": _("Another jointing system"),
    "heated_houses": _("Heated houses"),
    "more_dryers": _("More dryers"),
    "fixed_handover": _("A fixed handover"),
    "other_weather": _("Other weather"),
}
_STEPS: Mapping[type[Any], Promise] = {
    CrewMore: _("a new crew is made, with people still to be named: hire them, and name them"),
    CrewLess: _("the crew is given no new work"),
    Saturdays: _("extra hours are noted for the crews"),
    OtherSystem: _("the jointing system is changed"),
    HeatedHouses: _("the houses are noted as heated: see that they are"),
    MoreDryers: _("the dryers are noted as there: buy or hire them"),
    FixedHandover: _("the day of the handover is changed: agree it with the builder"),
    OtherWeather: _("nobody can make weather, so no plan can be worked on that counts on it"),
}
_REFUSALS: Mapping[str, Promise] = {
    "adopted": _("it became the working plan before, and its changes are made: none is made twice"),
    "not_planned": _("nothing has been planned for it yet: plan it first"),
    "outdated": _("it has been changed since it was planned: plan it again first"),
    "beyond_us": _(
        "it counts on other weather, which nobody can make: copy it, leave that out, plan the copy"
    ),
    "over": _(
        "work that it counts on at %(house)s was for %(moment)s, and no crew was told: plan it "
        "again first"
    ),
    "broken": _(
        "even with its changes made, %(work)s, %(moment)s, cannot stay by what is known by now: "
        "%(rule)s. Nothing was changed: plan it again first"
    ),
    "stale": _("somebody has changed it, or what it changes, meanwhile: look at it again"),
    "refused": _("a change cannot be made: %(why)s"),
}


def kind_name(code: str) -> str:
    return str(KIND_NAMES[code])


def change_sentence(change: ScenarioChange, names: Names) -> str:
    """Say what a change is."""
    return _SENTENCES[type(change)](change, names)


def step_sentence(change: ScenarioChange) -> str:
    """Say what becomes of the company when the scenario becomes the working plan."""
    return str(_STEPS[type(change)])


def refusal_sentence(code: str, values: Codes, zone: ZoneInfo) -> str:
    """Say why a scenario cannot be made the working plan."""
    said = dict(values)
    if "moment" in said:
        said["moment"] = moment(said["moment"], zone)
    if "rule" in said:
        said["work"] = listed([said["house"], stage_name(said["stage"]), said["room"]])
        said["rule"] = rule_sentence(said["rule"])
    return str(_REFUSALS[code]) % said


def _called(ids: Iterable[UUID], names: Names) -> str:
    return ", ".join(names.get(one, gettext("one that is no more")) for one in ids)


def _crew_more(change: CrewMore, names: Names) -> str:
    return gettext("another crew that works as %(crew)s does") % _one(change.crew, names, "crew")


def _crew_less(change: CrewLess, names: Names) -> str:
    return gettext("no new work for %(crew)s") % _one(change.crew, names, "crew")


def _saturdays(change: Saturdays, names: Names) -> str:
    said = gettext("Saturday work from %(first)s to %(last)s: %(crews)s")
    days = {"first": day(change.first), "last": day(change.last)}
    return said % {**days, "crews": _called(change.crews, names)}


def _other_system(change: OtherSystem, names: Names) -> str:
    said = gettext("%(system)s in all houses that have no system of their own")
    if change.houses:
        said = gettext("%(system)s at %(houses)s")
    houses = {"houses": _called(change.houses, names)}
    return said % {**_one(change.system, names, "system"), **houses}


def _heated(change: HeatedHouses, names: Names) -> str:
    said = gettext("held at %(c)s °C: %(houses)s")
    if change.from_day:
        said = gettext("held at %(c)s °C from %(day)s: %(houses)s")
    values = {"c": figure(change.setpoint_c), "houses": _called(change.houses, names)}
    return said % {**values, "day": day(change.from_day) if change.from_day else ""}


def _dryers(change: MoreDryers, names: Names) -> str:
    said = ngettext("%(n)s %(dryer)s more", "%(n)s more of %(dryer)s", change.count)
    words = said % {"n": change.count, **_one(change.dryer, names, "dryer")}
    where = _called([change.house], names) if change.house else gettext("wherever they help")
    return gettext("%(dryers)s, %(where)s") % {"dryers": words, "where": where}


def _handover(change: FixedHandover, names: Names) -> str:
    said = gettext("%(house)s handed over by %(day)s")
    return said % {**_one(change.house, names, "house"), "day": day(change.day)}


def _weather(change: OtherWeather, names: Names) -> str:  # noqa: ARG001 - as the others
    parts = []
    if change.damper:
        parts.append(gettext("%(n)s points of humidity") % {"n": f"{100 * change.damper:+g}"})
    if change.warmer_c:
        parts.append(gettext("%(n)s °C") % {"n": f"{change.warmer_c:+g}"})
    said = gettext("outdoors %(more)s from %(first)s to %(last)s")
    days = {"first": day(change.first), "last": day(change.last)}
    return said % {"more": listed(parts), **days}


def _one(key: UUID, names: Names, name: str) -> dict[str, str]:
    return {name: _called([key], names)}


_SENTENCES: Mapping[type[Any], Callable[[Any, Names], str]] = {
    CrewMore: _crew_more,
    CrewLess: _crew_less,
    Saturdays: _saturdays,
    OtherSystem: _other_system,
    HeatedHouses: _heated,
    MoreDryers: _dryers,
    FixedHandover: _handover,
    OtherWeather: _weather,
}
