"""Starting a company, with compounds and jointing systems to edit from."""

from dataclasses import asdict

from django.db import transaction

from finishing.models import Company, Compound, JointingSystem, SystemStage
from finishing.queries.companies import chosen_company
from finishing.rules.compounds import DEFAULT_COMPOUNDS, DEFAULT_SYSTEMS
from finishing.services.many_rows import Wanted, put_rows
from finishing.services.rows import put_row

FIRST_COMPANY = "My company"


@transaction.atomic
def start_company(*, name: str, zone: str, country: str = "", is_demo: bool = False) -> Company:
    """Make a company with the default compounds and systems as rows of its own."""
    company = Company(name=name, zone=zone, country=country.upper(), is_demo=is_demo)
    company.full_clean()
    company.save()
    _add_systems(company, _add_compounds(company))
    return company


def company_for_import(
    *, name: str | None, zone: str = "UTC", country: str = ""
) -> tuple[Company, bool]:
    """Return the company to import into and whether it was made now.

    A name that no company has makes one; without a name it is the only company that is not the
    demo, or a new one. Never the demo company unless it is named.
    """
    if name:
        existing = Company.objects.filter(name=name).first()
    elif Company.objects.filter(is_demo=False).exists():
        existing = chosen_company(None)
    else:
        existing = None
    if existing is not None:
        return existing, False
    return start_company(name=name or FIRST_COMPANY, zone=zone, country=country), True


def set_planned_air(*, company: Company, planned_air: str) -> Company:
    """Set the air that plans are made against from now on."""
    return put_row(Company, match={"pk": company.pk}, values={"planned_air": planned_air})


def _add_compounds(company: Company) -> dict[str, Compound]:
    wanted = []
    for compound in DEFAULT_COMPOUNDS:
        values = asdict(compound)
        values["stages"] = sorted(compound.stages)
        values["tapes"] = sorted(compound.tapes)
        values["pack_kg"] = list(compound.pack_kg)
        wanted.append(Wanted({"company": company, "name": values.pop("name")}, values))
    rows = put_rows(Compound.objects.filter(company=company), wanted)
    return {row.name: row for row in rows}


def _add_systems(company: Company, compounds: dict[str, Compound]) -> None:
    wanted = [
        Wanted(
            {"company": company, "name": system.name},
            {"tape": system.tape, "is_default": system == DEFAULT_SYSTEMS[0]},
        )
        for system in DEFAULT_SYSTEMS
    ]
    rows = put_rows(JointingSystem.objects.filter(company=company), wanted)
    stages = [
        Wanted(
            {"company": company, "system": row, "stage": stage},
            {"compound_id": compounds[compound].pk},
        )
        for row, system in zip(rows, DEFAULT_SYSTEMS, strict=True)
        for stage, compound in system.by_stage.items()
    ]
    put_rows(SystemStage.objects.filter(company=company), stages)
