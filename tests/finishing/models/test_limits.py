"""No row takes a figure that no compound and no company has."""

import pytest
from django.core.exceptions import ValidationError

from finishing.models import Company, Compound
from finishing.models.company import LIMITS as OF_COMPANY
from finishing.models.compound import LIMITS as OF_COMPOUND
from finishing.rules.compounds import DEFAULT_COMPOUNDS
from finishing.services.companies import start_company
from tests.factories import make_company

pytestmark = pytest.mark.django_db


def faults(row: Company | Compound) -> set[str]:
    with pytest.raises(ValidationError) as caught:
        row.full_clean()
    return set(caught.value.message_dict)


def test_every_figure_of_a_compound_has_limits() -> None:
    company = make_company()
    low = {name: least - 1 for name, (least, _) in OF_COMPOUND.items()}
    high = {name: most + 1 for name, (_, most) in OF_COMPOUND.items()}
    for figures in (low, high):
        row = Compound(company=company, name="Base", hardening="sets", pack_kg=[20], **figures)
        assert faults(row) >= OF_COMPOUND.keys()


def test_a_compound_without_a_temperature_to_work_it_at_is_refused() -> None:
    row = Compound(
        company=make_company(),
        name="Base",
        hardening="sets",
        working_minutes=40,
        set_hours=1,
        minimum_c=20,
        maximum_c=20,
        pack_kg=[0],
        stages=["plaster"],
        tapes=["steel"],
    )
    assert faults(row) == {"maximum_c", "pack_kg", "stages", "tapes"}


def test_every_figure_of_a_company_has_limits() -> None:
    high = {name: most + 1 for name, (_, most) in OF_COMPANY.items()}
    assert faults(Company(name="Mill Lane", **high)) >= OF_COMPANY.keys()


def test_defaults_are_within_their_limits() -> None:
    company = start_company(name="Mill Lane", zone="UTC")  # each row is checked in full
    assert Compound.objects.filter(company=company).count() == len(DEFAULT_COMPOUNDS)
