"""The planning commands: clear output, and a clear error where there is nothing to do."""

import json
import re
import socket
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from finishing.models import Company, House, User
from finishing.services.companies import start_company
from scheduling.models import Publication, Visit
from tests.factories import ZONE, make_crew
from tests.sites import make_site

pytestmark = pytest.mark.django_db(transaction=True)

MONDAY = "2026-03-02"


def output(*command: str) -> str:
    out = StringIO()
    call_command(*command, stdout=out)
    return out.getvalue()


def test_replan_asks_for_houses_and_then_for_crews() -> None:
    company = start_company(name="Empty Finishing", zone=ZONE)
    with pytest.raises(CommandError, match="import_houses"):
        output("replan")
    make_crew(company)
    with pytest.raises(CommandError, match="import_houses"):
        output("replan")


@pytest.mark.parametrize("seconds", ["0", "-3", "soon", "nan", "inf"])
def test_replan_refuses_seconds_that_are_none(seconds: str) -> None:
    make_site()
    with pytest.raises(CommandError, match="seconds"):
        output("replan", "--seconds", seconds)


def test_show_plan_and_publish_ask_for_a_plan() -> None:
    make_site()
    with pytest.raises(CommandError, match="replan first"):
        output("show_plan")
    with pytest.raises(CommandError, match="nothing is planned"):
        output("publish")


def test_plan_shown_published_and_shown_as_json() -> None:
    make_site(rooms=("Hall", "Kitchen"))
    planned = output("replan", "--work", "2", "--today", MONDAY)
    assert "1 houses, 6 room coats in 10 tasks, 1 crews" in planned
    shown = output("show_plan")
    assert "North crew, Mon 02 Mar 2026" in shown
    assert "Mill Cottage: Tape coat (Hall, Kitchen)" in shown
    assert "due Fri 27 Mar" in shown
    data = json.loads(output("show_plan", "--json"))
    assert len(data["tasks"]) == 10
    assert {task["crew"] for task in data["tasks"]} == {"North crew"}
    assert "published revision 1" in output("publish", "--today", MONDAY)
    assert "revision 1 stands" in output("publish", "--today", MONDAY)


def test_handovers_are_told_by_the_clock_of_their_house() -> None:
    """New York is five hours behind Dublin, four while only one of them keeps summer time."""
    _, house = make_site(zone=ZONE)
    output("replan", "--work", "1", "--today", MONDAY)
    here = _ready_at(output("show_plan"))
    House.objects.filter(pk=house.pk).update(zone="America/New_York")
    there = _ready_at(output("show_plan"))
    assert (here - there) % timedelta(days=1) in {timedelta(hours=4), timedelta(hours=5)}


def _ready_at(shown: str) -> timedelta:
    found = re.search(r"ready .* (\d\d):(\d\d)", shown)
    assert found, shown
    return timedelta(hours=int(found[1]), minutes=int(found[2]))


def test_replan_ends_with_an_error_where_all_is_on_hold() -> None:
    make_site(temperature_c=4.0, system="All-purpose drying")
    out = StringIO()
    with pytest.raises(CommandError, match="nothing could be planned"):
        call_command("replan", "--work", "1", "--today", MONDAY, stdout=out)
    assert "too cold" in out.getvalue()
    assert "heat on by" in out.getvalue()


def test_demo_plans_compares_and_publishes() -> None:
    printed = output("demo", "--no-serve", "--seconds", "2", "--today", "2026-10-19")
    for figure in ("6 houses", "room coats", "3 crews", "days", "idle hours", "late handovers"):
        assert figure in printed
    units = [line for line in printed.splitlines() if line.startswith("dryer: ")]
    assert len(units) == 4, "two kinds of dehumidifier, three units, and an electric heater"
    assert not any("Gas heater" in line for line in units), "a flame is never offered"
    rows = {
        line[:28].strip(): [float(cell) for cell in line[28:].split()]
        for line in printed.splitlines()
        if re.match(r"(this plan|one house|each coat|planned for) ", line)
    }
    days, idle, late, days_late, wet = rows["this plan"]
    assert wet == 0, "the plan was made for this very air"
    serial = rows["one house after another"]
    fixed = rows["each coat a fixed 24 hours"]
    assert fixed[4] > 0, "in a humid week 24 hours are not always enough"
    assert days < serial[0]
    assert (late, days_late) <= (serial[2], serial[3])
    assert (late, days_late) <= (fixed[2], fixed[3])
    assert idle < serial[1]
    average, cautious = (rows[f"planned for {air} air"] for air in ("average", "8-in-10"))
    # Two plans of two seconds each say nothing of caution itself; test_cautious_air.py does.
    assert cautious[4] == average[4], "both leave the same handovers unplanned"
    assert "week page: http://127.0.0.1:8000/week/" in printed
    assert printed.count("/feeds/") == 3
    assert User.objects.get().company == Company.objects.get()


@pytest.mark.soak
def test_demo_again_starts_afresh_and_keeps_the_feed_addresses() -> None:
    first = output("demo", "--no-serve", "--seconds", "1", "--today", "2026-10-19")
    again = output("demo", "--no-serve", "--seconds", "1", "--today", "2026-10-28")
    addresses = re.compile(r"http\S+\.ics")
    assert addresses.findall(first) == addresses.findall(again)
    assert Publication.objects.count() == 1
    to_come = Visit.objects.filter(house__is_active=True)
    assert not to_come.filter(starts_at__lt="2026-10-27T00:00:00Z").exists()


@pytest.mark.parametrize("option", ["--seed", "--work"])
@pytest.mark.parametrize("value", ["0", "-1", "many", "99999999999"])
def test_counts_that_are_none_are_refused(option: str, value: str) -> None:
    make_site()
    with pytest.raises(CommandError, match="whole number"):
        output("replan", f"{option}={value}")


def test_demo_does_not_touch_a_company_of_its_name() -> None:
    own = start_company(name="Heron Lane Finishing", zone=ZONE)
    with pytest.raises(CommandError, match="a company of yours is called"):
        output("demo", "--no-serve")
    assert not House.objects.filter(company=own).exists()


def test_demo_says_at_once_that_its_port_is_taken() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        with pytest.raises(CommandError, match="name another with --port"):
            output("demo", "--port", port)
    assert not Company.objects.exists()


def test_feed_address_shown_renewed_and_ended() -> None:
    make_site()
    first = output("feed_link", "North crew").splitlines()
    assert [line.partition("://")[0] for line in first] == ["http", "webcal", "http"]
    assert output("feed_link", "North crew").splitlines() == first
    assert output("feed_link", "North crew", "--renew").splitlines() != first
    assert "has ended" in output("feed_link", "North crew", "--revoke")
    with pytest.raises(CommandError, match="--renew gives another"):
        output("feed_link", "North crew")
    with pytest.raises(CommandError, match="its crews: North crew"):
        output("feed_link", "Nobody")
