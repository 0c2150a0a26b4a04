"""``feed`` and ``feed_link`` of every kind on the command line."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from finishing.models import Company
from scheduling.models import CrewPage, FeedLink
from scheduling.services.publish import publish_plan
from tests.factories import local, make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db


@pytest.fixture
def company() -> Company:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    make_plan(company, [task(crew, house, "2026-03-03 08:00")])
    publish_plan(company=company, now=local("2026-03-01 18:00"))
    return company


def shown(*arguments: str) -> list[str]:
    out = StringIO()
    call_command("feed_link", *arguments, stdout=out)
    return out.getvalue().splitlines()


KINDS = [
    (["North crew"], "crew", "north-crew"),
    (["--house", "Mill Cottage"], "house", "mill-cottage"),
    (["--person", "North crew 2"], "person", "north-crew-2"),
    (["--all-crews"], "company", "test-finishing"),
]


@pytest.mark.parametrize(("arguments", "kind", "slug"), KINDS)
def test_a_link_of_each_kind_is_made_once_and_opens(
    company: Company, client: Client, arguments: list[str], kind: str, slug: str
) -> None:
    first = shown(*arguments)
    assert shown(*arguments) == first
    assert first[0].endswith(f"/{slug}.ics")
    assert len(first) == (3 if kind == "crew" else 2)
    link = FeedLink.objects.get(kind=kind)
    assert link.shows_drying == (kind == "house")
    path = first[0].removeprefix("http://127.0.0.1:8000")
    assert client.get(path).status_code == 200
    assert "has ended" in shown(*arguments, "--revoke")[0]
    assert client.get(path).status_code == 410
    assert shown(*arguments, "--renew") != first


@pytest.mark.parametrize(("arguments", "kind", "slug"), KINDS)
def test_a_calendar_of_each_kind_is_written(
    company: Company,
    capfdbinary: pytest.CaptureFixture[bytes],
    arguments: list[str],
    kind: str,
    slug: str,
) -> None:
    call_command("feed", *arguments, "--today", "2026-03-01")
    data = capfdbinary.readouterr().out
    assert data.endswith(b"END:VCALENDAR\r\n")
    assert b"Mill Cottage: Tape coat" in data


def test_options_are_set_and_changed(company: Company) -> None:
    of = ["--house", "Mill Cottage", "--for", "Site manager"]
    first = shown(*of, "--weeks", "6", "--language", "es", "--alarms", "--no-drying")
    link = FeedLink.objects.get(kind="house")
    assert (link.weeks, link.language, link.has_alarms, link.shows_drying, link.names_crews) == (
        6,
        "es",
        True,
        False,
        False,
    )
    assert shown(*of, "--weeks", "0", "--name-crews") == first
    link.refresh_from_db()
    assert (link.weeks, link.has_alarms, link.names_crews) == (None, True, True)
    assert len(shown("--house", "Mill Cottage")) == 2
    assert FeedLink.objects.filter(kind="house").count() == 2


def test_another_of_a_crew_leaves_its_page_alone(company: Company) -> None:
    shown("North crew", "--for", "Planner", "--renew")
    assert CrewPage.objects.get().generation == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["Nobody"], "no crew 'Nobody'; its crews: North crew"),
        (["--house", "Nowhere"], "no house 'Nowhere'; known: 'Mill Cottage'"),
        (["--person", "Nobody"], "no 'Nobody'; known: North crew 1, North crew 2"),
        (["North crew", "--weeks", "99"], "weeks"),
        (["North crew", "--for", "x" * 121], "for_whom"),
        ([], "required"),
        (["North crew", "--all-crews"], "not allowed with"),
    ],
)
def test_what_there_is_not_is_one_clear_error(
    company: Company, arguments: list[str], said: str
) -> None:
    with pytest.raises(CommandError, match=said):
        shown(*arguments)
