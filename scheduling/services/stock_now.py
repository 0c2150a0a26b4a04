"""What is reckoned to be in the store: as it was counted, less what visits have taken since."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from finishing.models import Company, StockLine
from finishing.queries.materials import Item, read_catalogue, stock_lines
from finishing.rules.ordering import Arrival
from finishing.rules.store import Counted, Taken, taken_from
from scheduling.services.material_uses import MaterialVisit, VisitReader
from scheduling.services.material_visits import start_of
from scheduling.services.past_visits import past_visits
from scheduling.services.van_loads import LOOKED_BACK, VanLoads, van_loads


@dataclass(frozen=True)
class StockNow:
    """A line of stock. used: how much of it visits have taken since, in its unit."""

    line: StockLine
    used: float

    @property
    def left(self) -> float:
        return self.line.amount - self.used


@dataclass(frozen=True)
class Store:
    """What there is. lines: of full packs; open: what is still good of packs that crews have
    opened, by the key of an item, where that was looked at."""

    lines: Sequence[StockNow]
    open: Mapping[str, float]

    def arrivals(self) -> dict[str, list[Arrival]]:
        """Return by the key of an item what is there in full packs, or on its way."""
        found: defaultdict[str, list[Arrival]] = defaultdict(list)
        for one in self.lines:
            found[one.line.of_item].append(Arrival(one.line.arrives_on.toordinal(), one.left))
        return dict(found)


def company_stock(*, company: Company, now: datetime) -> Sequence[StockNow]:
    """Return what is reckoned of each line at this moment."""
    reader = VisitReader(company, read_catalogue(company))
    return stock_now(reader, until=now, now=now).lines


def stock_now(reader: VisitReader, *, until: datetime, now: datetime) -> Store:
    """Return what is reckoned to be there before the visits that begin at ``until`` or later, by
    what is known at ``now``: in a query, and in three more where anything can have been taken."""
    lines = stock_lines(reader.company)
    days = [line.drawn_from for line in lines if line.drawn_from]
    first = start_of(reader.company, min(days)) if days else until
    if first >= until:
        return Store([StockNow(line, 0.0) for line in lines], {})
    visits = past_visits(reader, first=first - LOOKED_BACK, until=until, now=now)
    vans = list(_looks_into_vans(visits, until))
    loads = van_loads([*visits, *vans], now=until)
    used = _used(lines, loads)
    return Store([StockNow(line, used.get(line.pk, 0.0)) for line in lines], _open(loads, vans))


def _used(lines: Iterable[StockLine], loads: VanLoads) -> dict[int, float]:
    """Return by its primary key how much of each line was taken."""
    taken = _taken(loads)
    by_item: defaultdict[str, list[tuple[int, Counted]]] = defaultdict(list)
    for line in lines:
        if day := line.drawn_from:
            count = Counted(day.toordinal(), line.pack_size, line.packs)
            by_item[line.of_item].append((line.pk, count))
    return {
        pk: part
        for key, of_item in by_item.items()
        for (pk, _), part in zip(
            of_item, taken_from([count for _, count in of_item], taken[key]), strict=True
        )
    }


def _taken(loads: VanLoads) -> defaultdict[str, list[Taken]]:
    """Return by the key of an item the packs that visits opened; of what has no packs, all that
    they used."""
    found: defaultdict[str, list[Taken]] = defaultdict(list)
    for visit in loads.visits:
        for load in loads.by_visit.get(visit.key, ()):
            packs = load.drawn.opened if load.drawn else (load.amount,)
            found[load.item.key].append(Taken(visit.day.toordinal(), packs))
    return found


def _looks_into_vans(visits: Iterable[MaterialVisit], until: datetime) -> Iterator[MaterialVisit]:
    """Yield of each crew a visit at ``until`` that uses nothing: what its packs still hold then."""
    items: defaultdict[int, set[Item]] = defaultdict(set)
    last: dict[int, MaterialVisit] = {}
    for visit in visits:
        items[visit.crew.pk] |= visit.amounts.keys()
        last[visit.crew.pk] = visit
    for crew, visit in last.items():
        day = until.astimezone(ZoneInfo(visit.crew.zone)).date()
        nothing = dict.fromkeys(items[crew], 0.0)
        yield replace(visit, key=f"van {crew}", starts_at=until, day=day, amounts=nothing)


def _open(loads: VanLoads, vans: Iterable[MaterialVisit]) -> dict[str, float]:
    found: defaultdict[str, float] = defaultdict(float)
    for van in vans:
        for load in loads.by_visit.get(van.key, ()):
            found[load.item.key] += load.drawn.left if load.drawn else 0.0
    return dict(found)
