"""A whole company in one file, and back."""

import json
from typing import Any, cast
from uuid import uuid4

import pytest
from django.apps import apps
from django.db.models import EmailField, Field, JSONField
from django.test import Client
from django.utils import timezone

from finishing.models import ApiToken, Company, Crew, Quote, User
from finishing.queries.rights import Right
from finishing.services.errors import InputFaults
from finishing.services.sealed import unseal
from finishing.services.tokens import make_token
from scheduling.models import CalendarPush, FeedLink, Outgoing, PlanRun, PushedEntry, Webhook
from scheduling.services.company_export import ExportError, export_company
from scheduling.services.company_file import (
    CAME_LATER,
    KEPT,
    LEFT_OUT,
    kept_fields,
    kept_models,
    references,
)
from scheduling.services.company_import import import_company
from scheduling.services.links import make_link, make_page, renew_link
from scheduling.services.replan import request_run
from tests.api.rest.whole_company import whole_company
from tests.api.small_company import make_small_company
from tests.factories import make_company, make_crew

pytestmark = pytest.mark.django_db
APPS = ("finishing", "scheduling")
NOW = timezone.now()


def all_models() -> list[Any]:
    return [model for model in apps.get_models() if model._meta.app_label in APPS]


def exported(company: Company) -> dict[str, Any]:
    """What is written into the file, read again as whoever opens it does."""
    found: dict[str, Any] = json.loads(json.dumps(export_company(company=company, now=NOW)))
    return found


def bring_in(file: dict[str, Any]) -> Company:
    return import_company(name="a.json", content=json.dumps(file).encode(), now=NOW)


def empty_the_database() -> None:
    for model in all_models():
        model._base_manager.all()._raw_delete("default")


def faults(content: object) -> list[str]:
    text = content if isinstance(content, bytes) else json.dumps(content).encode()
    with pytest.raises(InputFaults) as refused:
        import_company(name="a.json", content=text, now=NOW)
    return [str(fault) for fault in refused.value.faults]


def small_file() -> dict[str, Any]:
    company = make_company("Larch Finishing")
    make_crew(company)
    file = exported(company)
    empty_the_database()
    return file


def test_every_kind_of_row_is_decided_on() -> None:
    """A new model goes into KEPT or, with the reason, into LEFT_OUT."""
    assert sorted(KEPT | LEFT_OUT.keys()) == sorted(model._meta.label for model in all_models())
    assert not KEPT & LEFT_OUT.keys()


def test_whatever_sounds_like_a_secret_is_left_out() -> None:
    """A new field of that kind is decided on too; a hash opens nothing."""
    suspicious = ("password", "secret", "token", "session", "claim", "key")
    kept = {
        f"{model._meta.label}.{field.name}"
        for model in kept_models()
        for field in kept_fields(model)
        if any(word in field.name for word in suspicious) and "sha256" not in field.name
    }
    assert kept == {
        "scheduling.Outgoing.claimed_until",  # a moment
        "scheduling.PlanRun.claimed_at",
        *(f"scheduling.{name}.key" for name in ("Outgoing", "Pin", "PlannedTask", "Report")),
    }


def test_every_kind_has_a_company_and_stands_behind_what_it_needs() -> None:
    before: list[type] = [Company]
    for model in kept_models():
        assert model is Company or any(one.name == "company" for one in fields(model))
        assert {one.related_model for one in references(model) if not one.null} <= {*before, model}
        before.append(model)


def fields(model: Any) -> "list[Field[Any, Any]]":
    return list(model._meta.concrete_fields)


def whole() -> Company:
    """A company with nearly every kind of row: planned, published, with proposals; somebody who
    signs in; a run that stopped another, and one of a quote; things that wait to be sent."""
    company = whole_company("Ours")[0]
    crew = Crew.objects.filter(company=company)[0]
    user = User.objects.create_user("office@ours.example", "dust sheets", company=company)
    make_token(company=company, name="Gateway", scopes=[Right.READ], now=NOW, person=user)
    link = make_link(crew=crew)
    renew_link(link=link)
    renew_link(link=make_page(crew=crew))
    newer, older = (request_run(company=company, plan_from=NOW) for _ in range(2))
    PlanRun.objects.filter(pk=older.pk).update(status="failed", overtaken_by=newer)
    quote = Quote.objects.get(company=company)
    request_run(company=company, plan_from=NOW, quote=quote)
    common = {"company": company, "made_at": NOW}
    hook = Webhook.objects.create(**common, address="https://listens.example/", secret="sealed")
    push = CalendarPush.objects.create(
        **common, address="https://calendars.example/", link=link, password="sealed"
    )
    PushedEntry.objects.create(company=company, push=push, uid=uuid4(), sha256="0" * 64)
    Outgoing.objects.create(
        company=company, kind="webhook", key="one", webhook=hook, created_at=NOW, due_at=NOW
    )
    for model in kept_models():
        rows: Any = model._base_manager
        if model is not Company and not rows.filter(company=company).exists():
            rows.create(**any_row(model, company))
    return company


