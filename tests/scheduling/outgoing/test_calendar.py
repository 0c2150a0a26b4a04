"""Visits put into a collection of a real CalDAV server: each once, ours alone, none left over."""

import os
import shutil
import socket
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from caldav.collection import Calendar as DavCalendar
from caldav.davclient import DAVClient
from icalendar import Calendar, Event
from pytest_django import Settings

from finishing.config.hosts import AllowedHosts
from finishing.models import Company, Crew, House
from scheduling.models import CalendarPush, FeedLink, Outgoing, Publication, PushedEntry, Visit
from scheduling.outgoing.retries import MOST_ATTEMPTS
from scheduling.outgoing.send import send_due
from scheduling.services.endpoints import switch
from scheduling.services.links import make_link
from scheduling.services.pushes import add_push, empty_push, push_for_the_day
from tests.factories import make_company, make_crew, make_house, task
from tests.scheduling.outgoing.calendar_server import (
    PASSWORD,
    USER,
    CalendarServer,
    calendar_server,
)
from tests.scheduling.outgoing.receiver import LOOPBACK, Receiver
from tests.scheduling.test_publish import publish

pytestmark = [pytest.mark.django_db, pytest.mark.clients]

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
MONDAY, TUESDAY = "2026-03-02 08:00", "2026-03-03 08:00"
MINUTE = timedelta(minutes=1)


@pytest.fixture(scope="module")
def kept_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[CalendarServer]:
    with calendar_server(tmp_path_factory.mktemp("radicale")) as server:
        yield server


@pytest.fixture
def server(kept_server: CalendarServer, settings: Settings) -> CalendarServer:
    """The server with an empty collection, which may be sent to."""
    for path in kept_server.files().values():
        path.unlink()
    settings.CALDAV_HOSTS = kept_server.allowed
    settings.CALDAV_CA_FILE = str(kept_server.authority)
    return kept_server


@pytest.fixture
def company() -> Company:
    return make_company()


def begin(company: Company, server: CalendarServer, password: str = PASSWORD) -> CalendarPush:
    crew = Crew.objects.filter(company=company).first() or make_crew(company, "Crew\nZoë")
    return add_push(
        link=make_link(crew=crew),
        address=server.collection,
        username=USER,
        password=password,
        now=NOW,
    )


def publish_on(company: Company, *starts: str, now: datetime = NOW) -> None:
    crew = Crew.objects.get(company=company)
    house = House.objects.filter(company=company).first() or make_house(
        company, rooms=("Hall", "Kitchen")
    )
    rooms = ("Hall", "Kitchen")
    tasks = [task(crew, house, at, room=rooms[n]) for n, at in enumerate(starts)]
    publish(company, *tasks, now=now)


def send(moment: datetime = NOW) -> Outgoing:
    """Send what is due and return the last row that was tried."""
    return send_due(clock=lambda: moment)[-1]


def events(server: CalendarServer) -> dict[str, tuple[str, str]]:
    """Return by UID what the library that others use reads there: status and start."""
    found = {}
    with DAVClient(
        url=server.collection,
        username=USER,
        password=PASSWORD,
        ssl_verify_cert=str(server.authority),
        enable_rfc6764=False,
    ) as client:
        there = DavCalendar(client, url=server.collection).get_events()
        assert isinstance(there, list)
        for event in there:
            (component,) = Calendar.from_ical(event.data).walk("VEVENT")
            assert isinstance(component, Event)
            start = f"{component.start:%a %H:%M}"
            found[str(component["uid"])] = (str(component["status"]), start)
    return found


def test_visits_are_put_there_moved_and_called_off(
    company: Company, server: CalendarServer
) -> None:
    begin(company, server)
    publish_on(company, MONDAY)
    assert send().state == "sent"
    uid = str(Visit.objects.get().uid)
    assert events(server) == {uid: ("CONFIRMED", "Mon 08:00")}
    publish_on(company, TUESDAY, now=NOW + MINUTE)
    send(NOW + MINUTE)
    assert events(server) == {uid: ("CONFIRMED", "Tue 08:00")}
    publish_on(company, now=NOW + 2 * MINUTE)
    send(NOW + 2 * MINUTE)
    assert events(server) == {uid: ("CANCELLED", "Tue 08:00")}


