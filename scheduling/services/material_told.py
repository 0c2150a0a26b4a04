"""What is told of material: what to order, what is needed, what each visit loads and mixes."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from finishing.models import Company
from finishing.queries.materials import Item, litres_per_hour
from scheduling.services.material_needs import Needs, needs_of
from scheduling.services.material_orders import (
    LateVisit,
    Material,
    OrderLine,
    company_material,
)
from scheduling.services.material_uses import MaterialVisit
from scheduling.services.mixing import MixNote, mix_notes
from scheduling.services.van_loads import Load


@dataclass(frozen=True)
class VisitMaterial:
    """A visit, what it takes along, how its powder is mixed, and what comes too late for it."""

    visit: MaterialVisit
    loads: Sequence[Load]
    notes: Sequence[MixNote]
    late: LateVisit | None


@dataclass(frozen=True)
class MaterialTold:
    """All of a company's material to come. lines: what to order, by delivery date; without_packs:
    what cannot be ordered, as no pack of it is known. buys_supplies: whether it buys any by name.
    The tasks of visits are left out: they are most of what there is, and tell no more."""

    lines: Sequence[OrderLine]
    without_packs: Sequence[Item]
    needs: Needs
    visits: Sequence[VisitMaterial]
    buys_supplies: bool


def material_told(*, company: Company, now: datetime) -> MaterialTold:
    """Return what a company's working plan asks for from today on."""
    found = company_material(company=company, now=now)
    return MaterialTold(
        lines=[_told_line(line) for line in found.lines],
        without_packs=found.without_packs,
        needs=needs_of(found.visits),
        visits=_visits(company, found),
        buys_supplies=bool(found.catalogue.by_kind),
    )


def _visits(company: Company, found: Material) -> list[VisitMaterial]:
    rates, late = litres_per_hour(company), {one.visit.key: one for one in found.late}
    return [
        VisitMaterial(
            visit=_told_visit(visit),
            loads=found.loads.by_visit.get(visit.key, ()),
            notes=list(mix_notes(visit.tasks, found.catalogue.compounds, rates, heads=visit.heads)),
            late=late.get(visit.key),
        )
        for visit in found.visits
    ]


def _told_line(line: OrderLine) -> OrderLine:
    return replace(line, visits=tuple(map(_told_visit, line.visits)))


def _told_visit(visit: MaterialVisit) -> MaterialVisit:
    return replace(visit, tasks=())
