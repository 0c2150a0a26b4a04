"""Evolution's data server and Thunderbird, without windows, follow the same publications.

Not run by ``.ci/run``: they are 400 MB and take minutes. On Debian, as anybody but root or root:

    apt-get install --no-install-recommends thunderbird evolution-data-server gir1.2-ecal-2.0 \
        python3-gi dbus-daemon
    uv run pytest tests/clients/desktop.py -m clients -n 0 -rA

The tables that it prints are what DEVELOPERS.md tells of.
"""

from contextlib import closing
from pathlib import Path

import pytest

from tests.clients.conftest import Follow
from tests.clients.evolution import Evolution
from tests.clients.feeds import FEEDS
from tests.clients.scenario import Scenario
from tests.clients.thunderbird import Thunderbird

pytestmark = [pytest.mark.clients, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("program", [Evolution, Thunderbird])
def test_a_desktop_program_shows_what_is_planned(
    scenario: Scenario,
    follow: Follow,
    program: type[Evolution | Thunderbird],
    feed: str,
    tmp_path: Path,
) -> None:
    with closing(program(tmp_path)) as client:
        verdict = follow(FEEDS[feed](scenario), {program.__name__: client})
    print(feed, verdict)  # noqa: T201 - the table is what this is run for
    assert verdict.is_good, str(verdict)
