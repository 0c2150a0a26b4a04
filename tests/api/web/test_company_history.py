"""The page of edits of crews, compounds, systems, rates and settings."""

from datetime import UTC, date, datetime, time
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from finishing.models import (
    Change,
    Company,
    Compound,
    Crew,
    ExtraHours,
    JointingSystem,
    Role,
    User,
)
from finishing.services.companies import start_company
from finishing.services.company_log import logged
from finishing.services.file_imports import FileKind, Upload, import_file
from tests.api.conftest import SignIn
from tests.api.web.page_forms import fields_in, form_on
from tests.factories import make_company, make_crew, make_house

pytestmark = pytest.mark.django_db

PAGE = "/company/history/"


@pytest.fixture
def company() -> Company:
    return start_company(name="Test Finishing", zone="Europe/Dublin", country="IE")


@pytest.fixture
def crew(company: Company) -> Crew:
    return make_crew(company, "North crew")


@pytest.fixture
def client(sign_in: SignIn, company: Company) -> Client:
    return sign_in(company)


def save(client: Client, page: str, action: str = "", **typed: Any) -> None:
    """Send the form of a page with something typed in; action: "" for the page's own form."""
    fields = form_on(client, page, action)
    if not fields:
        fields = fields_in(client.get(page).text, page)
    assert client.post(action or page, fields | typed).status_code == 302


def part(crew: Crew, name: str = "") -> str:
    return f"/company/crews/{crew.public_id}/" + (f"{name}/" if name else "")


def newest(client: Client) -> str:
    return client.get(PAGE).text.partition('class="events"')[2].partition("</li>")[0]


def test_settings_are_told_in_the_words_of_their_form(client: Client, company: Company) -> None:
    typed: dict[str, Any] = {
        "drying_rule": "next_day",
        "freeze_days": "5",
        "off_ga-214-2": ["inspect"],
    }
    save(client, "/company/settings/", **typed)
    said = newest(client)
    assert User.objects.get(company=company).email in said
    for words in (
        "When a dry coat may be coated next working day, if the air says dry instead of at least",
        "Days that stay as published 5 instead of 2",
        "Left off at a level GA-214 2: Lamp inspection instead of nothing",
    ):
        assert words in said.replace("&#x27;", "'")


def test_a_crew_and_its_people_hours_and_days_off_are_told(client: Client, crew: Crew) -> None:
    save(client, part(crew), part(crew, "facts"), language="es")
    assert "Crew North crew: Language Español instead of English" in newest(client)

    save(client, part(crew), part(crew, "week"), **{"mon-hours": "08:00-12:00", "tue-hours": ""})
    said = newest(client)
    assert "Hours of a week, North crew: Monday 08:00-12:00 instead of 07:00-15:30" in said
    assert "Tuesday nothing instead of 07:00-15:30" in said

    days = {"off-new-1-first_day": "2099-03-02", "off-new-1-last_day": "2099-03-04"}
    save(client, part(crew), part(crew, "days_off"), **days, **{"off-new-1-reason": "Fair"})
    said = newest(client)
    assert "Days off, North crew, new (First day: Mon 2 Mar" in said
    assert Change.objects.filter(what="day_off").count() == 1

    member = crew.members.order_by("pk")[0]
    place = next(
        name.removesuffix("-version")
        for name in form_on(client, part(crew), part(crew, "members"))
        if name.endswith(f"{member.public_id}-version")
    )
    fields = {f"{place}-skills": ["sanding"]}
    save(client, part(crew), part(crew, "members"), **fields)
    assert f"Person North crew, {member.name}: Skills sanding instead of" in newest(client)


def test_compounds_systems_and_rates_are_told(client: Client, company: Company) -> None:
    compound = Compound.objects.filter(company=company, hardening="dries").order_by("pk")[0]
    page = f"/company/compounds/{compound.public_id}/"
    save(client, page, water_fraction="38.5")
    assert f"Compound {compound}: Water when wet, % by weight 38.5 % instead of" in newest(client)

    system = JointingSystem.objects.filter(company=company).order_by("pk")[0]
    save(client, f"/company/systems/{system.public_id}/", name="Other name")
    assert "Jointing system Other name: Name Other name instead of" in newest(client)

    rates = form_on(client, "/company/rates/", "")
    name = next(name for name in rates if name.endswith("-minutes") and "initial" not in name)
    place = name.removesuffix("-minutes")
    typed = {name: "9", f"{place}-source": "Timed", f"{place}-dated": "2026-03-02"}
    save(client, "/company/rates/", **typed)
    said = newest(client)
    assert "Labour rate of " in said
    assert "(Person-minutes: 9; Where it comes from: Timed" in said


