"""What a crew loads for each visit: packs to open, and what is still good of those opened before.

What crews were told of within the last weeks is walked through first, so that what is left of it
counts; packs for work that is over are chosen for that work alone.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from finishing.queries.materials import Item
from finishing.rules.carry import Drawn, Use, carry
from scheduling.services.material_uses import MaterialVisit

LOOKED_BACK = timedelta(days=60)
"""What was opened longer ago is not counted on, however long it keeps."""


@dataclass(frozen=True)
class Load:
    """So much of an item for a visit. drawn: None where no packs are known."""

    item: Item
    amount: float
    drawn: Drawn | None


@dataclass
class VanLoads:
    """Loads by visit (key); visits: all, by time."""

    visits: Sequence[MaterialVisit]
    by_visit: Mapping[str, Sequence[Load]] = field(default_factory=dict)


def van_loads(visits: Iterable[MaterialVisit], *, now: datetime) -> VanLoads:
    """Return the loads of visits, each crew by itself."""
    ordered = sorted(visits, key=lambda visit: visit.starts_at)
    uses: defaultdict[tuple[int, Item], list[Use]] = defaultdict(list)
    for visit in ordered:
        for item, amount in visit.amounts.items():
            uses[visit.crew.pk, item].append(_use(visit, amount, now))
    by_visit: defaultdict[str, list[Load]] = defaultdict(list)
    for (_, item), of_crew in uses.items():
        if not item.sizes:
            for use in of_crew:
                by_visit[use.key].append(Load(item, use.amount, None))
            continue
        for drawn in carry(of_crew, item.sizes, keeps_days=item.keeps_days):
            by_visit[drawn.use.key].append(Load(item, drawn.use.amount, drawn))
    return VanLoads(ordered, dict(by_visit))


def _use(visit: MaterialVisit, amount: float, now: datetime) -> Use:
    over = "over " if visit.starts_at < now else ""
    return Use(visit.key, f"{over}{visit.house.pk}", visit.day.toordinal(), amount)