def test_the_same_bytes_are_sent_once(company: Company, server: CalendarServer) -> None:
    begin(company, server)
    publish_on(company, MONDAY, TUESDAY)
    send()
    before = {name: path.stat().st_mtime_ns for name, path in server.files().items()}
    assert len(before) == 2
    publish_on(company, MONDAY, "2026-03-04 08:00", now=NOW + MINUTE)
    send(NOW + MINUTE)
    after = {name: path.stat().st_mtime_ns for name, path in server.files().items()}
    assert after.keys() == before.keys()
    assert len([name for name in after if after[name] != before[name]]) == 1


def test_only_what_we_put_there_is_deleted(company: Company, server: CalendarServer) -> None:
    begin(company, server)
    send()
    (none_planned,) = server.files()
    theirs = server.files()[none_planned].with_name("dentist.ics")
    content = server.files()[none_planned].read_text(encoding="utf-8")
    theirs.write_text(content.replace(none_planned.removesuffix(".ics"), "dentist"))
    publish_on(company, MONDAY)
    send()
    names = {f"{Visit.objects.get().uid}.ics", "dentist.ics"}
    assert server.files().keys() == names, "the entry that nothing is planned has gone"
    assert PushedEntry.objects.count() == 1


def test_what_somebody_deleted_there_is_gone_without_a_word(
    company: Company, server: CalendarServer
) -> None:
    begin(company, server)
    send()
    for path in server.files().values():
        path.unlink()
    publish_on(company, MONDAY)
    assert send().state == "sent"
    assert len(server.files()) == 1


def test_of_several_that_wait_only_the_newest_pushes(
    company: Company, server: CalendarServer
) -> None:
    begin(company, server)
    publish_on(company, MONDAY)
    send()
    assert [row.state for row in Outgoing.objects.order_by("pk")] == ["overtaken", "sent"]


def test_each_day_it_is_brought_up_to_date_once(company: Company, server: CalendarServer) -> None:
    begin(company, server)
    for hours in (0, 1, 2, 24):
        push_for_the_day(now=NOW + timedelta(hours=hours))
    keys = [row.key.rpartition(":")[2] for row in Outgoing.objects.order_by("pk")]
    assert keys == ["start", "2026-03-01", "2026-03-02"]


def test_a_wrong_password_is_said_and_is_in_nothing_that_is_stored(
    company: Company, server: CalendarServer
) -> None:
    push = begin(company, server, password="open barley")
    row = send()
    assert (row.state, "password" in row.error) == ("waiting", True)
    assert "barley" not in push.password + row.error + str(row.payload)
    assert server.files() == {}


def test_a_server_that_is_away_leaves_the_publication_as_it_is(
    company: Company, server: CalendarServer, settings: Settings
) -> None:
    push = begin(company, server)
    publish_on(company, MONDAY)
    settings.CALDAV_HOSTS = AllowedHosts(frozenset({("localhost", 1)}), LOOPBACK)
    CalendarPush.objects.update(address="https://localhost:1/visits/")
    row = send()
    assert (row.state, "cannot be reached" in row.error) == ("waiting", True)
    Outgoing.objects.filter(pk=row.pk).update(attempts=MOST_ATTEMPTS - 1, due_at=NOW)
    assert send().state == "given_up"
    push.refresh_from_db()
    assert push.off_why == "failing"
    assert Publication.objects.count() == 1


def test_a_host_that_is_not_listed_is_asked_nothing(
    company: Company, server: CalendarServer, settings: Settings
) -> None:
    begin(company, server)
    settings.CALDAV_HOSTS = AllowedHosts(frozenset({("localhost", server.port)}))
    assert send().error == "its host is in a private network that is not listed"
    assert server.files() == {}


