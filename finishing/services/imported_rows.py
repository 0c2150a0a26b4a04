"""What a file did to the rows of the things that it names, by their versions before and after."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Model

from finishing.models import (
    AirDay,
    AirSource,
    Area,
    Change,
    Closure,
    CoatDone,
    Company,
    Compound,
    Crew,
    CrewHours,
    CrewMember,
    DayOff,
    Dryer,
    House,
    JointLine,
    OddJob,
    ReadinessLine,
    Room,
    Supply,
    Surface,
)

type Versions = Mapping[tuple[str, int], int]
"""Of the rows of one thing: by model name and key their version."""

ROWS: Mapping[str, Mapping[type[Model], str]] = {
    "houses": {
        House: "name",
        Area: "house__name",
        Room: "area__house__name",
        Surface: "room__area__house__name",
        JointLine: "surface__room__area__house__name",
        CoatDone: "area__house__name",
    },
    "crews": {
        Crew: "name",
        CrewMember: "crew__name",
        CrewHours: "crew__name",
        DayOff: "crew__name",
    },
    "air": {AirSource: "name", AirDay: "source__name"},
    "site": {
        ReadinessLine: "house__name",
        Closure: "area__house__name",
        OddJob: "house__name",
    },
    "dryers": {Dryer: "name"},
    "packs": {Compound: "name", Supply: "kind"},
}
"""By kind of file the models that it writes, each with the name of the thing a row belongs to."""

THINGS = ("House", "Crew", "AirSource", "Dryer", "Compound", "Supply")
"""The models of what a line of an outcome is about."""


@dataclass(frozen=True, slots=True)
class Counts:
    """How many rows of a model came, changed and went."""

    new: int = 0
    changed: int = 0
    removed: int = 0


@dataclass(frozen=True, slots=True)
class Line:
    """What a file does to one thing. parts: by model name, where anything differs. changes: of a
    house, as they are logged."""

    name: str
    parts: Mapping[str, Counts]
    changes: tuple[Change, ...] = ()

    @property
    def is_as_before(self) -> bool:
        return not self.parts

    @property
    def is_new(self) -> bool:
        """Whether the thing itself came with the file."""
        return any(self.parts.get(model, Counts()).new for model in THINGS)


def versions_of(company: Company, kind: str) -> dict[str, dict[tuple[str, int], int]]:
    """Return by the name of each thing the versions of its rows: a query for each model."""
    found: dict[str, dict[tuple[str, int], int]] = defaultdict(dict)
    for model, name in ROWS[kind].items():
        rows = model._default_manager.filter(company=company).values_list(name, "pk", "version")
        for of, key, version in rows:
            found[of][model.__name__, key] = version
    return found


def line_of(name: str, before: Versions, after: Versions, changes: Iterable[Change] = ()) -> Line:
    """Return what came of one thing."""
    models = dict.fromkeys(model for model, _ in [*after, *before])
    counts = {model: _counts(model, before, after) for model in models}
    parts = {model: found for model, found in counts.items() if found != Counts()}
    return Line(name, parts, tuple(changes))


def _counts(model: str, before: Versions, after: Versions) -> Counts:
    were = {key: version for key, version in before.items() if key[0] == model}
    are = {key: version for key, version in after.items() if key[0] == model}
    return Counts(
        new=len(are.keys() - were.keys()),
        changed=sum(were[key] != are[key] for key in were.keys() & are.keys()),
        removed=len(were.keys() - are.keys()),
    )
