"""``publish`` and ``feed`` on the command line."""

from datetime import date
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from finishing.models import Company, Crew, ReadinessLine
from scheduling.models import FeedLink
from scheduling.services.links import feed_address, revoke_link
from tests.factories import local, make_company, make_crew, make_house, make_plan, task
from tests.scheduling.feed_reading import crew_feed

pytestmark = pytest.mark.django_db

SUNDAY = "2026-03-01"


@pytest.fixture
def company() -> Company:
    """Two crews; work on Tuesday, and on Monday in a house without power."""
    company = make_company()
    north, south = make_crew(company), make_crew(company, "South crew")
    dark = make_house(company, "Weir House")
    ReadinessLine.objects.create(company=company, house=dark, item="power")
    make_plan(
        company,
        [
            task(north, make_house(company), "2026-03-03 08:00"),
            task(south, dark, "2026-03-02 08:00"),
        ],
    )
    return company


def publish(*arguments: str) -> list[str]:
    out = StringIO()
    call_command("publish", "--today", SUNDAY, *arguments, stdout=out)
    return out.getvalue().splitlines()


def test_publish_says_what_it_did_and_where_the_feeds_are(company: Company) -> None:
    lines = publish()
    north, south = FeedLink.objects.order_by("crew__name")
    assert lines == [
        "published revision 1: 1 new, 0 moved, 0 cancelled, 0 unchanged, 1 held back",
        "held back: South crew, Weir House, Mon 2 Mar 08:00: not ready: power",
        f"North crew: {feed_address(north)}",
        f"South crew: {feed_address(south)}",
    ]


def test_publishing_again_says_that_nothing_changed(company: Company) -> None:
    publish()
    revoke_link(link=FeedLink.objects.get(crew__name="South crew"), now=local("2026-03-01 09:00"))
    lines = publish("--company", company.name)
    assert lines[0].startswith("revision 1 stands: 0 new, 0 moved, 0 cancelled, 1 unchanged")
    assert lines[-1] == "South crew: ended"


def test_nothing_to_publish_is_an_error() -> None:
    make_company()
    with pytest.raises(CommandError, match="nothing is planned yet"):
        publish()


def test_an_unknown_company_is_an_error_that_lists_the_known(company: Company) -> None:
    with pytest.raises(CommandError, match="Test Finishing"):
        publish("--company", "Nobody")


def test_feed_writes_the_calendar(
    company: Company, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    publish()
    call_command("feed", "North crew", "--today", SUNDAY)
    crew = Crew.objects.get(name="North crew")
    expected = crew_feed(crew=crew, today=date(2026, 3, 1))
    assert capfdbinary.readouterr().out == expected
    assert b"Mill Cottage" in expected


def test_an_unknown_crew_is_an_error_that_lists_the_known(company: Company) -> None:
    with pytest.raises(CommandError, match="no crew 'West'; its crews: North crew, South crew"):
        call_command("feed", "West")
