"""The list of a company's compounds and jointing systems, with what uses each, and of what else it
buys."""

from dataclasses import dataclass

from finishing.models import Company, Compound, JointingSystem, Supply
from finishing.queries.compounds import (
    compounds_of,
    systems_of,
    uses_of_compounds,
    uses_of_systems,
)
from scheduling.compound_wording import HARDENING, SUPPLIES, TAPES
from scheduling.wording import figure, listed, stage_name


@dataclass(frozen=True)
class CompoundLine:
    row: Compound
    hardening: str
    stages: str
    used_in: str


@dataclass(frozen=True)
class SystemLine:
    row: JointingSystem
    tape: str
    by_stage: list[str]
    used_in: str


@dataclass(frozen=True)
class SupplyLine:
    row: Supply
    kind: str
    packs: str


@dataclass(frozen=True)
class CompoundsPage:
    compounds: list[CompoundLine]
    systems: list[SystemLine]
    supplies: list[SupplyLine]


def compounds_page(company: Company) -> CompoundsPage:
    """Return the page of a company."""
    used, named = uses_of_compounds(company), uses_of_systems(company)
    return CompoundsPage(
        compounds=[
            CompoundLine(
                row,
                str(HARDENING.get(row.hardening, row.hardening)),
                listed([stage_name(stage) for stage in row.stages]),
                listed(used.get(row.pk, [])),
            )
            for row in compounds_of(company)
        ],
        systems=[
            SystemLine(
                row,
                str(TAPES.get(row.tape, row.tape)),
                [f"{stage_name(line.stage)}: {line.compound}" for line in row.stage_rows.all()],
                listed(named.get(row.pk, [])),
            )
            for row in systems_of(company)
        ],
        supplies=[
            SupplyLine(
                row, str(SUPPLIES.get(row.kind, row.kind)), listed([figure(n) for n in row.packs])
            )
            for row in Supply.objects.filter(company=company).order_by("kind")
        ],
    )
