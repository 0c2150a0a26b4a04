"""The members of an ensemble beside the main series of an answer.

The API names them ``temperature_2m_member01``, ``relative_humidity_2m_member01`` and so on, each
with its unit. The main series is a member too: it is the run that nothing was changed in.

A member counts only whole: one with a value missing, of another length or in a unit that cannot be
is left out, with both its lists, and the others stay, as one member's fault says nothing of the
weather in another. Too few that are sound are no ensemble.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Self

from finishing.services.errors import Fault
from finishing.services.hourly_series import Series

TEMPERATURE, HUMIDITY = "temperature_2m", "relative_humidity_2m"
LEAST_MEMBERS = 10
"""Of fewer, what holds in 8 of 10 would be one or two members' word."""
MOST_MEMBERS = 200
"""Several times what any weather service runs; bounds what is read and kept."""
_MEMBER = re.compile(rf"(?:{TEMPERATURE}|{HUMIDITY})_(member[0-9]{{1,4}})", re.ASCII)


@dataclass(frozen=True)
class MemberAir:
    """One member's air by hour: Celsius, and relative humidity as a fraction."""

    name: str
    temperature_c: list[float]
    humidity: list[float]

    @classmethod
    def of(cls, name: str, temperature_c: Sequence[float], percent: Sequence[float]) -> Self:
        return cls(
            name,
            [round(celsius, 2) for celsius in temperature_c],
            [round(value / 100, 4) for value in percent],
        )


@dataclass(frozen=True)
class EnsembleRead:
    """What an answer has of an ensemble. given: how many members, the main series not counted.
    members: those to draw from, the main series first; none where too few are sound. faults: why
    there are none, and one for each member that was left out."""

    given: int = 0
    members: tuple[MemberAir, ...] = ()
    faults: tuple[Fault, ...] = ()


def read_ensemble(series: Series, main: MemberAir) -> EnsembleRead:
    """Return the members beside the main series, which has been found sound, in the order of
    their numbers."""
    names = _names(series.hourly)
    if not names:
        return EnsembleRead()
    if len(names) > MOST_MEMBERS:
        said = f"{len(names)} members, at most {MOST_MEMBERS} can be read"
        return EnsembleRead(len(names), (), (Fault(f"{series.name}, hourly", said),))
    members, faults = [main], []
    for name in names:
        own = Series(series.name, series.hourly, series.units)
        keys = f"{TEMPERATURE}_{name}", f"{HUMIDITY}_{name}"
        air = own.air(*keys, hours=len(main.temperature_c))
        if own.faults:
            faults.append(own.faults[0])
        else:
            members.append(MemberAir.of(name, *air))
    if len(members) < LEAST_MEMBERS:
        said = (
            f"{len(members)} sound members, the main series among them: {LEAST_MEMBERS} are needed"
        )
        return EnsembleRead(len(names), (), (Fault(f"{series.name}, hourly", said), *faults))
    return EnsembleRead(len(names), tuple(members), tuple(faults))


def _names(hourly: dict[str, Any]) -> list[str]:
    found = {match[1] for key in hourly if (match := _MEMBER.fullmatch(key))}
    return sorted(found, key=lambda name: (int(name.removeprefix("member")), name))
