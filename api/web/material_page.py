"""The page of material: what comes too late, what to order by when, what is needed, van loads."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from finishing.models import Company
from scheduling.cautions_wording import defer_text
from scheduling.jobs import answer_for_page
from scheduling.material_wording import (
    amount_text,
    late_sentence,
    load_lines,
    mix_caution,
    mix_lines,
    packs_text,
)
from scheduling.measures import METRIC
from scheduling.money_wording import plain_amount
from scheduling.services.kept_answers import kept_answer
from scheduling.services.material_needs import Need
from scheduling.services.material_orders import LateVisit, OrderLine
from scheduling.services.material_told import VisitMaterial, material_told
from scheduling.services.material_visits import today_of
from scheduling.wording import day, figure, listed, moment

LOADS_AHEAD = timedelta(days=14)
"""Van loads are shown for visits within so many days."""

ORDER_HEADING = (
    "there_by",
    "item",
    "unit",
    "pack_size",
    "packs",
    "order_by",
    "there_on",
    "late",
    "price_each",
    "houses",
)


@dataclass(frozen=True)
class LateLine:
    """A visit that comes before its material; visit_id: by which it can be moved."""

    said: str
    visit_id: UUID


@dataclass(frozen=True)
class OrderRow:
    """Packs to order, in words. late: whether they come after they are needed."""

    there_by: str
    item: str
    packs: str
    order_by: str
    there_on: str
    houses: str
    late: bool


@dataclass(frozen=True)
class NeedRow:
    of: str
    litres: str
    fasteners: str
    amounts: list[str]


@dataclass(frozen=True)
class NeedTable:
    """Needs in one of three ways; id: of its part of the page."""

    id: str
    heading: str
    of: str
    rows: list[NeedRow]


@dataclass(frozen=True)
class VisitLoad:
    """What a visit takes and how its powder is mixed."""

    visit: str
    load: list[str]
    mixing: list[str]
    late: str


@dataclass(frozen=True)
class MaterialPage:
    late: list[LateLine]
    orders: list[OrderRow]
    without_packs: str
    needs: list[NeedTable]
    loads: list[VisitLoad]
    has_supplies: bool


def material_page(company: Company, *, now: datetime) -> MaterialPage:
    """Return the page. Raises NotYetError while somebody works out what it tells."""
    found, today = answer_for_page(material_told, company=company, now=now), today_of(company, now)
    needs = found.needs
    return MaterialPage(
        late=late_lines(one.late for one in found.visits if one.late),
        orders=[_order(line, today) for line in found.lines],
        without_packs=listed([item.name for item in found.without_packs]),
        needs=[
            NeedTable("by-house", _("By house"), _("House"), _rows(needs.by_house)),
            NeedTable("by-week", _("By week"), _("Week from"), _rows(needs.by_week)),
            NeedTable("by-crew", _("By crew"), _("Crew"), _rows(needs.by_crew)),
        ],
        loads=list(_loads(found.visits, today)),
        has_supplies=found.buys_supplies,
    )


def late_lines(late: Iterable[LateVisit]) -> list[LateLine]:
    """Return visits that come before their material, in words."""
    return [LateLine(late_sentence(one), UUID(one.visit.key)) for one in late]


def order_rows(company: Company, *, now: datetime, priced: bool) -> Iterator[Sequence[str | float]]:
    """Yield the order list under ``ORDER_HEADING``, a row for each size of pack.

    priced: whether for somebody who may see what things cost, in the company's currency; the column
    is blank for others.
    """
    for line in kept_answer(material_told, company=company, now=now).lines:
        for size, count in line.packs:
            price = line.item.price_of(size) if priced else None
            yield (
                line.there_by.isoformat(),
                line.item.name,
                line.item.unit,
                size,
                count,
                line.order_by.isoformat(),
                line.there_on.isoformat(),
                "yes" if line.late else "no",
                "" if price is None else plain_amount(price, company),
                _houses(line),
            )


def _order(line: OrderLine, today: date) -> OrderRow:
    return OrderRow(
        there_by=day(line.there_by),
        item=line.item.name,
        packs=packs_text(line.packs, line.item.unit),
        order_by=_("today") if line.order_by <= today else day(line.order_by),
        there_on=day(line.there_on),
        houses=_houses(line),
        late=line.late,
    )


def _houses(line: OrderLine) -> str:
    return listed([visit.house.name for visit in line.visits])


def _rows(needs: Sequence[Need]) -> list[NeedRow]:
    return [
        NeedRow(
            of=day(need.of) if isinstance(need.of, date) else str(need.of),
            litres=figure(need.litres),
            fasteners=figure(need.fasteners_l),
            amounts=[
                f"{item.name}: {amount_text(amount, item.unit)}"
                for item, amount in sorted(need.amounts.items(), key=lambda pair: pair[0].name)
            ],
        )
        for need in needs
    ]


def _loads(visits: Iterable[VisitMaterial], today: date) -> Iterator[VisitLoad]:
    for one in visits:
        visit = one.visit
        if visit.day >= today + LOADS_AHEAD:
            break
        if one.loads or one.notes:
            zone = ZoneInfo(visit.crew.zone)
            mixing = mix_lines(one.notes, zone, METRIC)
            yield VisitLoad(
                visit=f"{visit.crew.name}, {moment(visit.starts_at, zone)}, {visit.house.name}",
                load=load_lines(one.loads, one.notes, METRIC),
                mixing=[*mixing, mix_caution(), defer_text()] if mixing else [],
                late=late_sentence(one.late) if one.late else "",
            )
