"""On the pages of what is bought no fault hides another: what was mistyped and what cannot be."""

from collections.abc import Mapping
from typing import Any

import pytest
from django import forms
from django.http import QueryDict

from api.web.compound_form import CompoundGroup
from api.web.stock_form import StockGroup
from api.web.supply_form import SupplyGroup
from finishing.models import Company, Compound
from finishing.services.companies import start_company
from tests.api.conftest import SignIn

pytestmark = pytest.mark.django_db


@pytest.fixture
def company() -> Company:
    company = start_company(name="Test Finishing", zone="Europe/Dublin")
    Company.objects.update(currency="JPY", currency_digits=0)
    company.refresh_from_db()
    return company


def as_shown(form: forms.Form) -> dict[str, Any]:
    """Return what a browser sends of a form in which nothing was typed."""
    shown = {field.html_name: field.value() for field in form}
    return {
        name: value for name, value in shown.items() if value is not None and value is not False
    }


def marked(form: forms.Form, typed: Mapping[str, Any]) -> QueryDict:
    sent = QueryDict(mutable=True)
    for name, value in (as_shown(form) | {form.add_prefix(n): v for n, v in typed.items()}).items():
        sent.setlist(name, value if isinstance(value, list) else [str(value)])
    return sent


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"pack_kg": "0"}, {"pack_kg"}),
        ({"pack_kg": "0", "density_kg_per_l": ""}, {"pack_kg", "density_kg_per_l"}),
        ({"pack_kg": "5; 5", "density_kg_per_l": "0"}, {"pack_kg", "density_kg_per_l"}),
        ({"pack_kg": "5", "pack_prices": "7.90"}, {"pack_prices"}),
        ({"minimum_c": "30", "maximum_c": "20", "name": ""}, {"maximum_c", "name"}),
        ({"water_fraction": "0", "lead_days": "soon"}, {"water_fraction", "lead_days"}),
        ({"water_fraction": "much", "lead_days": "2"}, {"water_fraction"}),
    ],
)
def test_of_a_compound(company: Company, typed: Mapping[str, str], wrong: set[str]) -> None:
    row = Compound.objects.filter(company=company, hardening="dries").earliest("pk")
    (shown,) = CompoundGroup(company, row).forms
    group = CompoundGroup(company, row, marked(shown, typed))
    assert not group._is_valid()
    assert {*group.forms[0].errors} == wrong


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"packs": "0", "name": ""}, {"packs", "name"}),
        ({"packs": "75", "pack_prices": "3.10", "lead_days": "-1"}, {"pack_prices", "lead_days"}),
    ],
)
def test_of_a_supply(company: Company, typed: Mapping[str, str], wrong: set[str]) -> None:
    (shown,) = SupplyGroup(company, None).forms
    group = SupplyGroup(company, None, marked(shown, {"name": "Tape", **typed}))
    assert not group._is_valid()
    assert {*group.forms[0].errors} == wrong


def test_of_packs_in_the_store(company: Company) -> None:
    shown = StockGroup(company).forms[0]
    group = StockGroup(company, marked(shown, {"pack_size": "0", "packs": "-1"}))
    assert not group._is_valid()
    assert {"what", "pack_size", "packs", "arrives_on"} <= {*group.forms[0].errors}


def test_the_page_says_both(sign_in: SignIn, company: Company) -> None:
    (shown,) = CompoundGroup(company, None).forms
    sent = marked(shown, {"name": "New", "pack_kg": "0", "density_kg_per_l": ""})
    answer = sign_in(company).post("/company/compounds/new/", dict(sent.lists()))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "must each be at least 0.1 and below 1000" in page
    assert "Type a number." in page