def any_row(model: Any, company: Company) -> dict[str, Any]:
    """What a row of a kind can be that no other test makes here, a new kind too."""
    moment = {"DateTimeField": NOW, "DateField": NOW.date(), "TimeField": NOW.time()}
    values: dict[str, Any] = {"company": company}
    for field in kept_fields(model):
        kind, other = field.get_internal_type(), cast(Any, field.related_model)
        if other is not None and not field.null:
            values[field.name] = other._base_manager.filter(company=company)[0]
        elif kind in moment:
            values[field.name] = moment[kind]
        elif isinstance(field, EmailField):
            values[field.name] = "somebody@ours.example"
        elif field.choices:
            values[field.name] = field.choices[0][0]
        elif not field.has_default() and not field.null:
            values[field.name] = "x" if "Char" in kind or "Text" in kind else 1
    return values


def test_there_and_back(started: list[int]) -> None:
    """All rows of a company that has everything, but for what would send something again."""
    before = exported(whole())
    empty = {label for label in KEPT if not before["rows"][label]}
    assert empty == set(), "else this would say little of them"
    assert "sealed" not in json.dumps(before)
    assert User.objects.get(email="office@ours.example").password not in json.dumps(before)
    empty_the_database()
    after = exported(bring_in(before))
    assert after.keys() == before.keys()
    for label, rows in before["rows"].items():
        for row, came in zip(rows, after["rows"][label], strict=True):
            assert came == row | quiet(label, row), label


def quiet(label: str, row: dict[str, Any]) -> dict[str, Any]:
    """What a row is once it sends nothing any more."""
    if label in ("scheduling.Webhook", "scheduling.CalendarPush") and row["off_at"] is None:
        return {"off_at": NOW.isoformat(), "off_why": "by_hand"}
    if label == "scheduling.Outgoing" and row["state"] == "waiting":
        return {"state": "overtaken", "ended_at": NOW.isoformat()}
    return {}


def test_a_file_from_before_some_fields_came_is_read_without_them(started: list[int]) -> None:
    before = exported(whole())
    empty_the_database()
    for label, came in CAME_LATER.items():
        assert before["rows"][label]
        for row in before["rows"][label]:
            for name in came:
                assert row.pop(name) is None
    assert exported(bring_in(before))["rows"]["finishing.Quote"][0]["setpoint_c"] is None


def test_addresses_that_were_given_out_go_on_working(client: Client, started: list[int]) -> None:
    company, values = make_small_company("Ours")
    address = f"/feeds/{values['feed_secret']}/crew.ics"
    before = client.get(address)
    file = exported(company)
    empty_the_database()
    assert client.get(address).status_code == 404
    bring_in(file)
    after = client.get(address)
    assert (before.status_code, after.status_code) == (200, 200)
    assert str(values["feed_secret"]) not in json.dumps(file)
    assert FeedLink.objects.exists()


def test_nobody_gets_in_with_a_file_and_nothing_is_sent(started: list[int]) -> None:
    company = whole()
    User.objects.filter(company=company).update(is_staff=True, is_superuser=True)
    file = exported(company)
    empty_the_database()
    again = bring_in(file)
    for user in User.objects.filter(company=again):
        assert user.has_usable_password(), "else they could not ask for a new one"
        assert not user.is_staff
        assert not user.is_superuser
    assert not ApiToken.objects.exists()
    assert not Outgoing.objects.filter(state=Outgoing.State.WAITING).exists()
    for webhook in Webhook.objects.all():
        assert webhook.off_at
        assert unseal(webhook.secret).startswith("whsec_")


def test_another_companys_row_is_in_no_file() -> None:
    mine, other = make_company("Mine"), make_company("Other")
    crew = make_crew(other, "Their crew")
    assert "Their crew" not in json.dumps(exported(mine))
    User.objects.create(company=mine, email="lead@mine.example", role="crew_lead", crew=crew)
    with pytest.raises(ExportError, match=r"finishing\.User .*, crew: it names a row of another"):
        exported(mine)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"{", "a.json: is no JSON"),
        (b"\xff", "a.json: is no JSON"),
        ([], "a.json: is no file of a company"),
        ({"format": "another"}, "a.json: is no file of a company"),
        ({"format": "coatweave company", "version": 2}, "a.json: is of version 2; this program"),
        ({"format": "coatweave company", "version": 1, "rows": []}, "a.json: has no rows"),
        ({"format": "coatweave company", "version": 1, "rows": {}}, "a.json: holds 0 companies"),
    ],
)
def test_what_is_no_file_of_a_company(content: object, said: str) -> None:
    (fault,) = faults(content)
    assert fault.startswith(said)


