"""Where news is sent to: added by the owner, looked at by planners, its secret shown once."""

import re
from datetime import UTC, datetime
from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries, Settings

from finishing.config.hosts import AllowedHosts
from finishing.models import Company, Deed, Role
from finishing.services.sealed import unseal
from scheduling.models import CalendarPush, Outgoing, PushedEntry, Webhook
from scheduling.services.endpoints import switch_off
from scheduling.services.links import make_link
from scheduling.services.pushes import add_push
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew
from tests.scheduling.outgoing.waiting import make_waiting

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
ADDRESS = "https://hooks.example/secret-path"
EVENT = {"type": "plan.published"}
TYPED = {"version": 0, "address": ADDRESS, "events": ["plan.published"]}


@pytest.fixture
def company(settings: Settings) -> Company:
    settings.WEBHOOK_HOSTS = AllowedHosts(frozenset({("hooks.example", 443)}))
    settings.CALDAV_HOSTS = AllowedHosts(frozenset({("dav.example", 443)}))
    return make_company()


@pytest.fixture
def owner(sign_in: SignIn, company: Company) -> Client:
    return sign_in(company)


def add(owner: Client, **typed: object) -> tuple[int, str]:
    answer = owner.post("/company/sending/new/webhook/", {**TYPED, **typed})
    return answer.status_code, answer.text


def change(client: Client, what: str, version: int | None = None) -> int:
    hook = Webhook.objects.get()
    sent = {"version": hook.version if version is None else version}
    return client.post(f"/company/sending/{hook.public_id}/{what}/", sent).status_code


def test_a_webhooks_secret_is_shown_once_and_kept_encrypted(owner: Client) -> None:
    status, text = add(owner)
    found = re.search(r"whsec_[\w+/=]+", text)
    assert found
    assert status == 200
    hook = Webhook.objects.get()
    assert unseal(hook.secret) == found[0]
    for address in ("/company/sending/", f"/company/sending/{hook.public_id}/"):
        assert "whsec_" not in owner.get(address).text
    assert add(owner)[0] == 422, "loading that page again makes no second one"
    assert Webhook.objects.count() == 1


def test_all_that_is_wrong_is_said_and_what_was_typed_stays(owner: Client) -> None:
    status, text = add(owner, address="http://a@other.example/")
    assert status == 422
    for said in ("begin with https", "user name and password out", "listed"):
        assert said in text
    assert 'value="http://a@other.example/"' in text
    assert "Tick at least one." in add(owner, events=[])[1]
    assert not Webhook.objects.exists()


def test_a_planner_looks_and_the_owner_changes(
    owner: Client, sign_in: SignIn, company: Company
) -> None:
    add(owner)
    hook = Webhook.objects.get()
    page = f"/company/sending/{hook.public_id}/"
    planner = sign_in(company, Role.PLANNER)
    text = planner.get(page).text
    assert "hooks.example" in text
    assert "secret-path" not in text, "an address may be a secret too"
    assert "secret-path" in owner.get(page).text
    assert change(planner, "off") == 403
    assert planner.get("/company/sending/new/webhook/").status_code == 403
    assert sign_in(company, Role.VIEWER).get(page).status_code == 403
    other = sign_in(make_company("Other Finishing"))
    assert other.get(page).status_code == 404
    assert change(other, "remove") == 404


def test_it_is_switched_off_and_on_and_removed(owner: Client, company: Company) -> None:
    add(owner)
    assert change(owner, "off") == 302
    hook = Webhook.objects.get()
    assert hook.off_why == "by_hand"
    assert change(owner, "remove", version=hook.version - 1) == 302
    assert Webhook.objects.exists(), "the page was no longer true"
    assert change(owner, "on") == 302
    assert Webhook.objects.get().off_at is None
    make_waiting(company, webhook=hook, kind="webhook")
    assert change(owner, "elsewhere") == 404
    assert change(owner, "remove") == 302
    assert not Outgoing.objects.exists()


def test_a_new_secret_is_shown_once_too(owner: Client) -> None:
    add(owner)
    before = Webhook.objects.get()
    sent = {"version": before.version}
    address = f"/company/sending/{before.public_id}/secret/"
    text = owner.post(address, sent).text
    after = Webhook.objects.get()
    assert unseal(after.secret) in text
    assert after.former_secret == before.secret
    assert "whsec_" not in owner.post(address, sent, follow=True).text, "a second press"


def test_the_log_says_what_failed_and_sends_it_again(owner: Client, company: Company) -> None:
    add(owner)
    hook = Webhook.objects.get()
    row = make_waiting(
        company, webhook=hook, kind="webhook", state="given_up", error="the answer was 503",
        payload=EVENT, ended_at=NOW,
    )  # fmt: skip
    page = f"/company/sending/{hook.public_id}/"
    text = owner.get(page).text
    assert "the answer was 503" in text
    assert "Publication" in text
    answer = owner.post(f"/publishing/sent/{row.public_id}/", {"version": row.version})
    assert answer["Location"] == page


def test_the_office_is_told_of_one_that_was_switched_off_by_itself(
    owner: Client, company: Company
) -> None:
    add(owner)
    assert "Nothing is sent there any more" not in owner.get("/publishing/").text
    Webhook.objects.update(off_at=NOW, off_why="failing")
    text = owner.get("/publishing/").text
    assert "Nothing is sent there any more" in text
    assert "hooks.example: switched off Sun 1 Mar 18:00" in text


