"""What the office orders: by when, for which visits, and which of these it comes too late for."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from finishing.models import Company
from finishing.queries.crews import read_people
from finishing.queries.materials import Catalogue, Item, read_catalogue
from finishing.rules.ordering import Covered, Needed, cover
from scheduling.services.material_uses import MaterialVisit, VisitReader
from scheduling.services.material_visits import (
    loads_to_come,
    start_of_today,
    to_come,
    today_of,
)
from scheduling.services.stock_now import stock_now
from scheduling.services.van_loads import VanLoads


@dataclass(frozen=True)
class OrderLine:
    """Packs to order. there_by: the day of the first visit that opens them; order_by: the last day
    to order on; there_on: when they would be there, ordered today. visits: for which.

    packs: how many of each size, the largest first. price: of all in minor units, None where one
    of them has none.
    """

    item: Item
    packs: tuple[tuple[float, int], ...]
    there_by: date
    order_by: date
    there_on: date
    visits: tuple[MaterialVisit, ...]
    price: int | None

    @property
    def late(self) -> bool:
        return self.there_on > self.there_by


@dataclass(frozen=True)
class LateVisit:
    """A visit of which something is not there on its day. items: each with when it is there. Its
    tasks are left out: they are most of what there is to keep, and tell no more."""

    visit: MaterialVisit
    items: tuple[tuple[Item, date], ...]

    @property
    def there_on(self) -> date:
        """When all of it is there."""
        return max(day for _, day in self.items)


@dataclass(frozen=True)
class Material:
    """All that there is to say of a company's material. loads: of each visit. lines: what to order,
    by delivery date. late: visits whose material cannot be there in time."""

    catalogue: Catalogue
    loads: VanLoads
    visits: Sequence[MaterialVisit]
    lines: Sequence[OrderLine]
    late: Sequence[LateVisit]
    without_packs: Sequence[Item]


def company_material(*, company: Company, now: datetime) -> Material:
    """Return what a company's working plan asks for, in a fixed number of queries."""
    found = _material(company, read_catalogue(company), now)
    read_people({visit.crew for visit in found.visits})
    return found


def late_visits(*, company: Company, now: datetime) -> dict[str, LateVisit]:
    """Return by key (id of the first task) the visits whose material cannot be there in time.

    The whole plan is read, since the packs of a visit are chosen for all that comes after it in
    its house; and nothing where all is always there.
    """
    catalogue = read_catalogue(company)
    if not catalogue.longest_lead:
        return {}
    return {one.visit.key: one for one in _material(company, catalogue, now).late}


def _material(company: Company, catalogue: Catalogue, now: datetime) -> Material:
    reader = VisitReader(company, catalogue)
    loads = loads_to_come(reader, now=now)
    visits = to_come(loads, start_of_today(company, now))
    covered = _covered(reader, loads, visits, now)
    return Material(
        catalogue=catalogue,
        loads=loads,
        visits=visits,
        lines=_lines(covered, visits),
        late=_late(covered, visits),
        without_packs=sorted(
            {item for visit in visits for item in visit.amounts if not item.sizes},
            key=lambda item: item.name,
        ),
    )


def _covered(
    reader: VisitReader, loads: VanLoads, visits: Iterable[MaterialVisit], now: datetime
) -> dict[Item, list[Covered]]:
    """Return by item how what visits open is met: from the store, from what is on its way, new.

    Today's visits are among those to come, whatever is reported of them: so what is in the store
    is as on this morning.
    """
    needs: defaultdict[Item, list[Needed]] = defaultdict(list)
    for visit in visits:
        for load in loads.by_visit.get(visit.key, ()):
            if load.drawn and load.drawn.opened:
                need = Needed(visit.key, visit.day.toordinal(), load.drawn.opened)
                needs[load.item].append(need)
    this_morning = start_of_today(reader.company, now)
    stock = stock_now(reader, until=this_morning, now=now).arrivals()
    today = today_of(reader.company, now).toordinal()
    return {
        item: cover(
            of_item,
            stock.get(item.key, ()),
            item.sizes,
            today=today,
            lead_days=item.lead_days,
        )
        for item, of_item in needs.items()
    }


def _lines(covered: dict[Item, list[Covered]], visits: Sequence[MaterialVisit]) -> list[OrderLine]:
    """Return what to order: all that a crew still needs in a house at once, by the day on which
    the first of it is opened; of several crews and houses together where that is the same day."""
    by_key = {visit.key: visit for visit in visits}
    bought: defaultdict[tuple[int, int, Item], list[Covered]] = defaultdict(list)
    for item, found in covered.items():
        for one in found:
            if one.to_buy:
                visit = by_key[one.need.key]
                bought[visit.crew.pk, visit.house.pk, item].append(one)
    grouped: defaultdict[tuple[int, Item], list[Covered]] = defaultdict(list)
    for (_, _, item), found in bought.items():
        grouped[found[0].need.day, item] += found
    lines = [_line(item, found, by_key) for (_, item), found in grouped.items()]
    return sorted(lines, key=lambda line: (line.there_by, line.item.name))


def _line(item: Item, found: Sequence[Covered], by_key: dict[str, MaterialVisit]) -> OrderLine:
    counts = Counter(size for one in found for size in one.to_buy)
    there_by = date.fromordinal(found[0].need.day)
    prices = [(item.price_of(size), count) for size, count in counts.items()]
    known = [price * count for price, count in prices if price is not None]
    return OrderLine(
        item=item,
        packs=tuple(sorted(counts.items(), reverse=True)),
        there_by=there_by,
        order_by=there_by - timedelta(days=item.lead_days),
        there_on=date.fromordinal(max(one.there_on for one in found)),
        visits=tuple(by_key[one.need.key] for one in found),
        price=sum(known) if len(known) == len(prices) else None,
    )


def _late(covered: dict[Item, list[Covered]], visits: Sequence[MaterialVisit]) -> list[LateVisit]:
    """Return visits that open packs before these are there."""
    late: defaultdict[str, list[tuple[Item, date]]] = defaultdict(list)
    for item, found in covered.items():
        for one in found:
            if one.late:
                late[one.need.key].append((item, date.fromordinal(one.there_on)))
    return [
        LateVisit(replace(visit, tasks=()), tuple(late[visit.key]))
        for visit in visits
        if visit.key in late
    ]
