"""Programs that people read calendars with show what the plan says, through three publications.

``.ci/run`` installs them: libical from Debian, ical.js and node-ical from npm, the others from the
dependency group ``clients``. Files they are given, and what vdirsyncer fetches, come from the
running server.
"""

from collections.abc import Callable, Mapping
from pathlib import Path

import httpx
import pytest
from pytest_django import Settings
from pytest_django.live_server_helper import LiveServer

from finishing.models import Crew
from scheduling.models import FeedLink
from scheduling.services.links import blank_link, feed_address
from scheduling.services.new_feeds import add_feed
from tests.clients.by_stamps import ByStamps
from tests.clients.libical import Libical
from tests.clients.node_clients import NodeClient
from tests.clients.planned import assert_visits_are_the_plan, planned_for
from tests.clients.python_clients import IcalLibrary, RecurringIcalEvents, Vobject
from tests.clients.reading import CalendarClient, Reading, Served
from tests.clients.scenario import Scenario, make_scenario
from tests.clients.subscribed import Subscribed
from tests.clients.verdict import Verdict

pytestmark = [pytest.mark.clients, pytest.mark.django_db(transaction=True)]

CLIENTS: Mapping[str, Callable[[Path], CalendarClient]] = {
    "libical": lambda _: Libical(),
    "ical.js": lambda _: NodeClient("read_ical_js.cjs"),
    "node-ical": lambda _: NodeClient("read_node_ical.cjs"),
    "ical": lambda _: IcalLibrary(),
    "vobject": lambda _: Vobject(),
    "recurring-ical-events": lambda _: RecurringIcalEvents(),
    "by stamps": lambda _: ByStamps(),
    "vdirsyncer and khal": Subscribed,
}


def in_spanish(link: FeedLink) -> FeedLink:
    link.language = Crew.Language.SPANISH
    link.shows_drying = True
    return link


@pytest.fixture
def scenario(
    monkeypatch: pytest.MonkeyPatch, settings: Settings, live_server: LiveServer
) -> Scenario:
    """The company, behind a server whose clock is the scenario's."""
    scenario = make_scenario()
    settings.SITE_URL = live_server.url
    monkeypatch.setattr("django.utils.timezone.now", lambda: scenario.now)
    return scenario


FEEDS: Mapping[str, Callable[[Scenario], FeedLink]] = {
    "crew in Berlin": lambda s: blank_link(company=s.company, crew=s.crews[0]),
    "crew in New York": lambda s: blank_link(company=s.company, crew=s.crews[1]),
    "crew in Santiago": lambda s: blank_link(company=s.company, crew=s.crews[2]),
    "house renamed": lambda s: blank_link(company=s.company, house=s.places[0].house),
    "house whose handover goes": lambda s: blank_link(company=s.company, house=s.places[1].house),
    "person": lambda s: blank_link(company=s.company, person=s.person),
    "company": lambda s: in_spanish(blank_link(company=s.company)),
}


@pytest.mark.parametrize("feed", FEEDS)
def test_every_program_shows_what_is_planned(scenario: Scenario, feed: str, tmp_path: Path) -> None:
    link = FEEDS[feed](scenario)
    link.for_whom = "Bench"
    add_feed(link=link, now=scenario.now)
    verdict = Verdict()
    clients = {name: start(tmp_path) for name, start in CLIENTS.items()}
    for publication in scenario.publications():
        assert_visits_are_the_plan(scenario.company)
        planned = planned_for(link)
        address = feed_address(link)
        served = Served(address, httpx.get(address).raise_for_status().content)
        for name, client in clients.items():
            verdict.add(name, publication, _read(client, served), planned)
    assert verdict.is_good, str(verdict)


def _read(client: CalendarClient, served: Served) -> Reading | Exception:
    """Return what a client shows, or how it fails: that is an answer too."""
    try:
        return client.read(served)
    except Exception as error:
        return error
