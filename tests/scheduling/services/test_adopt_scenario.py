"""A scenario becomes the working plan: with all that it counts on, or not at all."""

from datetime import date, time, timedelta

import pytest

from finishing.models import Change, Company, Crew, CrewHours, CrewMember, Dryer, House
from finishing.services.errors import InputFaults
from finishing.services.rows import StaleRowsError
from finishing.services.staffing import mark_away
from scheduling import jobs
from scheduling.models import Plan, PlanRun, Scenario
from scheduling.queries.plans import working_plan
from scheduling.queries.scenarios import scenario_plan
from scheduling.services.adopt_scenario import AdoptError, adopt_scenario
from scheduling.services.publish import publish_plan
from scheduling.services.replan import request_run, run_replan
from scheduling.services.scenario_changes import (
    CrewMore,
    FixedHandover,
    HeatedHouses,
    MoreDryers,
    OtherWeather,
    Saturdays,
    ScenarioChange,
)
from scheduling.services.scenarios import copy_scenario, edit_scenario
from scheduling.services.still_holds import broken_since
from tests.factories import make_crew
from tests.plans import places, published_from
from tests.scenarios import planned_for, rows_beside_scenarios, scenario_with
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
ROOMS = tuple(f"Room {number}" for number in range(1, 9))


def a_scenario(*changes: ScenarioChange) -> tuple[Company, Scenario]:
    """One that is planned, with another crew among its changes, beside a published plan: of more
    work than one person can do in time."""
    company, _ = make_site(rooms=ROOMS, handover_on=date(2026, 3, 5))
    CrewMember.objects.filter(company=company)[0].delete()
    published_from(company, MONDAY)
    crew = Crew.objects.get(company=company)
    scenario = scenario_with(company, CrewMore(crew.public_id), *changes)
    planned_for(scenario)
    return company, scenario


def adopted(scenario: Scenario) -> Plan:
    return adopt_scenario(scenario=scenario, version=scenario.version, by=None, now=MONDAY)


def refused(company: Company, scenario: Scenario) -> str:
    """Return the code with which it is refused, once nothing has changed."""
    before = rows_beside_scenarios(company)
    with pytest.raises(AdoptError) as error:
        adopted(scenario)
    assert rows_beside_scenarios(company) == before
    return error.value.code


def test_the_crew_it_counts_on_is_there_and_does_what_was_planned() -> None:
    company, scenario = a_scenario()
    tried = scenario_plan(scenario)
    assert tried is not None
    mine = [row for row in tried.tasks.all() if "crew_more" in row.details]
    assert mine, "the other crew does something"
    times = {row.key: (row.starts_at, row.ends_at) for row in tried.tasks.all()}
    plan = adopted(scenario)
    crew = Crew.objects.exclude(name="North crew").get(company=company)
    assert working_plan(company) == plan
    assert plan.scenario is None
    assert {row.key for row in plan.tasks.filter(crew=crew)} == {row.key for row in mine}
    assert {key: at[1:] for key, at in places(plan).items()} == times
    assert broken_since(plan, MONDAY) is None
    assert CrewMember.objects.filter(crew=crew).count() == 1
    assert CrewHours.objects.filter(crew=crew).count() == 5


def test_every_change_is_in_the_history_as_theirs_who_made_it() -> None:
    company, _ = make_site()
    house = House.objects.get(company=company)
    crew = Crew.objects.get(company=company)
    scenario = scenario_with(
        company, CrewMore(crew.public_id), FixedHandover(house.public_id, date(2026, 4, 10))
    )
    planned_for(scenario)
    adopted(scenario)
    logged = set(Change.objects.filter(company=company).values_list("what", flat=True))
    assert {"crew", "member", "crew_hours", "house"} <= logged
    house.refresh_from_db()
    assert house.handover_on == date(2026, 4, 10)


def test_what_is_worked_on_then_can_be_published_as_any_plan() -> None:
    company, scenario = a_scenario()
    plan = adopted(scenario)
    result = publish_plan(company=company, now=MONDAY)
    assert result.publication.plan == plan


def test_nobody_can_make_weather() -> None:
    month = OtherWeather(MONDAY.date(), MONDAY.date() + timedelta(days=30), damper=-0.2)
    assert refused(*a_scenario(month)) == "beyond_us"


def test_a_plan_that_does_not_hold_by_now_changes_nothing() -> None:
    company, scenario = a_scenario()
    crew = Crew.objects.get(company=company)
    tried = scenario_plan(scenario)
    assert tried is not None
    last = [row for row in tried.tasks.all() if "crew_more" not in row.details][-1]
    mark_away(crew=crew, member=None, days=[last.starts_at.date()], reason="ill")
    assert refused(company, scenario) == "broken"


