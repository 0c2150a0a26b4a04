"""Programs that people read calendars with show what the plan says, through three publications.

``.ci/run`` installs them: libical from Debian, ical.js and node-ical from npm, the others from the
dependency group ``clients``. Files they are given, and what vdirsyncer fetches, come from the
running server.
"""

from pathlib import Path

import pytest

from tests.clients.by_stamps import ByStamps
from tests.clients.conftest import Clients, Follow
from tests.clients.feeds import FEEDS
from tests.clients.libical import Libical
from tests.clients.node_clients import NodeClient
from tests.clients.python_clients import IcalLibrary, RecurringIcalEvents, Vobject
from tests.clients.scenario import Scenario
from tests.clients.subscribed import Subscribed

pytestmark = [pytest.mark.clients, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("feed", FEEDS)
def test_every_program_shows_what_is_planned(
    scenario: Scenario, follow: Follow, feed: str, tmp_path: Path
) -> None:
    clients: Clients = {
        "libical": Libical(),
        "ical.js": NodeClient("read_ical_js.cjs"),
        "node-ical": NodeClient("read_node_ical.cjs"),
        "ical": IcalLibrary(),
        "vobject": Vobject(),
        "recurring-ical-events": RecurringIcalEvents(),
        "by stamps": ByStamps(),
        "vdirsyncer and khal": Subscribed(tmp_path),
    }
    verdict = follow(FEEDS[feed](scenario), clients)
    assert verdict.is_good, str(verdict)