def test_all_faults_at_once_and_nothing_stored() -> None:
    file = small_file()
    company, crew = file["rows"]["finishing.Company"][0], file["rows"]["finishing.Crew"][0]
    company["zone"] = "Nowhere"
    company["board_width_m"] = 99
    del company["country"]
    crew["name"] = None
    crew["surprise"] = 1
    file["rows"]["finishing.CrewHours"][0]["crew"] = "none"
    file["rows"]["finishing.Room"] = 7
    file["rows"]["finishing.Crew"].append(dict(crew, name="Twin"))
    file["rows"]["finishing.Unknown"] = []
    found = faults(file)
    for said in (
        "a.json: 'finishing.Unknown' is no kind of rows",
        "finishing.Company 1, zone: ",
        "finishing.Company 1, board_width_m: ",
        "finishing.Company 1, country: is missing",
        "finishing.Crew 1, name: is needed",
        "finishing.Crew 1, surprise: is no field",
        "finishing.CrewHours 1, crew: no finishing.Crew 'none' in this file",
        "finishing.Room: is no list of rows",
        "finishing.Crew 2, public_id: ",
    ):
        assert [fault for fault in found if fault.startswith(said)], (said, found)
    assert not Company.objects.exists()
    assert not Crew.objects.exists()


def test_every_value_that_its_field_cannot_have_is_named(started: list[int]) -> None:
    file = exported(whole())
    empty_the_database()
    spoiled = set()
    for model in kept_models():
        row = file["rows"][model._meta.label][0]
        for field in kept_fields(model):
            usual = field.get_default() if isinstance(field, JSONField) else {}
            if usual is not None:
                row[field.name] = "?!" if isinstance(field, JSONField) else ["?!"]
                spoiled.add(f"{model._meta.label} 1, {field.name}")
    links = file["rows"]["scheduling.FeedLink"]
    links.append({"body": "a"})  # no bytes
    spoiled.add(f"scheduling.FeedLink {len(links)}, body")
    found = {fault.partition(":")[0] for fault in faults(file)}
    assert spoiled <= found, spoiled - found


def test_figures_that_nothing_could_be_reckoned_with_are_named(started: list[int]) -> None:
    file = exported(whole())
    empty_the_database()
    for label, field, value in (
        ("finishing.Company", "currency", "JPY"),
        ("finishing.Company", "currency_digits", 2),
        ("finishing.Compound", "pack_kg", [0]),
        ("finishing.Supply", "packs", [0]),
        ("finishing.StockLine", "pack_size", 0),
        ("finishing.LabourRate", "minutes", 0),
        ("finishing.Price", "amount", 0),
        ("finishing.Dryer", "litres_per_day", 0),
        ("finishing.Surface", "level", "9"),
    ):
        file["rows"][label][0][field] = value
    file["rows"]["finishing.Price"][0]["kind"] = "hour"
    file["rows"]["finishing.Compound"][1]["stages"] = [["tape"]]
    assert [fault.partition(":")[0] for fault in faults(file)] == [
        "finishing.Company 1, currency_digits",
        "finishing.Compound 1, pack_kg",
        "finishing.Compound 2",
        "finishing.Supply 1, packs",
        "finishing.StockLine 1, pack_size",
        "finishing.LabourRate 1, minutes",
        "finishing.Price 1, amount",
        "finishing.Dryer 1, litres_per_day",
        "finishing.Surface 1, level",
    ]
    assert not Company.objects.exists()


def test_a_figure_that_is_too_large_for_its_field_is_named() -> None:
    file = small_file()
    file["rows"]["finishing.Company"][0]["board_width_m"] = 10**400
    assert faults(file) == ["finishing.Company 1, board_width_m: cannot be read"]


@pytest.mark.parametrize("figure", ["1e999", "-1e999", "NaN", "Infinity", "9" * 5000])
def test_a_file_with_a_figure_that_is_none_is_no_json(figure: str) -> None:
    (fault,) = faults(f'{{"format": {figure}}}'.encode())
    assert fault.startswith("a.json: is no JSON: ")


def test_a_text_that_no_database_keeps_is_refused() -> None:
    file = small_file()
    file["rows"]["finishing.Crew"][0]["name"] = "half a pair: \ud800"
    (fault,) = faults(file)
    assert fault.startswith("a.json: its rows do not go together: ")


def test_a_company_that_is_there_already_is_not_touched() -> None:
    company = make_company("Larch Finishing")
    User.objects.create(company=company, email="office@larch.example")
    found = faults(exported(company))
    assert found == [
        "finishing.Company 1: is in this database already",
        "finishing.User 1: is in this database already",
        "finishing.Company 1, name: 'Larch Finishing' is taken",
        "finishing.User 1, email: 'office@larch.example' is taken",
    ]


def test_rows_that_the_database_does_not_take_leave_nothing() -> None:
    file = small_file()
    crew = file["rows"]["finishing.Crew"][0]
    twin = dict(crew, public_id="019afc00-0000-7000-8000-000000000001")
    file["rows"]["finishing.Crew"].append(twin)
    (fault,) = faults(file)
    assert fault.startswith("a.json: its rows do not go together: ")
    assert not Company.objects.exists()
