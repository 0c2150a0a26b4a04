"""What all programs are held against: a company behind a running server."""

from collections.abc import Callable, Mapping

import httpx
import pytest
from pytest_django import Settings
from pytest_django.live_server_helper import LiveServer

from scheduling.models import FeedLink
from scheduling.services.links import feed_address
from scheduling.services.new_feeds import add_feed
from tests.clients.planned import assert_visits_are_the_plan, planned_for
from tests.clients.reading import CalendarClient, Reading, Served
from tests.clients.scenario import Scenario, make_scenario
from tests.clients.verdict import Verdict

type Clients = Mapping[str, CalendarClient]
type Follow = Callable[[FeedLink, Clients], Verdict]


@pytest.fixture
def scenario(
    monkeypatch: pytest.MonkeyPatch, settings: Settings, live_server: LiveServer
) -> Scenario:
    """The company, behind a server whose clock is the scenario's."""
    scenario = make_scenario()
    settings.SITE_URL = live_server.url
    monkeypatch.setattr("django.utils.timezone.now", lambda: scenario.now)
    return scenario


@pytest.fixture
def follow(scenario: Scenario) -> Follow:
    """Returns a function that lets programs follow a calendar through the publications."""

    def follow(link: FeedLink, clients: Clients) -> Verdict:
        link.for_whom = "Bench"
        add_feed(link=link, now=scenario.now)
        address = feed_address(link)
        verdict = Verdict()
        for publication in scenario.publications():
            assert_visits_are_the_plan(scenario.company)
            planned = planned_for(link)
            served = Served(address, httpx.get(address).raise_for_status().content)
            for name, client in clients.items():
                verdict.add(name, publication, _read(client, served), planned)
        return verdict

    return follow


def _read(client: CalendarClient, served: Served) -> Reading | Exception:
    """Return what a client shows, or how it fails: that is an answer too."""
    try:
        return client.read(served)
    except Exception as error:
        return error
