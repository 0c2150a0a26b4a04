"""The pages of scenarios: asked, changed, planned, put side by side, worked on, discarded."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from api.web import scenario_views
from finishing.models import Company, Crew, House, Price, ReadinessLine, Role
from scheduling.jobs import request_scenario_run
from scheduling.models import PlanRun, Scenario
from scheduling.money_wording import amount
from scheduling.queries.plans import working_plan
from scheduling.queries.visits import plan_blocks
from scheduling.services.scenario_changes import CrewMore, FixedHandover, OtherWeather
from scheduling.wording import moment
from tests.api.conftest import SignIn
from tests.factories import make_company
from tests.plans import plan_cost, published_from
from tests.scenarios import planned_for, rows_beside_scenarios, scenario_with
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
SOON = MONDAY + timedelta(minutes=20)
MOST_QUERIES = 15


@pytest.fixture(autouse=True)
def _monday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: SOON)


def test_an_empty_company_is_told_what_belongs_there(sign_in: SignIn) -> None:
    text = sign_in(make_company()).get("/scenarios/").content.decode()
    assert "There is no scenario yet." in text
    assert "There is no working plan to compare with yet" in text


def test_a_scenario_is_asked_changed_and_planned(sign_in: SignIn, started: list[int]) -> None:
    company, _ = make_site()
    published_from(company, MONDAY)
    client = sign_in(company)
    before = rows_beside_scenarios(company)
    made = client.post("/scenarios/", {"name": "Saturdays"})
    scenario = Scenario.objects.get()
    here = f"/scenarios/{scenario.public_id}/"
    assert made.headers["Location"] == here
    crew = str(Crew.objects.get().public_id)
    days = {"first": "2026-03-02", "last": "2026-03-30"}
    typed = {"version": 1, "crews": [crew], **days}
    assert client.post(f"{here}add/saturdays/", typed).status_code == 302
    text = client.get(here).content.decode()
    assert "Saturday work from Mon 2 Mar to Mon 30 Mar: North crew" in text
    assert client.post("/scenarios/plan/").status_code == 302
    run = PlanRun.all_kinds.get(scenario=scenario)
    assert "Waiting to begin" in client.get("/scenarios/").content.decode()
    assert client.post(f"{here}stop/").status_code == 302
    run.refresh_from_db()
    assert run.stop_requested
    assert rows_beside_scenarios(company) == before


def test_all_others_are_planned_where_one_is_discarded_meanwhile(
    sign_in: SignIn, started: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    company, _ = make_site()
    published_from(company, MONDAY)
    gone, stays = scenario_with(company), scenario_with(company, name="And if")
    client = sign_in(company)

    def discarded_first(*, scenario: Scenario, now: datetime) -> PlanRun:
        Scenario.objects.filter(pk=gone.pk).delete()
        return request_scenario_run(scenario=scenario, now=now)

    monkeypatch.setattr(scenario_views, "request_scenario_run", discarded_first)
    assert client.post("/scenarios/plan/").status_code == 302
    assert [run.scenario for run in PlanRun.all_kinds.exclude(scenario=None)] == [stays]


def test_what_is_wrong_with_a_change_is_told_and_nothing_is_lost(sign_in: SignIn) -> None:
    company, _ = make_site()
    scenario = scenario_with(company)
    at = f"/scenarios/{scenario.public_id}/add/other_weather/"
    typed = {"version": 1, "first": "2026-03-30", "last": "2026-03-02", "points": "15"}
    answer = sign_in(company).post(at, typed)
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "The last day is before the first: swap them." in text
    assert 'value="15"' in text
    assert Scenario.objects.get().changes == []


def test_somebody_elses_change_meanwhile_is_not_written_over(sign_in: SignIn) -> None:
    company, _ = make_site()
    scenario = scenario_with(company, CrewMore(Crew.objects.get().public_id))
    client, here = sign_in(company), f"/scenarios/{scenario.public_id}/"
    assert client.post(f"{here}leave-out/0/", {"version": 9}).status_code == 409
    assert client.post(f"{here}discard/", {"version": 9}).status_code == 409
    assert client.post(here, {"version": 9, "name": "Other"}).status_code == 422
    scenario.refresh_from_db()
    assert (scenario.name, len(scenario.changes)) == ("What if", 1)
    assert client.post(f"{here}leave-out/0/", {"version": 1}).status_code == 302
    assert Scenario.objects.get().changes == []


def test_plans_stand_side_by_side_in_a_table_and_a_picture(sign_in: SignIn) -> None:
    company, _ = make_site()
    published_from(company, MONDAY)
    house = House.objects.get()
    early = FixedHandover(house.public_id, (MONDAY + timedelta(days=1)).date())
    scenario = scenario_with(company, early, name="Early <handover>")
    planned_for(scenario)
    text = sign_in(company).get("/scenarios/").content.decode()
    assert "The working plan" in text
    assert "Early &lt;handover&gt;" in text
    assert 'id="scenarios-title"' in text
    assert 'data-label="Early &lt;handover&gt;"' in text
    assert "Early <handover>" not in text
    assert ">Cost<" not in text  # a row of dashes alone would say nothing
    assert "Without a price" not in text


def test_their_costs_are_beside_each_other_for_who_plans(sign_in: SignIn) -> None:
    company, _ = make_site()
    Company.objects.update(currency="JPY", currency_digits=0)
    Price.objects.create(company=company, kind="hour", amount=4500, since=MONDAY.date())
    published_from(company, MONDAY)
    plan = planned_for(scenario_with(company))
    said = amount(plan_cost(plan).cost.total, Company.objects.get())
    assert said.endswith("JPY")
    client = sign_in(company, Role.PLANNER)
    for _ in range(2):  # the second time it is kept
        text = client.get("/scenarios/").content.decode()
        assert f'<td data-label="What if">{said}</td>' in text
        assert f">{said}</text>" in text
        assert "Without a price, so not counted:" in text
    Price.objects.update(amount=9000, version=2)
    assert said not in client.get("/scenarios/").content.decode()
    assert "JPY" not in sign_in(company, Role.VIEWER).get("/scenarios/").content.decode()


def test_why_the_working_plan_costs_other_than_alone_is_said(sign_in: SignIn) -> None:
    company, _ = make_site()
    Company.objects.update(currency="EUR")
    Price.objects.create(company=company, kind="hour", amount=4500, since=MONDAY.date())
    published = published_from(company, MONDAY)
    planned_for(scenario_with(company))
    client = sign_in(company, Role.PLANNER)
    alone = amount(plan_cost(published).cost.total, Company.objects.get())
    whole = client.get("/scenarios/").content.decode()
    assert "Costs are those of the work from Mon 2 Mar 00:00 on" in whole
    assert "costs has the work that is over since as well" not in whole
    first = min(block.ends_at for block in plan_blocks(published))
    PlanRun.all_kinds.exclude(scenario=None).update(plan_from=first)
    text = client.get("/scenarios/").content.decode()
    later = moment(first, ZoneInfo(company.zone))
    assert f"Costs are those of the work from {later} on" in text
    said = f"The working plan was made for Mon 2 Mar 00:00, and costs {alone} from then on"
    assert said in text
    costs = client.get("/costs/").content.decode()
    assert "The working plan from Mon 2 Mar 00:00 on, the moment that it was made for" in costs
    assert alone in costs


def test_a_plan_that_is_cheap_for_work_left_out_says_so(sign_in: SignIn) -> None:
    company, house = make_site()
    Price.objects.create(company=company, kind="hour", amount=4500, since=MONDAY.date())
    published_from(company, MONDAY)
    before = scenario_with(company)
    planned_for(before)
    client = sign_in(company)
    assert "is in no cost" not in client.get("/scenarios/").content.decode()
    ReadinessLine.objects.create(company=company, house=house, item="heat", owed_by="Plumber")
    planned_for(scenario_with(company, name="No heat"))
    text = client.get("/scenarios/").content.decode()
    assert f"Work without a place is in no cost of No heat ({house.name}).</p>" in text


def test_what_becomes_the_working_plan_is_said(
    sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    company, house = make_site()
    published_from(company, MONDAY)
    later = (MONDAY + timedelta(days=30)).date()
    scenario = scenario_with(company, FixedHandover(house.public_id, later))
    planned_for(scenario)
    client, before = sign_in(company), working_plan(company)
    monkeypatch.setattr(timezone, "now", lambda: MONDAY)
    address = reverse("web:adopt_scenario", args=[scenario.public_id])
    text = client.post(address, {"version": scenario.version}, follow=True).text
    said = "The plan of the scenario is the one to work on now"
    assert said in text
    assert said not in client.get(reverse("web:planning")).text
    assert working_plan(company) != before
    house.refresh_from_db()
    assert house.handover_on == later


def test_both_pages_ask_little_however_many_scenarios(sign_in: SignIn) -> None:
    company, _ = make_site()
    published_from(company, MONDAY)
    scenarios = [scenario_with(company, name=f"Number {number}") for number in range(4)]
    planned_for(scenarios[0])
    planned_for(scenarios[1])
    Price.objects.create(company=company, kind="hour", amount=4500, since=MONDAY.date())
    client = sign_in(company)
    for address in ("/scenarios/", f"/scenarios/{scenarios[0].public_id}/"):
        client.get(address)
        with CaptureQueriesContext(connection) as asked:
            client.get(address)
        assert len(asked) <= MOST_QUERIES, [query["sql"][:90] for query in asked]


def test_the_page_says_what_would_be_changed_and_then_changes_it(sign_in: SignIn) -> None:
    company, _ = make_site()
    published_from(company, MONDAY)
    scenario = scenario_with(company, CrewMore(Crew.objects.get().public_id))
    planned_for(scenario)
    client, here = sign_in(company), f"/scenarios/{scenario.public_id}/"
    assert "hire them, and name them" in client.get(here).content.decode()
    assert Crew.objects.count() == 1
    worked_on = client.post(f"{here}work-on/", {"version": scenario.version})
    assert worked_on.status_code == 302
    assert Crew.objects.count() == 2
    plan = working_plan(company)
    assert plan is not None
    assert plan.scenario is None


def test_what_is_sent_twice_or_from_a_page_opened_anew_makes_no_second_crew(
    sign_in: SignIn, started: list[int]
) -> None:
    company, _ = make_site()
    published_from(company, MONDAY)
    scenario = scenario_with(company, CrewMore(Crew.objects.get().public_id))
    planned_for(scenario)
    client, here = sign_in(company), f"/scenarios/{scenario.public_id}/"
    assert client.post(f"{here}work-on/", {"version": scenario.version}).status_code == 302
    page = client.get(here).content.decode()
    assert "It became the working plan, and its changes are made." in page
    assert "/work-on/" not in page
    assert "/leave-out/" not in page
    assert "/add/" not in page
    for version in (scenario.version, scenario.version + 1):
        again = client.post(f"{here}work-on/", {"version": version})
        assert again.status_code == 409
        assert "none is made twice" in again.content.decode()
    refused = client.post(f"{here}plan/")
    assert refused.status_code == 409
    assert "copy it" in refused.content.decode()
    everything = client.get("/scenarios/").content.decode()
    assert "It became the working plan" in everything
    assert "not planned</button>" not in everything
    client.post("/scenarios/plan/")
    assert (Crew.objects.count(), started) == (2, [])


def test_weather_is_refused_with_what_to_do_about_it(sign_in: SignIn) -> None:
    company, _ = make_site()
    published_from(company, MONDAY)
    scenario = scenario_with(company, OtherWeather(MONDAY.date(), MONDAY.date(), damper=0.1))
    planned_for(scenario)
    client, here = sign_in(company), f"/scenarios/{scenario.public_id}/"
    assert "Copy it, leave the weather out, and plan the copy." in client.get(here).content.decode()
    before = rows_beside_scenarios(company)
    refused = client.post(f"{here}work-on/", {"version": scenario.version})
    assert refused.status_code == 409
    assert "nobody can make" in refused.content.decode()
    assert rows_beside_scenarios(company) == before


def test_discarding_asks_first(sign_in: SignIn) -> None:
    company, _ = make_site()
    scenario = scenario_with(company)
    client, at = sign_in(company), f"/scenarios/{scenario.public_id}/discard/"
    assert "They do not come back." in client.get(at).content.decode()
    assert Scenario.objects.exists()
    assert client.post(at, {"version": 1}).headers["Location"] == "/scenarios/"
    assert not Scenario.objects.exists()


def test_whoever_may_only_look_sees_plans_and_changes_nothing(sign_in: SignIn) -> None:
    company, _ = make_site()
    scenario = scenario_with(company)
    client, here = sign_in(company, Role.VIEWER), f"/scenarios/{scenario.public_id}/"
    assert client.get(here).status_code == 200
    assert client.post(f"{here}plan/").status_code == 403