def test_a_calendar_on_another_server(owner: Client, company: Company) -> None:
    link = make_link(crew=make_crew(company))
    theirs = make_link(crew=make_crew(make_company("Other Finishing")))
    typed = {
        "version": 0,
        "link": str(link.public_id),
        "address": "https://dav.example/north/visits/",
        "username": "north",
        "password": " sesame opens",
    }
    new = "/company/sending/new/calendar/"
    refused = owner.post(new, {**typed, "link": str(theirs.public_id)})
    assert refused.status_code == 422
    assert "sesame" not in refused.text, "a password goes nowhere but to its server"
    assert owner.post(new, typed).status_code == 302
    push = CalendarPush.objects.get()
    assert unseal(push.password) == " sesame opens"
    assert "sesame" not in push.password
    assert Outgoing.objects.get().calendar == push, "it is filled at once"
    assert "Calendar of North crew" in owner.get("/company/sending/").text
    page = owner.get(f"/company/sending/{push.public_id}/")
    assert "sesame" not in page.text
    assert "New secret" not in page.text


def test_with_no_calendar_yet_the_form_leads_to_making_one(owner: Client, company: Company) -> None:
    make_link(crew=make_crew(make_company("Other Finishing")))
    new = "/company/sending/new/calendar/"
    page = owner.get(new).text
    assert 'name="link"' not in page
    assert 'href="/company/feeds/"' in page
    make_link(crew=make_crew(company))
    assert 'name="link"' in owner.get(new).text


def test_many_take_no_more_queries_than_one(
    owner: Client, company: Company, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(3):
        link = make_link(crew=make_crew(company, f"Crew {number}"))
        common = {"company": company, "address": f"{ADDRESS}{number}", "made_at": NOW}
        CalendarPush.objects.create(link=link, **common)
        Webhook.objects.create(events=["plan.published"], secret="x", **common)
        hook = Webhook.objects.get(address=common["address"])
        make_waiting(company, str(number), webhook=hook, kind="webhook", payload=EVENT)
    with django_assert_num_queries(4):  # session, user, both lists
        owner.get("/company/sending/")
    with django_assert_num_queries(5):  # whose it is, the row, its deliveries
        owner.get(f"/company/sending/{hook.public_id}/")


def test_a_test_is_sent_and_waits_once(owner: Client) -> None:
    add(owner)
    assert "Send a test" in owner.get(f"/company/sending/{Webhook.objects.get().public_id}/").text
    for _ in range(2):
        assert change(owner, "test") == 302
    row = Outgoing.objects.get()
    assert (row.payload["type"], row.payload["data"]["test"]) == ("webhook.test", True)
    page = owner.get(f"/company/sending/{Webhook.objects.get().public_id}/").text
    assert "A test" in page
    assert change(owner, "off") == 302
    Outgoing.objects.all().delete()
    assert change(owner, "test") == 302
    assert not Outgoing.objects.exists(), "it is off"


def test_the_trail_says_what_was_done_with_a_webhook(owner: Client) -> None:
    add(owner)
    for what in ("off", "on", "secret"):
        change(owner, what)
    switch_off(endpoint=Webhook.objects.get(), why=Webhook.Off.FAILING, now=NOW)
    change(owner, "remove")
    trail = owner.get("/company/people/trail/").text
    for said in (
        "Began to send to the webhook at hooks.example",
        "Switched off the webhook at hooks.example<",
        "Switched on the webhook at hooks.example",
        "Gave the webhook at hooks.example a new secret",
        "Switched off the webhook at hooks.example: nothing could be sent for half a day",
        "Removed the webhook at hooks.example",
    ):
        assert said in trail
    assert "secret-path" not in f"{trail}{list(Deed.objects.values())}"


def push_with_entries(company: Company, count: int) -> CalendarPush:
    push = add_push(
        link=make_link(crew=make_crew(company)),
        address="https://dav.example/visits/",
        username="north",
        password="sesame",
        now=NOW,
    )
    Outgoing.objects.all().delete()
    for _ in range(count):
        PushedEntry.objects.create(company=company, push=push, uid=uuid4(), sha256="0" * 64)
    return push


def test_removing_a_calendar_asks_what_becomes_of_what_is_there(
    owner: Client, company: Company
) -> None:
    push = push_with_entries(company, 2)
    page = f"/company/sending/{push.public_id}/"
    text = owner.get(page).text
    assert "2 entries of yours are in the calendar there" in text
    assert owner.post(f"{page}empty/", {"version": push.version}).status_code == 302
    text = owner.get(page).text
    assert "being taken out since" in text
    assert "Take it out again" in text
    assert Outgoing.objects.get().calendar == push
    push.refresh_from_db()
    assert owner.post(f"{page}empty/", {"version": push.version - 1}).status_code == 302
    assert Outgoing.objects.count() == 1, "the page was no longer true"
    assert owner.post(f"{page}remove/", {"version": push.version}).status_code == 302
    assert not CalendarPush.objects.exists()
    assert owner.get("/company/sending/").status_code == 200


def test_a_calendar_with_nothing_in_it_is_removed_without_a_question(
    owner: Client, company: Company
) -> None:
    push = push_with_entries(company, 0)
    assert "Take them out" not in owner.get(f"/company/sending/{push.public_id}/").text
