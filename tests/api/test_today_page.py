"""The start page: what needs a decision, each with its one next step."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from finishing.models import AirDay, Crew, DayOff
from scheduling.models import FeedLink, Obstacle, PlanRun
from scheduling.services.kept_answers import QUESTIONS
from scheduling.services.odds import EnsembleUsed, HandoverOdds, PlanOdds, TooLittleAir
from scheduling.services.replan import request_run
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan
from tests.plans import plan_from, published_from
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)

SOON = MONDAY + timedelta(minutes=20)


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: SOON)


def text_of(client: Client, *addresses: str) -> str:
    """Return pages one after another: the start page with what it fetches, if none is named."""
    answers = [client.get(address) for address in addresses or ("/", "/fit/")]
    assert {answer.status_code for answer in answers} == {200}
    return " ".join(" ".join(answer.content.decode() for answer in answers).split())


def test_an_empty_company_is_told_what_to_do_first(sign_in: SignIn) -> None:
    text = text_of(sign_in(make_company()))
    assert "Up to the first published plan" in text
    for title in ("Add a crew", "Add a house", "Give it air", "See the week", "Publish"):
        assert title in text
    assert "✓" not in text
    assert "Plan again" not in text
    assert "every handover met as planned" not in text


def test_steps_done_are_ticked_and_the_next_one_is_marked(sign_in: SignIn, at: None) -> None:
    company, _ = make_site()
    AirDay.objects.all().delete()
    client = sign_in(company)
    text = text_of(client, "/")
    assert text.count("✓") == 2
    assert 'aria-current="step"> <h3>Give it air' in text


def test_a_house_without_rooms_is_to_be_gone_on_with(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company, rooms=())
    text = text_of(sign_in(company), "/")
    assert f'href="/houses/{house.public_id}/rooms/"' in text
    assert "✓" not in text


def test_the_steps_end_with_the_first_publication(sign_in: SignIn, at: None) -> None:
    company, _ = make_site()
    plan_from(company, MONDAY)
    client = sign_in(company)
    text = text_of(client, "/")
    assert 'aria-current="step"> <h3>Publish' in text
    assert 'href="/week/"' in text.partition("See the week")[2]
    published_from(company, MONDAY)
    assert "Up to the first published plan" not in text_of(client, "/")


def test_a_crew_without_people_is_to_be_gone_on_with(sign_in: SignIn) -> None:
    company = make_company()
    crew = make_crew(company, heads=0)
    client = sign_in(company)
    text = text_of(client, "/")
    assert f'href="/company/crews/{crew.public_id}/"' in text
    assert "✓" not in text
    make_crew(company, "River crew")
    assert text_of(client, "/").count("✓") == 1


def test_the_first_plan_is_asked_for_from_its_step(sign_in: SignIn, at: None) -> None:
    company, _ = make_site()
    text = text_of(sign_in(company), "/")
    assert 'aria-current="step"> <h3>Plan' in text
    assert ">Plan</button>" in text


def test_a_house_with_rooms_leads_to_its_heating(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company)
    assert f'href="/houses/{house.public_id}/site/"' in text_of(sign_in(company), "/")


def test_a_company_in_order_has_nothing_to_decide(sign_in: SignIn, at: None) -> None:
    company, _ = make_site(rooms=("Hall", "Kitchen"), system="All-purpose drying")
    published_from(company, MONDAY)
    DayOff.objects.bulk_create(
        DayOff(company=company, crew=Crew.objects.get(), day=MONDAY.date() + timedelta(days=number))
        for number in range(3)
    )  # nobody has hours that work does not fill
    text = text_of(sign_in(company))
    assert "Empty hours" not in text
    assert "before the coat is dry" not in text
    assert "Today, Monday 2 March" in text
    assert "every handover met as planned; nothing that crews have said waits" in text


def test_what_has_changed_since_crews_were_told_leads_to_planning(
    sign_in: SignIn, at: None
) -> None:
    company, _ = make_site(rooms=("Hall", "Kitchen"))
    published_from(company, MONDAY)
    client, heading = sign_in(company), "Changed since crews were told"
    assert heading not in text_of(client)
    day = MONDAY.date() + timedelta(days=1)
    DayOff.objects.create(company=company, crew=Crew.objects.get(), day=day)
    text = text_of(client)
    assert heading in text
    assert "North crew" in text.partition(heading)[2]
    assert "Plan again" in text


def test_an_unpublished_plan_leads_to_publishing(sign_in: SignIn, at: None) -> None:
    company, _ = make_site()
    published_from(company, MONDAY)
    make_plan(company)
    text = text_of(sign_in(company))
    assert "A plan is not published" in text
    assert "See what crews would be told" in text


def test_visits_that_come_too_early_lead_to_planning(sign_in: SignIn, at: None) -> None:
    company, house = make_site(system="All-purpose drying")
    published_from(company, MONDAY)
    AirDay.objects.filter(company=company).update(humidity=[0.97] * 24)
    text = text_of(sign_in(company))
    assert "These visits arrive before the coat is dry" in text
    assert f'href="/houses/{house.public_id}/"' in text
    assert 'action="/runs/new/"' in text


def test_a_late_handover_leads_to_its_house(sign_in: SignIn, at: None) -> None:
    company, house = make_site(handover_on=MONDAY.date())
    published_from(company, MONDAY)
    text = text_of(sign_in(company))
    assert "1 handover is not met as planned" in text
    assert f'<a href="/houses/{house.public_id}/">See why' in text


def test_crews_with_empty_hours_are_named_by_day(sign_in: SignIn, at: None) -> None:
    company, _ = make_site()
    crew = Crew.objects.get()
    DayOff.objects.create(company=company, crew=crew, day=MONDAY.date() + timedelta(days=2))
    text = text_of(sign_in(company))
    assert "North crew: no work on Mon 2 Mar" in text
    assert "North crew: no work on Tue 3 Mar" in text
    assert "Wed 4 Mar" not in text, "a day off is not empty"
    assert "Thu 5 Mar" not in text, "three days are looked at"
    plan_from(company)
    text = text_of(sign_in(company))
    assert "no work on Mon 2 Mar" not in text


def test_a_failed_run_leads_to_its_page_until_another_is_made(sign_in: SignIn, at: None) -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=SOON)
    PlanRun.objects.update(status="failed", error="EngineError: x", finished_at=SOON)
    client = sign_in(company)
    assert f'href="/runs/{run.public_id}/"' in text_of(client)
    plan_from(company)
    assert "The last planning failed" not in text_of(client)


def test_a_calendar_that_nobody_fetches(sign_in: SignIn, monkeypatch: pytest.MonkeyPatch) -> None:
    company, _ = make_site()
    published_from(company, MONDAY)
    client = sign_in(company)
    for days, fetched, said in (
        (1, None, False),
        (3, None, True),
        (3, 2.5, False),
        (6, 2.5, True),
    ):
        moment = MONDAY + timedelta(days=fetched) if fetched else None
        FeedLink.objects.update(fetched_at=moment)
        now = MONDAY + timedelta(days=days)
        monkeypatch.setattr(timezone, "now", lambda now=now: now)
        assert ("Calendars that nobody fetches" in text_of(client)) == said, (days, fetched)


def test_the_odds_come_from_a_page_of_their_own(sign_in: SignIn, at: None) -> None:
    company, _ = make_site()
    plan_from(company)
    client = sign_in(company)
    assert (
        'hx-get="/odds/" hx-trigger="load, every 1s" hx-sync="this:drop" hx-select="#odds"'
        in text_of(client)
    )
    text = text_of(client, "/odds/")
    assert "1 handover holds in at least 8 of 10 histories of the air." in text
    assert "At risk" not in text


def test_odds_at_risk_the_worst_first(sign_in: SignIn, at: None) -> None:
    company, _ = make_site(handover_on=MONDAY.date())
    plan_from(company)
    assert 'At risk</h3> <ul class="plain"><li>Mill Cottage' in text_of(sign_in(company), "/odds/")


def test_no_odds_without_a_plan_or_air(sign_in: SignIn, at: None) -> None:
    assert "no work is planned yet" in text_of(sign_in(make_company()), "/odds/")


def test_a_house_with_too_little_air_is_not_said_to_be_at_risk(
    sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    lacking = TooLittleAir(air_source="Station", days=4)
    rows = (
        HandoverOdds("Short", (), MONDAY.date(), None, None, 0.0, lacking),
        HandoverOdds("Held", (), MONDAY.date(), None, None, 0.0),
        HandoverOdds("Sure", (), MONDAY.date(), 0.9, MONDAY.date(), 0.0),
    )
    used = EnsembleUsed("Forecast", 21, MONDAY, MONDAY + timedelta(days=5))
    odds = PlanOdds(500, rows, 0.0, 0.0, 0.0, (used,))
    monkeypatch.setitem(QUESTIONS, "current_odds", lambda **_: odds)
    text = text_of(sign_in(make_company()), "/odds/")
    assert "1 handover holds in at least 8 of 10" in text
    assert 'At risk</h3> <ul class="plain"><li>Held' in text
    assert 'Too little air on record</h3> <ul class="plain"><li>Short' in text
    assert "comes from the ensemble of Forecast (21 members" in text


def test_what_crews_have_said_leads_to_its_house_until_it_is_settled(
    sign_in: SignIn, at: None
) -> None:
    company, house = make_site()
    plan = published_from(company, MONDAY)
    word = Obstacle.objects.create(
        company=company,
        crew=plan.tasks.all()[0].crew,
        house=house,
        reason="no_way_in",
        note="gate locked",
        at=SOON,
    )
    client = sign_in(company)
    assert "gate locked" in text_of(client)
    assert "gate locked" not in text_of(sign_in(make_company("Other")))
    Obstacle.objects.filter(pk=word.pk).update(settled_at=SOON)
    assert "gate locked" not in text_of(client)