def test_pay_and_lines_for_builders_are_told_to_who_plans_alone(
    client: Client, company: Company, crew: Crew, sign_in: SignIn
) -> None:
    Company.objects.filter(pk=company.pk).update(currency="EUR")
    pay: dict[str, Any] = {
        "new-1-crew": str(crew.public_id),
        "new-1-stage": "tape",
        "new-1-amount": "1.15",
        "new-1-since": "2026-03-02",
    }
    save(client, "/company/pay/", **pay)
    assert (
        "Pay of North crew, by the m² of Tape coat, new (Amount: 1.15\xa0EUR; Holds from: Mon 2 Mar"
        in newest(client)
    )
    page = f"/houses/{make_house(company, 'Mill Cottage').public_id}/extra-work/"
    line = {"day": "2026-03-03", "text": "Chases filled", "hours": "1.5", "rate": "40"}
    save(client, page, **{f"new-1-{name}": typed for name, typed in line.items()})
    said = newest(client)
    assert "Line for the builder of Mill Cottage, new (" in said
    assert "What was done: Chases filled" in said
    assert "Person-hours: 1.5" in said
    assert "A person-hour: 40.00\xa0EUR" in said
    reader = sign_in(company, role=Role.VIEWER)
    assert "Nothing yet" in reader.get(PAGE).text


def test_dryers_are_told_with_what_they_cost_to_who_plans(
    client: Client, company: Company, sign_in: SignIn
) -> None:
    Company.objects.filter(pk=company.pk).update(currency="EUR")
    for cost in "12.50", "14":
        content = f"name,kind,heat_kw,cost_per_day\nYard heater,heater,3,{cost}\n".encode()
        upload = Upload(FileKind.DRYERS, "dryers.csv", content)
        now = datetime(2026, 3, 2, 9, tzinfo=UTC)
        import_file(company=company, upload=upload, by=None, now=now, at_once=True)
    assert "Dryer Yard heater: Cost per day 14.00\xa0EUR instead of 12.50\xa0EUR" in newest(client)
    text = sign_in(company, role=Role.VIEWER).get(PAGE).text
    assert "Dryer Yard heater, new" in text
    assert "Cost per day" not in text


def test_what_packs_cost_reads_as_money(client: Client, company: Company) -> None:
    Company.objects.filter(pk=company.pk).update(currency="EUR")
    for prices in "410 410", "425 123450":
        content = f"name,kind,packs,prices\nTape,paper_tape,75; 150,{prices}\n".encode()
        upload = Upload(FileKind.PACKS, "packs.csv", content)
        now = datetime(2026, 3, 2, 9, tzinfo=UTC)
        import_file(company=company, upload=upload, by=None, now=now, at_once=True)
    before, after = "4.10\xa0EUR, 4.10\xa0EUR", "4.25\xa0EUR, 1,234.50\xa0EUR"
    assert f"Price of each pack {after} instead of {before}" in newest(client)


def test_extra_hours_are_told_by_the_clock(client: Client, crew: Crew) -> None:
    with logged(crew.company, [Change.What.EXTRA_HOURS], by=None, now=timezone.now()):
        ExtraHours.objects.create(
            company=crew.company, crew=crew, day=date(2026, 3, 7), start=time(7), end=time(12, 30)
        )
    assert "From: 07:00; To: 12:30)" in newest(client)


def test_what_is_removed_is_told(client: Client, company: Company) -> None:
    spare = Compound.objects.create(
        company=company, name="Spare", hardening="dries", stages=["finish"]
    )
    sent = {"remove": "yes", "version": "1"}
    assert client.post(f"/company/compounds/{spare.public_id}/", sent).status_code == 302
    assert "Compound Spare, removed" in newest(client)


def test_what_is_refused_is_not_told(client: Client, crew: Crew) -> None:
    fields = form_on(client, part(crew), part(crew, "week"))
    assert client.post(part(crew, "week"), fields | {"mon-hours": "never"}).status_code == 422
    assert client.post(part(crew, "week"), fields).status_code == 302
    assert not Change.objects.exists()


def test_a_command_is_told_too(client: Client, crew: Crew) -> None:
    call_command("absent", "North crew", "2099-03-02", company=crew.company.name)
    assert "Days off, North crew, new (First day: Mon 2 Mar" in newest(client)
    assert Change.objects.get().by is None


def test_crews_of_a_file_are_told_once_it_is_imported(client: Client, company: Company) -> None:
    content = b"crew,member,skills,hours\nHill crew,Ana,all,mon-fri 07:00-15:30\n"
    upload = Upload(FileKind.CREWS, "crews.csv", content)
    now = datetime(2026, 3, 2, 9, tzinfo=UTC)
    tried = import_file(company=company, upload=upload, by=None, now=now)
    assert not Change.objects.exists()
    import_file(company=company, upload=upload, by=None, now=now, token=tried.token)
    said = client.get(PAGE).text
    assert "Crew Hill crew, new" in said
    assert "Person Hill crew, Ana, new" in said


def test_another_company_sees_nothing_of_it(client: Client, sign_in: SignIn, crew: Crew) -> None:
    save(client, part(crew), part(crew, "facts"), name="Northern crew")
    stranger = sign_in(make_company("Other"))
    assert "Northern crew" not in stranger.get(PAGE).text
    assert "Nothing yet" in stranger.get(PAGE).text


def test_many_edits_take_few_queries(
    client: Client, company: Company, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    at = "2026-03-02T09:00Z"
    Change.objects.bulk_create(
        Change(company=company, at=at, kind="made", what="crew", place=f"Crew {n}")
        for n in range(70)
    )
    with django_assert_max_num_queries(8):
        text = client.get(PAGE, {"page": "2"}).text
    assert "Page 2 of 3" in text
