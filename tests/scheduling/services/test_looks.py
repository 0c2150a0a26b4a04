"""Word of visits that arrive before a coat is dry: once for each coat of each visit."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from pytest_django import Settings

from finishing.config.hosts import AllowedHosts
from finishing.models import AirSource, Company
from finishing.services.air import Reading, store_air
from scheduling.models import Outgoing, Visit, Webhook
from scheduling.outgoing.send import send_due
from scheduling.services import looks
from scheduling.services.looks import tell_of_wet_visits
from scheduling.services.sent_reports import Sent
from scheduling.services.visit_reports import say_not_dry
from scheduling.services.webhooks import add_webhook
from scheduling.services.wet_visits import WetCoat, WetVisit
from tests.factories import make_company, make_crew, make_house, task
from tests.plans import published_from
from tests.scheduling.test_publish import publish
from tests.sites import MONDAY, make_site

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture
def company(settings: Settings) -> Company:
    settings.WEBHOOK_HOSTS = AllowedHosts(frozenset({("hooks.example", 443)}))
    return make_company()


def listen(company: Company, *events: str) -> Webhook:
    return add_webhook(company=company, address="https://hooks.example/", events=events, now=NOW)[0]


def coat(room: str, ready_at: datetime = NOW + 50 * HOUR) -> WetCoat:
    return WetCoat(room, "second", "tape", ready_at, "dust", "forecast")


@pytest.fixture
def found(company: Company, monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Have a visit of the company find these coats wet; what is found is another module's test."""
    house = make_house(company, rooms=("Hall", "Kitchen"))
    publish(company, task(make_crew(company), house, "2026-03-03 08:00"))

    def find(*coats: WetCoat) -> None:
        visit = Visit.objects.select_related("crew", "house").get()
        monkeypatch.setattr(looks, "wet_visits", lambda **_: [WetVisit(visit, coats)])

    return find


def told() -> list[list[str]]:
    rows = Outgoing.objects.filter(kind="webhook").order_by("pk")
    return [[one["room"] for one in row.payload["data"]["coats"]] for row in rows]


@pytest.mark.django_db
def test_each_coat_is_told_once_however_the_forecast_swings(
    company: Company, found: Callable[..., None]
) -> None:
    listen(company, "visit.before_dry")
    found(coat("Hall"))
    tell_of_wet_visits(company=company, now=NOW)
    found(coat("Hall", NOW + 60 * HOUR), coat("Kitchen"))
    tell_of_wet_visits(company=company, now=NOW + HOUR)
    found()
    tell_of_wet_visits(company=company, now=NOW + 2 * HOUR)
    found(coat("Kitchen"), coat("Hall"))
    tell_of_wet_visits(company=company, now=NOW + 3 * HOUR)
    assert told() == [["Hall"], ["Kitchen"]]
    Visit.objects.update(sequence=1)
    found(coat("Hall"))
    tell_of_wet_visits(company=company, now=NOW + 4 * HOUR)
    assert told() == [["Hall"], ["Kitchen"], ["Hall"]], "moved, and too early again"


@pytest.mark.django_db
def test_what_is_told(company: Company, found: Callable[..., None]) -> None:
    listen(company, "visit.before_dry")
    found(coat("Hall"))
    tell_of_wet_visits(company=company, now=NOW)
    payload = Outgoing.objects.get().payload
    assert payload["type"] == "visit.before_dry"
    assert payload["data"]["visit"]["uid"] == str(Visit.objects.get().uid)
    assert payload["data"]["coats"] == [
        {
            "room": "Hall",
            "stage": "second",
            "coat": "tape",
            "ready_at": (NOW + 50 * HOUR).isoformat(),
            "reason": "dust",
        }
    ]


@pytest.mark.django_db
def test_who_listens_to_something_else_is_told_nothing(
    company: Company, found: Callable[..., None]
) -> None:
    listen(company, "plan.published")
    found(coat("Hall"))
    tell_of_wet_visits(company=company, now=NOW)
    assert told() == []


@pytest.mark.django_db(transaction=True)
def test_new_air_has_visits_looked_at_once_it_is_stored(company: Company) -> None:
    source = AirSource.objects.create(company=company, name="Yard", kind="station")
    air = {NOW: Reading(12.0, 0.8)}
    store_air(source=source, readings=air)
    assert not Outgoing.objects.exists(), "nobody listens"
    listen(company, "visit.before_dry")
    store_air(source=source, readings=air)
    store_air(source=source, readings=air)
    row = Outgoing.objects.get()
    assert row.kind == "look"
    send_due(clock=lambda: row.due_at)
    row.refresh_from_db()
    assert row.state == "sent"
    store_air(source=source, readings=air)
    assert Outgoing.objects.get().state == "waiting", "the look that is over is gone"


@pytest.mark.django_db(transaction=True)
def test_air_is_stored_whatever_comes_of_it(
    company: Company, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(looks, "listening", broken)
    source = AirSource.objects.create(company=company, name="Yard", kind="station")
    store_air(source=source, readings={NOW: Reading(12.0, 0.8)})
    assert source.days.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_coat_found_wet_has_the_visit_that_goes_over_it_told(settings: Settings) -> None:
    settings.WEBHOOK_HOSTS = AllowedHosts(frozenset({("hooks.example", 443)}))
    company, _ = make_site(system="All-purpose drying")
    published_from(company, MONDAY)
    listen(company, "visit.before_dry")
    visits = Visit.objects.select_related("crew__company", "house").order_by("starts_at")
    first, second = visits[:2]
    at = first.ends_at + HOUR
    tell_of_wet_visits(company=company, now=at)
    assert not Outgoing.objects.exists(), "dry by then, as far as anybody knows"
    key = second.content["tasks"][0]["key"]
    say_not_dry(Sent(uuid4(), second.crew, second, at, at), [key], timedelta(days=3))
    assert Outgoing.objects.get().kind == "look"
    tell_of_wet_visits(company=company, now=at)
    assert told() == [[second.content["tasks"][0]["room"]]]
