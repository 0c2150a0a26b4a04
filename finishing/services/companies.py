"""Starting a company, with compounds and jointing systems to edit from."""

from dataclasses import asdict

from django.db import transaction

from finishing.models import Company, Compound, JointingSystem, SystemStage
from finishing.queries.companies import chosen_company
from finishing.rules.compounds import DEFAULT_COMPOUNDS, DEFAULT_SYSTEMS, System
from finishing.services.rows import put_row

FIRST_COMPANY = "My company"


@transaction.atomic
def start_company(*, name: str, zone: str, country: str = "", is_demo: bool = False) -> Company:
    """Make a company with the default compounds and systems as rows of its own."""
    company = Company(name=name, zone=zone, country=country.upper(), is_demo=is_demo)
    company.full_clean()
    company.save()
    compounds = _add_compounds(company)
    for position, system in enumerate(DEFAULT_SYSTEMS):
        _add_system(company, system, compounds, is_default=position == 0)
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


def set_country(*, company: Company, country: str) -> Company:
    """Set the country whose public holidays the crews keep."""
    return put_row(Company, match={"pk": company.pk}, values={"country": country.upper()})


def set_planned_air(*, company: Company, planned_air: str) -> Company:
    """Set the air that plans are made against from now on."""
    return put_row(Company, match={"pk": company.pk}, values={"planned_air": planned_air})


def _add_compounds(company: Company) -> dict[str, Compound]:
    rows: dict[str, Compound] = {}
    for compound in DEFAULT_COMPOUNDS:
        values = asdict(compound)
        values["stages"] = sorted(compound.stages)
        values["tapes"] = sorted(compound.tapes)
        values["pack_kg"] = list(compound.pack_kg)
        match = {"company": company, "name": values.pop("name")}
        rows[compound.name] = put_row(Compound, match=match, values=values)
    return rows


def _add_system(
    company: Company, system: System, compounds: dict[str, Compound], *, is_default: bool
) -> None:
    row = put_row(
        JointingSystem,
        match={"company": company, "name": system.name},
        values={"tape": system.tape, "is_default": is_default},
    )
    for stage, compound in system.by_stage.items():
        put_row(
            SystemStage,
            match={"company": company, "system": row, "stage": stage},
            values={"compound": compounds[compound]},
        )
