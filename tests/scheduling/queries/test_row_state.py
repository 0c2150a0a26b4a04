"""Whatever planning reads counts: no answer is kept past a change of a row that it came from."""

import re
from contextlib import suppress
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from finishing.models import Company, House, Supply
from scheduling.models import CompanyPlans, Plan
from scheduling.queries.row_state import READ_BY_PLANNING, READ_BY_PRICING, price_state, row_state
from scheduling.services.house_drying import house_drying
from scheduling.services.kept_answers import OF_COMPANY, Question
from scheduling.services.kept_costs import plan_costs
from scheduling.services.source_histories import TooLittleAirError
from tests.api.rest.whole_company import whole_company
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db(transaction=True)

ASKED_FOR_APART = frozenset(
    {
        *("finishing_company", "scheduling_companyplans"),
        *("scheduling_plan", "scheduling_plannedtask", "scheduling_planrun"),
        "finishing_change",  # tells of changes of the others
        "finishing_user",  # who pinned or reported, which changes nothing
    }
)
"""Tables that are read, and need no version: their rows never change, or come with others."""


@pytest.mark.parametrize("question", [*OF_COMPANY, house_drying])
def test_a_question_reads_no_table_that_does_not_count(question: Question[object]) -> None:
    """What costs are found from has a state of its own, see below."""
    company, _ = whole_company()
    of = {"of": (House.objects.filter(company=company)[0].pk,)} if question is house_drying else {}
    Supply.objects.update(lead_days=3)  # or no visit could be late
    counted = {model._meta.db_table for model in READ_BY_PLANNING}
    # For odds the air is too little; all else is read by then.
    with CaptureQueriesContext(connection) as queries, suppress(TooLittleAirError):
        question(company=company, now=MONDAY + timedelta(hours=1), **of)
    read = {
        table for query in queries for table in re.findall(r'(?:FROM|JOIN) "(\w+)"', query["sql"])
    }
    assert "finishing_house" in read
    assert read <= counted | ASKED_FOR_APART


def test_a_change_of_any_row_is_another_state_and_of_another_company_none() -> None:
    company, _ = whole_company()
    other, _ = whole_company("Others")
    before, untouched = row_state(company), row_state(other)
    states = {before}
    for model in READ_BY_PLANNING:
        row = model._default_manager.filter(company=company).first()
        if row is not None:
            row.version += 1
            row.save()
            states.add(row_state(company))
    Company.objects.filter(pk=company.pk).update(version=7)
    states.add(row_state(company))
    there = sum(
        model._default_manager.filter(company=company).exists() for model in READ_BY_PLANNING
    )
    assert there > 20
    assert len(states) == there + 2
    assert row_state(other) == untouched


def test_prices_and_what_they_are_for_have_a_state_of_their_own() -> None:
    company, _ = whole_company()
    states = {price_state(company)}
    for model in READ_BY_PRICING:
        row = model._default_manager.filter(company=company)[0]
        row.version += 1
        row.save()
        states.add(price_state(company))
    assert len(states) == len(READ_BY_PRICING) + 1


def test_what_prices_a_plan_reads_no_other_rows() -> None:
    """But for plans, which never change, and the company, whose version counts."""
    company, _ = whole_company()
    with CaptureQueriesContext(connection) as queries:
        plan_costs(company, list(Plan.objects.filter(company=company)))
    read = {
        table for query in queries for table in re.findall(r'(?:FROM|JOIN) "(\w+)"', query["sql"])
    }
    counted = {model._meta.db_table for model in READ_BY_PRICING}
    assert "finishing_price" in read
    assert read <= counted | ASKED_FOR_APART


def test_a_plan_that_becomes_the_working_one_is_another_state() -> None:
    company, _ = whole_company()
    before = row_state(company)
    plans = CompanyPlans.objects.get(company=company)
    plans.working = Plan.objects.filter(company=company).exclude(pk=plans.working_id or 0)[0]
    plans.save()
    assert row_state(company) != before


def test_a_row_that_takes_the_place_of_a_removed_one_is_another_state() -> None:
    company, _ = whole_company()
    model = next(one for one in READ_BY_PLANNING if one.__name__ == "Pin")
    before = row_state(company)
    pin = model._default_manager.filter(company=company)[0]
    pin.delete()
    pin.pk, pin._state.adding = None, True
    pin.save()
    assert row_state(company) != before