def test_what_is_connected_to_is_the_address_that_was_checked(
    company: Company, server: CalendarServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A name server that gives a public address to whoever checks, and another one after that:
    192.0.2.1 is nobody's (RFC 5737), so going there would fail."""
    begin(company, server)
    asked: list[str] = []
    looked_up = socket.getaddrinfo

    def changes_its_mind(host: str, port: int, *rest: Any, **more: Any) -> Any:
        asked.append(host)
        return looked_up("127.0.0.1" if len(asked) == 1 else "192.0.2.1", port, *rest, **more)

    monkeypatch.setattr(socket, "getaddrinfo", changes_its_mind)
    assert send().state == "sent"
    assert asked == ["localhost"]


def test_a_certificate_of_nobody_we_trust_is_refused(
    company: Company, server: CalendarServer, settings: Settings
) -> None:
    begin(company, server)
    settings.CALDAV_CA_FILE = ""
    row = send()
    assert (row.state, server.files()) == ("waiting", {})


def lead_to(received: Receiver, settings: Settings) -> None:
    """Have what is pushed go to a server that answers as it is told."""
    settings.CALDAV_HOSTS = received.allowed
    settings.CALDAV_CA_FILE = os.environ["SSL_CERT_FILE"]
    CalendarPush.objects.update(address=f"https://localhost:{received.port}/visits/")


@pytest.mark.parametrize("status", [429, 503])
def test_a_server_is_left_alone_for_as_long_as_it_asks(
    company: Company,
    server: CalendarServer,
    received: Receiver,
    settings: Settings,
    status: int,
) -> None:
    """RFC 6585, 4 and RFC 9110, 10.2.3 and 15.6.4: to what is put there and to what is deleted."""
    push = begin(company, server)
    lead_to(received, settings)
    received.answers = [(status, {"Retry-After": "10800"})]
    row = send()
    assert (row.state, row.error) == ("waiting", f"the server answered {status}")
    assert row.due_at == NOW + timedelta(hours=3)
    assert send_due(clock=lambda: row.due_at - MINUTE) == []
    assert send(row.due_at).state == "sent"
    push.refresh_from_db()
    empty_push(push=push, version=push.version, now=NOW)
    received.answers = [(status, {"Retry-After": "Sun, 01 Mar 2026 20:00:00 GMT"})]
    assert send().due_at == NOW + timedelta(hours=2)
    moment = NOW + timedelta(hours=2)
    for headers in ({}, {"Retry-After": "9" * 400}):
        received.answers = [(status, headers)]
        row = send(moment)
        assert "server" in row.error
        assert moment < row.due_at < moment + 10 * MINUTE, "our own pause"
        moment = row.due_at
    assert send(moment).state == "sent"
    assert not CalendarPush.objects.exists()


def test_a_redirect_is_not_followed(
    company: Company, server: CalendarServer, received: Receiver, settings: Settings
) -> None:
    begin(company, server)
    lead_to(received, settings)
    received.answers = [(301, {"Location": server.collection})]
    row = send()
    assert (row.state, "TooManyRedirects" in row.error) == ("waiting", True)
    assert (len(received.requests), server.files()) == (1, {})


def test_a_feed_that_was_revoked_is_pushed_nowhere(
    company: Company, server: CalendarServer
) -> None:
    push = begin(company, server)
    push.link.revoked_at = NOW
    push.link.save()
    assert (send().state, server.files()) == ("given_up", {})


def test_what_was_put_there_is_taken_out_and_the_push_goes(
    company: Company, server: CalendarServer
) -> None:
    push = begin(company, server)
    publish_on(company, MONDAY, TUESDAY)
    send()
    other = server.folder / "collection-root" / USER / "visits" / "theirs.ics"
    shutil.copy(next(iter(server.files().values())), other)
    push.refresh_from_db()
    empty_push(push=push, version=push.version, now=NOW + MINUTE)
    publish_on(company, MONDAY, now=NOW + MINUTE)
    row = send(NOW + MINUTE)
    assert (row.state, set(server.files())) == ("sent", {"theirs.ics"})
    assert not CalendarPush.objects.exists()
    assert Outgoing.objects.get(pk=row.pk).recipient == "localhost"
    push_for_the_day(now=NOW + MINUTE)
    assert send_due(clock=lambda: NOW + MINUTE) == []


def test_of_a_revoked_feed_and_a_push_that_is_off_it_is_taken_out_as_well(
    company: Company, server: CalendarServer
) -> None:
    push = begin(company, server)
    publish_on(company, MONDAY)
    send()
    FeedLink.objects.update(revoked_at=NOW)
    push.refresh_from_db()
    switch(endpoint=push, version=push.version, on=False, now=NOW)
    empty_push(push=push, version=push.version, now=NOW)
    assert (send().state, server.files()) == ("sent", {})


def test_what_cannot_be_taken_out_is_tried_again_and_asked_for_once_more(
    company: Company, server: CalendarServer, settings: Settings
) -> None:
    push = begin(company, server)
    publish_on(company, MONDAY)
    send()
    push.refresh_from_db()
    settings.CALDAV_CA_FILE = ""
    empty_push(push=push, version=push.version, now=NOW)
    moment = NOW
    while (row := send(moment)).state == "waiting":
        moment = row.due_at
    push.refresh_from_db()
    assert (row.state, push.off_why) == ("given_up", "failing")
    assert len(server.files()) == 1
    settings.CALDAV_CA_FILE = str(server.authority)
    empty_push(push=push, version=push.version, now=moment)
    assert (send(moment).state, server.files()) == ("sent", {})
