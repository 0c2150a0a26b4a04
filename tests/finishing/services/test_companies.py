import pytest
from django.core.exceptions import ValidationError
from pytest_django import DjangoAssertNumQueries

from finishing.models import Company, Compound, JointingSystem
from finishing.queries.companies import UnknownCompany, chosen_company
from finishing.rules import vocabulary
from finishing.rules.compounds import DEFAULT_COMPOUNDS, DEFAULT_SYSTEMS
from finishing.services.companies import company_for_import, start_company
from tests.factories import make_company

pytestmark = pytest.mark.django_db


def test_a_company_starts_with_compounds_and_systems_of_its_own() -> None:
    company = start_company(name="Test", zone="Europe/Dublin", country="ie")
    assert company.country == "IE"
    assert {_plain(row) for row in Compound.objects.filter(company=company)} == set(
        DEFAULT_COMPOUNDS
    )
    for system in DEFAULT_SYSTEMS:
        row = JointingSystem.objects.get(company=company, name=system.name)
        stages = {line.stage: line.compound.name for line in row.stage_rows.all()}
        assert (row.tape, stages) == (system.tape, dict(system.by_stage))
    assert JointingSystem.objects.get(is_default=True).name == DEFAULT_SYSTEMS[0].name


def test_a_company_starts_in_a_few_statements(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    with django_assert_max_num_queries(12):  # 3 for each kind of row, and those of the company's
        start_company(name="Test", zone="UTC")


def _plain(row: Compound) -> vocabulary.Compound:
    names = vocabulary.Compound.__dataclass_fields__
    values = {name: getattr(row, name) for name in names}
    values["stages"] = frozenset(row.stages)
    values["tapes"] = frozenset(row.tapes)
    values["pack_kg"] = tuple(row.pack_kg)
    return vocabulary.Compound(**values)


def test_two_companies_edit_apart() -> None:
    first, second = (start_company(name=name, zone="UTC") for name in ("A", "B"))
    Compound.objects.filter(company=first).update(practice_hours=1)
    assert not Compound.objects.filter(company=second, practice_hours__lt=1).exists()


@pytest.mark.parametrize(("zone", "country"), [("Dublin", "IE"), ("UTC", "IRL")])
def test_a_company_that_cannot_be_is_not_half_made(zone: str, country: str) -> None:
    with pytest.raises(ValidationError):
        start_company(name="Test", zone=zone, country=country)
    assert not Company.objects.exists()


def test_the_only_company_of_ones_own_is_meant() -> None:
    demo = make_company("Demo", is_demo=True)
    assert chosen_company(None) == demo
    own = make_company("Own")
    assert chosen_company(None) == own
    assert chosen_company("Demo") == demo


def test_several_none_and_unknown_list_what_there_is() -> None:
    with pytest.raises(UnknownCompany, match="there is none yet"):
        chosen_company(None)
    make_company("North")
    make_company("South")
    with pytest.raises(UnknownCompany, match="which company\\? known: 'North', 'South'"):
        chosen_company(None)
    with pytest.raises(UnknownCompany, match="no company 'East'; known: 'North', 'South'"):
        chosen_company("East")


def test_imports_go_into_the_demo_only_when_it_is_named() -> None:
    demo = make_company("Demo", is_demo=True)
    company, made = company_for_import(name=None, zone="Europe/Dublin")
    assert (company.name, company.zone, made) == ("My company", "Europe/Dublin", True)
    assert company_for_import(name=None) == (company, False)
    assert company_for_import(name="Demo") == (demo, False)
    assert company_for_import(name="New")[1]
