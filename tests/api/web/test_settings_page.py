"""The page on which the office edits what its plans are made by."""

from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from api.web.settings_form import SECTIONS
from finishing.models import Company, Holiday
from finishing.services.company_settings import SETTINGS
from tests.api.conftest import SignIn
from tests.api.web.page_forms import form_on
from tests.factories import make_company

pytestmark = pytest.mark.django_db
PAGE = "/company/settings/"


def settings_of(company: Company, **typed: Any) -> dict[str, Any]:
    """The form as a browser sends it."""
    return {name: getattr(company, name) for name in ("version", *SETTINGS)} | typed


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def client(sign_in: SignIn, company: Company) -> Client:
    return sign_in(company)


def test_settings_are_saved(client: Client, company: Company) -> None:
    sent = settings_of(
        company, name="Mill Lane", planned_air="eight_in_ten", freeze_days="3", gap_share="0,2"
    )
    assert client.post(PAGE, sent)["Location"] == PAGE + "?saved=yes"
    company.refresh_from_db()
    assert (company.name, company.planned_air) == ("Mill Lane", "eight_in_ten")
    assert (company.freeze_days, company.gap_share, company.version) == (3, 0.2, 2)


def test_work_that_is_not_done_is_left_out(client: Client, company: Company) -> None:
    refused = client.post(PAGE, settings_of(company, stages=[]))
    assert refused.status_code == 422
    assert '<a href="#id_stages_0">Work that you do</a>: Tick at least one.' in (
        refused.content.decode()
    )
    kept = [stage for stage in company.stages if stage != "inspect"]
    client.post(PAGE, settings_of(company, stages=kept[::-1]))
    company.refresh_from_db()
    assert company.stages == kept


def test_faults_are_summed_up_in_the_order_of_the_form(client: Client, company: Company) -> None:
    sent = settings_of(company, country="XX", stages=[], freeze_days="-3")
    text = client.post(PAGE, sent).content.decode()
    places = [text.index(f'<a href="#id_{n}">') for n in ("country", "stages_0", "freeze_days")]
    assert places == sorted(places)


def test_every_setting_stands_in_one_section() -> None:
    shown = [name for _, names in SECTIONS for name in names]
    assert sorted([*shown, "stages_off_by_level"]) == sorted(SETTINGS)


def test_every_setting_says_what_it_does(client: Client) -> None:
    text = client.get(PAGE).content.decode()
    silent = [name for name in SETTINGS if f'id="id_{name}_helptext"' not in text]
    assert silent == ["stages_off_by_level"]  # which has a fold a level, and one text above them
    assert "What is ticked is not done at that level" in text


def test_another_country_brings_its_holidays(client: Client, company: Company) -> None:
    year = timezone.now().year
    Holiday.objects.create(company=company, day=date(year, 3, 18), name="Ours", is_own=True)
    client.post(PAGE, settings_of(company, country="ie"))
    company.refresh_from_db()
    assert company.country == "IE"
    days = {(row.day.month, row.day.day) for row in Holiday.objects.filter(company=company)}
    assert {(3, 17), (3, 18)} <= days
    assert {row.day.year for row in Holiday.objects.all()} == {year, year + 1}


def test_all_faults_are_shown_at_once_and_what_was_typed_stays(
    client: Client, company: Company
) -> None:
    make_company("Quay Finishing")
    sent = settings_of(
        company,
        name="",
        country="QQ",
        zone="Mars/Base",
        freeze_days="-1",
        setup_minutes="7.5",
        gap_share="1.5",
        board_width_m="0",
    )
    response = client.post(PAGE, sent)
    text = response.content.decode()
    assert response.status_code == 422
    for name in ("name", "zone", "country", "freeze_days", "setup_minutes", "gap_share"):
        assert f'href="#id_{name}"' in text
    assert 'href="#id_board_width_m"' in text
    assert 'value="7.5"' in text
    assert 'value="QQ"' in text
    company.refresh_from_db()
    assert company.version == 1


def test_the_name_of_another_company_is_refused(client: Client, company: Company) -> None:
    make_company("Quay Finishing")
    response = client.post(PAGE, settings_of(company, name="Quay Finishing"))
    assert response.status_code == 422
    assert 'href="#id_name"' in response.content.decode()
    company.refresh_from_db()
    assert company.name == "Test Finishing"


def test_settings_from_a_second_tab_are_refused_and_kept_when_sent_again(
    client: Client, company: Company
) -> None:
    client.post(PAGE, settings_of(company, freeze_days=5))
    mine = settings_of(company, freeze_days=1)
    stale = client.post(PAGE, mine)
    text = stale.content.decode()
    assert stale.status_code == 409
    assert "Days that stay as published: 5" in text
    assert client.post(PAGE, mine | {"version": 2}).status_code == 302
    company.refresh_from_db()
    assert company.freeze_days == 1


def test_stages_are_left_off_at_a_level(client: Client, company: Company) -> None:
    page = form_on(client, PAGE, "")
    assert client.post(PAGE, page | {"off_ga-214-2": ["inspect", "prefill"]}).status_code == 302
    company.refresh_from_db()
    assert company.stages_off_by_level == {"GA-214 2": ["prefill", "inspect"]}
    assert "Left off at level 2 GA-214: Pre-fill and beads, Lamp insp" in client.get(PAGE).text
    # another family's levels come last, and what is left off at these stays
    page = form_on(client, PAGE, "")
    assert page["off_ga-214-2"] == ["prefill", "inspect"]
    client.post(PAGE, page | {"family": "Q", "off_ga-214-3": ["inspect"]})
    company.refresh_from_db()
    assert company.stages_off_by_level == {
        "GA-214 2": ["prefill", "inspect"],
        "GA-214 3": ["inspect"],
    }
    shown = form_on(client, PAGE, "")
    assert {"initial-off_ga-214-2", "off_ga-214-3"} <= shown.keys()
    assert client.post(PAGE, shown | {"off_q-q1": ["nothing"]}).status_code == 422


def test_two_tabs_leave_off_at_two_levels(client: Client, company: Company) -> None:
    page = form_on(client, PAGE, "")
    client.post(PAGE, page | {"off_ga-214-2": ["inspect"]})
    assert client.post(PAGE, page | {"off_ga-214-1": ["sand"]}).status_code == 302
    refused = client.post(PAGE, page | {"off_ga-214-2": ["sand"]})
    assert refused.status_code == 409
    company.refresh_from_db()
    assert company.stages_off_by_level == {"GA-214 1": ["sand"], "GA-214 2": ["inspect"]}
