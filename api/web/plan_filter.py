"""Which part of a plan a page shows: one crew's, one house's, only what is late."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode
from uuid import UUID

from django.utils.translation import gettext as _

from api.web.standing import is_missed
from finishing.models import Crew, House
from scheduling.models import Plan
from scheduling.queries.visits import Block

SPANS = (2, 4, 8)
"""How many weeks a page may draw at a time."""


@dataclass(frozen=True)
class PlanFilter:
    """What is shown. crews, houses: those that may be chosen; late_houses: keys of the houses of
    which a promise is missed. faults: what was asked for and is not there.
    """

    crews: Sequence[Crew]
    houses: Sequence[House]
    late_houses: frozenset[int]
    crew: Crew | None = None
    house: House | None = None
    late: bool = False
    span: int = SPANS[1]
    faults: tuple[str, ...] = ()

    @property
    def is_on(self) -> bool:
        return self.late or self.crew is not None or self.house is not None

    @property
    def spans(self) -> Sequence[int]:
        return SPANS

    @property
    def query(self) -> str:
        """Return what keeps this choice in another page's address: "" or ``?...``."""
        chosen = {
            "crew": self.crew and str(self.crew.public_id),
            "house": self.house and str(self.house.public_id),
            "late": "1" if self.late else "",
            "weeks": str(self.span) if self.span != SPANS[1] else "",
        }
        said = urlencode({name: value for name, value in chosen.items() if value})
        return f"?{said}" if said else ""

    def keeps_crew(self, crew: Crew) -> bool:
        return self.crew is None or crew == self.crew

    def keeps_house(self, house: House) -> bool:
        if self.late and house.pk not in self.late_houses:
            return False
        return self.house is None or house == self.house

    def keeps(self, block: Block) -> bool:
        return self.keeps_crew(block.crew) and self.keeps_house(block.house)


def plan_filter(
    asked: Mapping[str, str], crews: Sequence[Crew], houses: Sequence[House], plan: Plan | None
) -> PlanFilter:
    """Return what an address asks for. What is not there is not filtered by, and said to be so."""
    faults: list[str] = []
    crew = _chosen(asked.get("crew", ""), crews)
    house = _chosen(asked.get("house", ""), houses)
    late, span = asked.get("late", ""), asked.get("weeks", "") or str(SPANS[1])
    if asked.get("crew") and crew is None:
        faults.append(_("crew: there is no such crew; all crews are shown."))
    if asked.get("house") and house is None:
        faults.append(_("house: there is no such house; all houses are shown."))
    if late not in ("", "1"):
        faults.append(_("late: only 1 is understood; what is in time is shown too."))
    if span not in map(str, SPANS):
        faults.append(_("weeks: may be 2, 4 or 8; 4 are shown."))
        span = str(SPANS[1])
    return PlanFilter(
        crews=crews,
        houses=houses,
        late_houses=late_houses(plan, houses),
        crew=crew,
        house=house,
        late=late == "1",
        span=int(span),
        faults=tuple(faults),
    )


def late_houses(plan: Plan | None, houses: Iterable[House]) -> frozenset[int]:
    """Return the keys of the houses of which a plan misses a promise."""
    missed = {str(row["house_id"]) for row in plan.handovers if is_missed(row)} if plan else set()
    return frozenset(house.pk for house in houses if str(house.public_id) in missed)


def _chosen[Named: (Crew, House)](asked: str, rows: Sequence[Named]) -> Named | None:
    """Return the row with a public id, None where it is none or another company's."""
    try:
        public_id = UUID(asked)
    except ValueError:
        return None
    return next((row for row in rows if row.public_id == public_id), None)
