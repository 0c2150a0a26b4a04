"""What a sheet may name: the company's systems, compounds and air sources."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Self

from django.core.exceptions import ValidationError

from finishing.models import AirSource, Company, Compound, JointingSystem
from finishing.models.zones import validate_zone
from finishing.services.cells import Cells

NAMED_AIR = (AirSource.Kind.STATION, AirSource.Kind.LOGGER)
"""What a house may name; its forecast goes by its position, its readings by the house."""


@dataclass(frozen=True, slots=True)
class Lookups:
    """A company's rows by name."""

    company: Company
    systems: Mapping[str, JointingSystem]
    compounds: Mapping[str, Compound]
    air_sources: Mapping[str, AirSource]

    @classmethod
    def of(cls, company: Company) -> Self:
        return cls(
            company,
            {row.name: row for row in JointingSystem.objects.filter(company=company)},
            {row.name: row for row in Compound.objects.filter(company=company)},
            {
                row.name: row
                for row in AirSource.objects.filter(company=company, kind__in=NAMED_AIR)
            },
        )


def named_in[T](cells: Cells, column: str, rows: Mapping[str, T], *, empty: str = "") -> T | None:
    """Return the row a cell names; a name that is not there is a fault listing those that are."""
    name = cells.text(column)
    if not name or name in rows:
        return rows.get(name)
    known = ", ".join(map(repr, sorted(rows))) if rows else empty or "none yet"
    cells.fault(column, f"no {name!r}; known: {known}")
    return None


def zone_in(cells: Cells, *, default: str) -> str:
    """Return the zone a row names, or the default."""
    zone = cells.text("zone")
    try:
        validate_zone(zone or default)
    except ValidationError as error:
        cells.fault("zone", error.messages[0])
        return default
    return zone or default
