"""Moving a visit from a page: the answer, the pin, and what has changed meanwhile."""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.test import Client
from django.utils import timezone

from finishing.models import Company, Crew, House
from finishing.rules.vocabulary import Stage
from scheduling.models import Pin, Plan
from scheduling.queries.planned_visits import planned_visit
from scheduling.queries.plans import working_plan
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.factories import local, make_company, make_crew
from tests.plans import first_plan, task_of
from tests.sites import MONDAY, make_site, utc

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"
SOON = MONDAY + timedelta(minutes=20)


@pytest.fixture(autouse=True)
def _monday(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is twenty past midnight on the Monday that the sites are made for."""
    monkeypatch.setattr(timezone, "now", lambda: SOON)


@pytest.fixture
def company() -> Company:
    """A company with one house, two crews, and a working plan that nobody has been told of."""
    company, _ = make_site(system=DRYING)
    make_crew(company, "South crew")
    first_plan(company)
    return company


def address(company: Company, stage: str = Stage.SECOND, plan: Plan | None = None) -> str:
    plan = plan or working_plan(company)
    assert plan
    visit = planned_visit(company, task_of(plan, Stage(stage)).public_id)
    return f"/visits/{visit.public_id}/move/"


def asked(company: Company, at: str, crew: str = "North crew", **more: str) -> dict[str, str]:
    day, time = at.split()
    row = Crew.objects.get(company=company, name=crew)
    return {"crew": str(row.public_id), "day": day, "time": time, **more}


def words(body: bytes) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body.decode())).split())


def sent(client: Client, where: str, data: dict[str, str], status: int = 200) -> str:
    response = client.post(where, data)
    assert response.status_code == status
    return words(response.content)


def seen_on(client: Client, where: str) -> str:
    found = re.search(r'name="seen" value="([^"]*)"', client.get(where).content.decode())
    assert found
    return found[1]


def test_check_says_that_it_holds_and_stores_nothing(company: Company, sign_in: SignIn) -> None:
    client = sign_in(company)
    said = sent(client, address(company), asked(company, "2026-03-04 12:00", step="check"))
    assert "It holds: North crew, Wed 4 Mar 12:00 to" in said
    assert "Pin it there" in said
    assert not Pin.objects.exists()


def test_check_names_the_rule_and_offers_the_nearest_time_which_holds(
    company: Company, sign_in: SignIn
) -> None:
    client, where = sign_in(company), address(company)
    response = client.post(where, asked(company, "2026-03-07 09:00"))
    said = words(response.content)
    assert "it does not fit the crew's working hours" in said
    assert "Pin it there" not in said
    offered = re.search(r'name="to" value="([^"]+)"', response.content.decode())
    assert offered
    taken = sent(client, where, asked(company, "2026-03-07 09:00", to=offered[1]))
    assert "It holds: North crew, Fri 6 Mar" in taken
    assert not Pin.objects.exists()


def test_pin_is_stored_with_who_made_it_and_shown_until_it_is_ended(
    company: Company, sign_in: SignIn
) -> None:
    client, where = sign_in(company), address(company)
    data = asked(company, "2026-03-04 12:00", crew="South crew", step="pin")
    answer = client.post(where, {**data, "seen": seen_on(client, where)})
    assert (answer.status_code, answer.headers["Location"].partition("?")[0]) == (302, where)
    told = words(client.get(answer.headers["Location"]).content)
    assert "It holds: South crew, Wed 4 Mar 12:00" in told
    assert "It is pinned there." in told
    assert "Pin it there" not in told
    pin = Pin.objects.get()
    assert (pin.crew.name, pin.starts_at) == ("South crew", local("2026-03-04 12:00"))
    assert pin.made_by
    who = pin.made_by.email
    assert f"Pinned to South crew, Wed 4 Mar 12:00 by {who}" in words(client.get(where).content)
    listed = words(client.get("/pins/").content)
    assert "Mill Cottage: Second coat, Hall South crew, Wed 4 Mar 12:00" in listed
    client.post(f"/pins/{pin.public_id}/end/")
    assert Pin.objects.get().ended_at == SOON
    assert "Nothing to come is pinned" in words(client.get("/pins/").content)


def test_pin_that_breaks_a_rule_is_refused_with_what_was_typed(
    company: Company, sign_in: SignIn
) -> None:
    client, where = sign_in(company), address(company)
    data = asked(company, "2026-03-07 09:00", step="pin", seen="")
    response = client.post(where, data)
    assert response.status_code == 422
    assert 'value="2026-03-07"' in response.content.decode()
    assert "working hours" in words(response.content)
    assert not Pin.objects.exists()


def test_all_faults_of_what_was_typed_are_said_at_once_beside_their_fields(
    company: Company, sign_in: SignIn
) -> None:
    response = sign_in(company).post(address(company), {"day": "the 3rd", "time": "12:02"})
    body = response.content.decode()
    assert response.status_code == 422
    for text in ("Choose the crew", "This is no day", "Times go by five minutes"):
        assert text in body
    assert 'value="the 3rd"' in body
    assert 'aria-describedby="id_day_error"' in body


@pytest.mark.parametrize("instant", ["-62135596800", "253402300799", "9" * 30, "nan", "\0"])
def test_spot_that_no_clock_shows_is_none_and_the_form_stays_as_planned(
    company: Company, sign_in: SignIn, instant: str
) -> None:
    """The first is the year 1 in UTC: west of Greenwich there is no such local time."""
    Crew.objects.update(zone="America/New_York")
    crew = Crew.objects.get(company=company, name="North crew")
    said = sign_in(company).get(address(company), {"to": f"{crew.public_id}@{instant}"})
    assert said.status_code == 200
    assert not said.context["page"].form.is_bound


def test_pin_whose_time_is_over_is_said_to_hold_nothing(company: Company, sign_in: SignIn) -> None:
    plan = working_plan(company)
    assert plan
    task, gone = task_of(plan, Stage.SECOND), SOON - timedelta(minutes=10)
    Pin.objects.create(company=company, key=task.key, crew=task.crew, starts_at=gone, made_at=gone)
    client = sign_in(company)
    for where in (address(company), "/week/2026-03-02/"):
        assert "Pinned to" not in words(client.get(where).content)
    Pin.objects.update(starts_at=SOON + timedelta(minutes=10))
    assert "the plan follows once" in words(client.get(address(company)).content)


def test_parts_of_a_second_are_no_time_to_begin(company: Company, sign_in: SignIn) -> None:
    data = asked(company, "2026-03-04 12:00:00.5")
    assert "Times go by five minutes" in sent(sign_in(company), address(company), data, 422)


@pytest.mark.parametrize(
    ("at", "text"),
    [
        ("2026-03-29 01:30", "there is no such time"),
        ("2026-10-25 01:30", "this time comes twice"),
    ],
)
def test_hours_that_the_clocks_leave_out_or_repeat_are_asked_about(
    company: Company, sign_in: SignIn, at: str, text: str
) -> None:
    """Ireland's clocks: forward on 29 March 2026 at 01:00, back on 25 October at 02:00."""
    assert text in sent(sign_in(company), address(company), asked(company, at), 422)


@pytest.mark.parametrize(
    ("which", "instant"), [("first", "2026-10-25 00:30"), ("second", "2026-10-25 01:30")]
)
def test_one_of_two_equal_times_is_chosen(
    company: Company, sign_in: SignIn, which: str, instant: str
) -> None:
    """Irish summer time is an hour ahead of UTC, winter time is UTC."""
    asked_for = asked(company, "2026-10-25 01:30", which=which)
    response = sign_in(company).post(address(company), asked_for)
    assert response.context["page"].form.spot().starts_at == utc(instant)
    assert "It does not hold" in words(response.content)


def test_page_of_a_replaced_plan_says_so_keeps_what_was_typed_and_leads_on(
    company: Company, sign_in: SignIn
) -> None:
    client, where = sign_in(company), address(company)
    seen = seen_on(client, where)
    first_plan(company)
    response = client.post(where, asked(company, "2026-03-04 12:00", step="pin", seen=seen))
    body = response.content.decode()
    assert response.status_code == 409
    assert "The plan has been made anew" in body
    assert 'value="2026-03-04"' in body
    assert not Pin.objects.exists()
    on = re.search(r'href="(/visits/[^"]+to=[^"]+)"', body)
    assert on
    assert on[1].startswith(address(company))
    assert "It holds: North crew, Wed 4 Mar 12:00" in words(client.get(on[1]).content)


def test_pin_made_in_another_tab_meanwhile_is_not_overwritten(
    company: Company, sign_in: SignIn
) -> None:
    client, where = sign_in(company), address(company)
    seen = seen_on(client, where)
    client.post(where, asked(company, "2026-03-04 12:00", step="pin", seen=seen))
    late = client.post(where, asked(company, "2026-03-05 12:00", step="pin", seen=seen))
    assert late.status_code == 409
    assert "pin has changed meanwhile" in words(late.content)
    assert Pin.objects.get().starts_at == local("2026-03-04 12:00")
    again = asked(company, "2026-03-05 12:00", step="pin", seen=seen_on(client, where))
    assert client.post(where, again).status_code == 302
    assert Pin.objects.get(ended_at=None).starts_at == local("2026-03-05 12:00")


def test_others_that_have_to_give_way_are_named(company: Company, sign_in: SignIn) -> None:
    client, plan = sign_in(company), working_plan(company)
    assert plan
    finish = task_of(plan, Stage.FINISH)
    there = finish.starts_at.strftime("%Y-%m-%d %H:%M")
    said = sent(client, address(company), asked(company, there))
    assert "These visits of the working plan cannot stay" in said
    assert "Mill Cottage, North crew" in said
    here = task_of(plan, Stage.SECOND).starts_at.strftime("%Y-%m-%d %H:%M")
    assert "No other visit" in sent(client, address(company), asked(company, here))


def test_visit_begun_or_past_cannot_be_moved_and_says_why(
    company: Company, sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish_plan(company=company, now=MONDAY)
    plan = working_plan(company)
    assert plan
    tape = task_of(plan, Stage.TAPE)
    where, client = address(company, Stage.TAPE), sign_in(company)
    for now, text in (
        (tape.starts_at + timedelta(minutes=1), "It has begun"),
        (tape.ends_at + timedelta(hours=1), "It is over"),
    ):
        monkeypatch.setattr(timezone, "now", lambda now=now: now)
        said = sent(client, where, asked(company, "2026-03-04 12:00", step="pin"))
        assert text in said
        assert "Pin it there" not in said
    assert not Pin.objects.exists()


def test_visit_in_the_freeze_can_be_pinned_elsewhere_and_is_said_to_be_told(
    company: Company, sign_in: SignIn
) -> None:
    publish_plan(company=company, now=MONDAY)
    said = sent(sign_in(company), address(company, Stage.TAPE), asked(company, "2026-03-02 12:00"))
    assert "It holds" in said
    assert "A pin moves it all the same" in said


def test_another_companys_visit_pin_and_crew_are_not_there(
    company: Company, sign_in: SignIn
) -> None:
    other = make_company("Other Finishing")
    crew = make_crew(other, "Strangers")
    stranger, where = sign_in(other), address(company)
    assert stranger.get(where).status_code == 404
    assert stranger.post(where, asked(company, "2026-03-04 12:00", step="pin")).status_code == 404
    client = sign_in(company)
    data = asked(company, "2026-03-04 12:00", step="pin", seen="")
    answer = client.post(where, {**data, "crew": str(crew.public_id)})
    assert answer.status_code == 422
    assert "gets no new work" in words(answer.content)
    client.post(where, data)
    pin = Pin.objects.get()
    assert stranger.post(f"/pins/{pin.public_id}/end/").status_code == 404
    assert "Mill Cottage" not in words(stranger.get("/pins/").content)
    assert Pin.objects.get().ended_at is None


def test_times_are_those_of_the_crews_own_clock(company: Company, sign_in: SignIn) -> None:
    """New York's clocks go forward on 8 March 2026 at 02:00, three weeks before Ireland's."""
    Crew.objects.filter(name="South crew").update(zone="America/New_York")
    client = sign_in(company)
    night = asked(company, "2026-03-08 02:30", crew="South crew")
    assert "there is no such time" in sent(client, address(company), night, 422)
    day = client.post(address(company), asked(company, "2026-03-09 08:00", crew="South crew"))
    assert day.context["page"].form.spot().starts_at == utc("2026-03-09 12:00")


def test_pinned_visits_have_a_mark_and_words_on_the_weeks(
    company: Company, sign_in: SignIn
) -> None:
    client, where = sign_in(company), address(company)
    pages = ("/week/2026-03-02/", "/houses/weeks/2026-03-02/")
    before = [client.get(page).content.decode().count('class="pin"') for page in pages]
    data = asked(company, "2026-03-04 12:00", step="pin", seen="")
    client.post(where, data)
    for page, marks in zip(pages, before, strict=True):
        body = client.get(page).content.decode()
        assert body.count('class="pin"') > marks, "beside the one in the legend"
        assert "Pinned to North crew, Wed 4 Mar 12:00" in body
        assert "the plan follows once it is made again" in body


def test_visits_to_come_lead_to_their_page_from_the_week_and_the_house(
    company: Company, sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = sign_in(company)
    house = company_house(company)
    for page in ("/week/2026-03-02/", f"/houses/{house}/"):
        assert "/move/" in client.get(page).content.decode()
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(days=30))
    client = sign_in(company)
    for page in ("/week/2026-03-02/", f"/houses/{house}/"):
        body = client.get(page).content.decode()
        assert "/move/" not in body
    assert 'data-stays="It is over."' in client.get("/week/2026-03-02/").content.decode()


def company_house(company: Company) -> str:
    return str(House.objects.get(company=company).public_id)
