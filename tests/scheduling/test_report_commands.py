"""``manage.py report``, ``unreported``, ``absent``, ``lend`` and ``pin``: words of the trade, local
times, all faults at once."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from finishing.models import Crew, DayOff, Loan
from scheduling.models import Pin, Report
from tests.factories import local, make_crew
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


def test_times_are_on_the_clock_of_the_crew_and_not_of_the_company() -> None:
    company, _ = make_site(system="All-purpose drying")
    Crew.objects.update(zone="Europe/Madrid")
    published_from(company, MONDAY)
    output("report", "North crew", "Mill Cottage", "tape", "--done", "2026-03-02 12:30")
    assert Report.objects.get().at == utc("2026-03-02 11:30")
    output(
        "pin", "Mill Cottage", "finish", "--crew", "North crew", "--at", "2026-03-05 10:00",
        "--today", "2026-03-03",
    )  # fmt: skip
    assert Pin.objects.get().starts_at == utc("2026-03-05 09:00")


def test_crew_and_member_are_away_and_back() -> None:
    make_site()
    assert "North crew 1 of North crew: away on 3 days" in output(
        "absent",
        "North crew",
        "2026-03-05..2026-03-07",
        "--member",
        "North crew 1",
        "--reason",
        "ill",
    )
    assert set(DayOff.objects.values_list("member__name", "reason")) == {("North crew 1", "ill")}
    assert "2 days off taken back" in output(
        "absent", "North crew", "2026-03-06..2026-03-09", "--member", "North crew 1", "--back"
    )
    output("absent", "North crew", "2026-03-10")
    assert DayOff.objects.get(member=None).day.isoformat() == "2026-03-10"
    said = faults("absent", "South crew", "soon")
    assert len(said) == 2
    (no_such,) = faults("absent", "North crew", "2026-03-10", "--member", "Nobody")
    assert "North crew 1, North crew 2" in no_such


def test_member_is_lent_and_comes_back() -> None:
    company, _ = make_site()
    make_crew(company, "South crew")
    output("lend", "North crew 1", "South crew", "2026-03-05; 2026-03-06")
    assert {loan.crew.name for loan in Loan.objects.all()} == {"South crew"}
    assert "1 day with South crew taken back" in output(
        "lend", "North crew 1", "South crew", "2026-03-06", "--back"
    )
    (own,) = faults("lend", "North crew 1", "North crew", "2026-03-09")
    assert "is in North crew already" in own
    assert len(faults("lend", "Nobody", "West crew", "2026-02-30")) == 3


def test_pins_are_set_listed_named_when_released_and_ended() -> None:
    make_site(system="All-purpose drying")
    work = ("Mill Cottage", "second")
    output(
        "pin", *work, "--crew", "North crew", "--at", "2026-03-04 12:00", "--today", "2026-03-02"
    )
    listed = output("pin", "--list", "--today", "2026-03-02")
    assert listed.strip() == "Mill Cottage, Second coat, Hall: North crew, Wed 4 Mar 12:00"
    output("absent", "North crew", "2026-03-04")
    said = output("replan", "--today", "2026-03-02", "--work", "2")
    assert "(pinned): Second coat, Hall cannot stay: it does not fit" in said
    assert "1 pins ended" in output("pin", *work, "--end")
    assert "nothing is pinned" in output("pin", "--list", "--today", "2026-03-02")


def test_pin_says_all_that_is_wrong_with_it() -> None:
    make_site()
    with pytest.raises(CommandError, match="needed: crew, at"):
        output("pin", "Mill Cottage", "tape")
    said = faults("pin", "Nowhere", "tape", "--crew", "Nobody", "--at", "noon")
    assert len(said) == 3
