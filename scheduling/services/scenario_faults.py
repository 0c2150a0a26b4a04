"""What is wrong with the changes of a scenario, each named by its place: all of it at once."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from finishing.models import Company, Crew, Dryer, House, JointingSystem
from finishing.models.house import LIMITS
from finishing.models.owned import Owned
from finishing.services.errors import Fault
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

MOST_CHANGES, MOST_DRYERS, MOST_DAYS = 20, 100, 366
DAMPER, WARMER_C = (-0.5, 0.5), (-15.0, 15.0)
"""By how much weather may be tried to be damper (a fraction of 1) and warmer (kelvin)."""

type Said = Iterator[tuple[str, str]]
"""Names of fields, and what is wrong with them."""


def change_faults(company: Company, changes: Sequence[ScenarioChange]) -> list[Fault]:
    """Return what is wrong with changes; places: ``change N, field``, N counted from 1."""
    if len(changes) > MOST_CHANGES:
        said = _("A scenario has at most %(most)s changes.") % {"most": MOST_CHANGES}
        return [Fault("changes", said)]
    return [
        Fault(f"change {number}, {name}", text)
        for number, change in enumerate(changes, start=1)
        for name, text in faults_of(company, change)
    ]


def faults_of(company: Company, change: ScenarioChange) -> Said:
    """Yield what is wrong with one change, by field."""
    yield from _CHECKS[type(change)](company, change)


def _crew(company: Company, change: CrewMore | CrewLess) -> Said:
    yield from _unknown(company, Crew, "crew", [change.crew])


def _saturdays(company: Company, change: Saturdays) -> Said:
    if not change.crews:
        yield "crews", _("Name at least one crew.")
    yield from _unknown(company, Crew, "crews", change.crews)
    yield from _days(change)


def _system(company: Company, change: OtherSystem) -> Said:
    yield from _unknown(company, JointingSystem, "system", [change.system])
    yield from _unknown(company, House, "houses", change.houses)


def _heated(company: Company, change: HeatedHouses) -> Said:
    if not change.houses:
        yield "houses", _("Name at least one house.")
    yield from _unknown(company, House, "houses", change.houses)
    yield from _outside("setpoint_c", change.setpoint_c, LIMITS["setpoint_c"])


def _dryers(company: Company, change: MoreDryers) -> Said:
    yield from _unknown(company, Dryer, "dryer", [change.dryer])
    yield from _outside("count", change.count, (1, MOST_DRYERS))
    yield from _unknown(company, House, "house", [change.house] if change.house else [])


def _handover(company: Company, change: FixedHandover) -> Said:
    yield from _unknown(company, House, "house", [change.house])


def _weather(company: Company, change: OtherWeather) -> Said:  # noqa: ARG001 - as the others
    yield from _days(change)
    yield from _outside("damper", change.damper, DAMPER)
    yield from _outside("warmer_c", change.warmer_c, WARMER_C)
    if not change.damper and not change.warmer_c:
        yield "damper", _("Say how much damper or warmer it is to be.")


def _days(change: Saturdays | OtherWeather) -> Said:
    if change.last < change.first:
        yield "last", _("The last day is before the first: swap them.")
    elif (change.last - change.first).days >= MOST_DAYS:
        yield "last", _("At most a year can be changed at once.")


def _outside(name: str, value: float, limits: tuple[float, float]) -> Said:
    least, most = limits
    if not least <= value <= most:
        said = _("Must be from %(least)s to %(most)s.")
        yield name, said % {"least": f"{least:g}", "most": f"{most:g}"}


def _unknown(company: Company, kind: type[Owned], name: str, ids: Sequence[UUID]) -> Said:
    rows = kind._default_manager.filter(company=company, public_id__in=ids)
    if rows.count() < len(set(ids)):
        yield name, _("There is no such row any more: choose another.")


_CHECKS: Mapping[type[Any], Callable[[Company, Any], Said]] = {
    CrewMore: _crew,
    CrewLess: _crew,
    Saturdays: _saturdays,
    OtherSystem: _system,
    HeatedHouses: _heated,
    MoreDryers: _dryers,
    FixedHandover: _handover,
    OtherWeather: _weather,
}
