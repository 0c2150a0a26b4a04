"""``manage.py report`` and ``unreported``: words of the trade, local times, all faults at once."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from scheduling.models import Report
from tests.factories import local
from tests.plans import published_from
from tests.sites import MONDAY, make_site, utc

pytestmark = pytest.mark.django_db(transaction=True)


def output(*command: str) -> str:
    out = StringIO()
    call_command(*command, stdout=out)
    return out.getvalue()


def faults(*command: str) -> list[str]:
    err = StringIO()
    with pytest.raises(CommandError, match="nothing was changed"):
        call_command(*command, stderr=err)
    return err.getvalue().splitlines()


def test_a_report_in_the_crews_own_words_and_on_its_own_clock() -> None:
    company, _ = make_site(rooms=("Hall", "Kitchen"), system="All-purpose drying")
    published_from(company, MONDAY)
    said = output(
        "report", "North crew", "Mill Cottage", "Tape coat", "--room", "Hall", "--done",
        "2026-03-02 09:30", "--today", "2026-03-02",
    )  # fmt: skip
    assert "Mill Cottage, Ground floor, Hall, Tape coat: done Mon 2 Mar 09:30" in said
    assert Report.objects.get().at == local("2026-03-02 09:30")
    assert output("unreported", "--today", "2026-03-03").count("Hall") == 0
    assert "Tape coat (Kitchen)" in output("unreported", "--today", "2026-03-03")
    replanned = output("replan", "--today", "2026-03-03", "--work", "2")
    assert "1 past tasks count as done as planned" in replanned


def test_an_hour_alone_is_today_and_all_rooms_are_meant_where_none_is_named() -> None:
    company, _ = make_site(rooms=("Hall", "Kitchen"))
    published_from(company, MONDAY)
    output(
        "report", "North crew", "Mill Cottage", "tape", "--done", "11:45", "--today", "2026-03-02"
    )
    assert {report.at for report in Report.objects.all()} == {utc("2026-03-02 11:45")}
    assert Report.objects.count() == 2


def test_every_fault_is_said_at_once() -> None:
    make_site()
    said = faults(
        "report", "Nobody", "Mill Cottage", "plaster", "--room", "Attic", "--done", "soon"
    )
    assert len(said) == 4
    assert any("known: North crew" in line for line in said)
    assert any("'plaster'" in line and "tape" in line for line in said)
    assert any("'Attic'; known: Hall" in line for line in said)
    assert not Report.objects.exists()


def test_a_time_that_the_clock_skips_or_has_twice_is_refused() -> None:
    """Summer time in Ireland begins on 29 March 2026 at 1:00 and ends on 25 October at 2:00."""
    make_site()
    work = ("report", "North crew", "Mill Cottage", "tape", "--done")
    (skipped,) = faults(*work, "2026-03-29 01:30")
    assert "does not exist in Europe/Dublin" in skipped
    (twice,) = faults(*work, "2026-10-25 01:30")
    assert "happens twice" in twice