def test_a_scenario_not_planned_as_it_is_changes_nothing() -> None:
    company, _ = make_site()
    scenario = scenario_with(company)
    assert refused(company, scenario) == "not_planned"
    planned_for(scenario)
    house = House.objects.get(company=company)
    other = [FixedHandover(house.public_id, date(2026, 4, 10))]
    edit_scenario(scenario=scenario, version=scenario.version, changes=other)
    scenario.refresh_from_db()
    assert refused(company, scenario) == "outdated"


def test_a_change_that_cannot_be_made_any_more_changes_nothing() -> None:
    company, _ = make_site()
    other = make_crew(company, "South crew")
    month = MONDAY.date(), MONDAY.date() + timedelta(days=30)
    scenario = scenario_with(company, Saturdays((other.public_id,), *month))
    planned_for(scenario)
    CrewHours.objects.filter(crew=other).update(end=time(7))
    with pytest.raises(InputFaults, match="later than the start"):
        adopted(scenario)
    other.delete()
    before = rows_beside_scenarios(company)
    with pytest.raises(InputFaults, match="no such row"):
        adopted(scenario)
    assert rows_beside_scenarios(company) == before


def test_whoever_looked_at_another_version_changes_nothing() -> None:
    company, scenario = a_scenario()
    before = rows_beside_scenarios(company)
    with pytest.raises(StaleRowsError):
        adopt_scenario(scenario=scenario, version=scenario.version + 1, by=None, now=MONDAY)
    assert rows_beside_scenarios(company) == before


def of_every_kind(company: Company) -> list[ScenarioChange]:
    """Changes that would each show if they were made twice, or must not be made again."""
    house, crew = House.objects.get(company=company), Crew.objects.get(company=company)
    month = MONDAY.date(), MONDAY.date() + timedelta(days=30)
    dryer = Dryer.objects.create(company=company, name="Big dryer", count=2, litres_per_day=40)
    return [
        CrewMore(crew.public_id),
        Saturdays((crew.public_id,), *month),
        MoreDryers(dryer.public_id, 2),
        HeatedHouses((house.public_id,), 21.0),
        FixedHandover(house.public_id, date(2026, 4, 10)),
    ]


def test_nothing_is_made_twice_however_often_it_is_worked_on() -> None:
    company, _ = make_site()
    scenario = scenario_with(company, *of_every_kind(company))
    planned_for(scenario)
    seen = scenario.version
    plan = adopted(scenario)
    before = rows_beside_scenarios(company)
    for version in (seen, Scenario.objects.get().version):  # a second tab, a page opened anew
        with pytest.raises(AdoptError) as error:
            adopt_scenario(scenario=scenario, version=version, by=None, now=MONDAY)
        assert error.value.code == "adopted"
    assert rows_beside_scenarios(company) == before
    assert working_plan(company) == plan


def test_one_that_was_worked_on_is_neither_planned_again_nor_changed() -> None:
    company, scenario = a_scenario()
    adopted(scenario)
    scenario.refresh_from_db()
    with pytest.raises(InputFaults, match="copy it"):
        jobs.request_scenario_run(scenario=scenario, now=MONDAY)
    house = House.objects.get(company=company)
    other = FixedHandover(house.public_id, date(2026, 4, 10))
    with pytest.raises(InputFaults, match="copy it"):
        edit_scenario(scenario=scenario, version=scenario.version, changes=[other])
    edit_scenario(scenario=scenario, version=scenario.version, name="Done")
    copy = copy_scenario(scenario=scenario, now=MONDAY)
    planned_for(copy)
    adopted(copy)  # whoever asks for another on top gets it
    assert Crew.objects.filter(company=company).count() == 3


def test_one_that_is_planned_again_meanwhile_is_not_there_to_be_worked_on_once_more(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    company, scenario = a_scenario()
    run = request_run(company=company, plan_from=MONDAY, work=1, scenario=scenario)

    def worked_on(*_: object) -> dict[str, object]:
        adopted(scenario)
        return {}

    monkeypatch.setattr("scheduling.services.replan.scenario_odds", worked_on)
    assert run_replan(run_id=run.pk) is None
    assert not PlanRun.all_kinds.filter(scenario=scenario).exists()
    with pytest.raises(AdoptError, match="adopted"):
        adopted(scenario)
    assert Crew.objects.filter(company=company).count() == 2
