"""What the work to come uses, by house, week and crew."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

from finishing.models import Crew, House
from finishing.queries.materials import Item
from scheduling.services.material_uses import MaterialVisit


@dataclass
class Need:
    """What some visits use. of: the house, the first day of the week or the crew. amounts: by
    item. litres: of compound, mixed; fasteners_l: how many of these go on fasteners."""

    of: House | Crew | date
    amounts: dict[Item, float] = field(default_factory=dict)
    litres: float = 0.0
    fasteners_l: float = 0.0

    def add(self, visit: MaterialVisit) -> None:
        """Count a visit in."""
        for item, amount in visit.amounts.items():
            self.amounts[item] = self.amounts.get(item, 0.0) + amount
        self.litres += visit.litres
        self.fasteners_l += visit.fasteners_l


@dataclass(frozen=True)
class Needs:
    """The same needs in three ways."""

    by_house: list[Need]
    by_week: list[Need]
    by_crew: list[Need]


def needs_of(visits: Iterable[MaterialVisit]) -> Needs:
    """Return what visits use: houses and crews by name, weeks in order."""
    known = list(visits)
    houses = _by(known, lambda visit: visit.house.pk, lambda visit: visit.house)
    crews = _by(known, lambda visit: visit.crew.pk, lambda visit: visit.crew)
    weeks = _by(known, week_of, week_of)
    return Needs(
        by_house=sorted(houses, key=lambda need: str(need.of)),
        by_week=sorted(weeks, key=lambda need: str(need.of)),
        by_crew=sorted(crews, key=lambda need: str(need.of)),
    )


def week_of(visit: MaterialVisit) -> date:
    """Return the Monday of a visit's week."""
    return visit.day - timedelta(days=visit.day.weekday())


def _by(
    visits: Iterable[MaterialVisit],
    key: Callable[[MaterialVisit], Hashable],
    of: Callable[[MaterialVisit], House | Crew | date],
) -> list[Need]:
    found: defaultdict[Hashable, list[MaterialVisit]] = defaultdict(list)
    for visit in visits:
        found[key(visit)].append(visit)
    needs = []
    for group in found.values():
        need = Need(of(group[0]))
        for visit in group:
            need.add(visit)
        needs.append(need)
    return needs
